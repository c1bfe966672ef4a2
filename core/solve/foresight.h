/* foresight.h - how far off the end foretold after one round was at a neighbour. */
#ifndef HEATLEDGER_FORESIGHT_H
#define HEATLEDGER_FORESIGHT_H

#include <stdbool.h>
#include <stddef.h>

#include "diagnostic/arena.h"
#include "heatledger/design.h"

/* Of circuit and temperatures apart: shares, or what counts in power and in K. */
typedef struct two_parts {
    double power, kelvin;
} two_parts;

/* Of the power of a stage, by a kelvin of its parts: common practice, no source. */
static const double power_by_kelvin = 5e-4;

/* What a point that went on for another round tells the points beside it. */
typedef struct foresight {
    size_t n, circuit,
        rows;        /* unknowns of a round, of them the circuit's, and with losses, as in response.h */
    bool known;      /* some point of the line went on */
    double *miss;    /* [n] what its first round left, beyond what it was handed */
    double *more;    /* [rows] where it ended, beyond what was foretold then */
    two_parts plain; /* shares of the miss that this comes to */
    bool tried;      /* a point went on although this was reckoned with */
    two_parts left;  /* shares of its miss that were left all the same */
} foresight;

/* The first round of the point at hand, until it is known where the point ends. */
typedef struct first_round {
    bool done;       /* there was one, with a known response */
    bool mended;     /* by a neighbour's foresight */
    bool gone_on;    /* another round followed */
    double *miss;    /* [n] */
    double *said;    /* [rows] the end that the response foretold */
    double like;     /* share of the neighbour's miss in this one */
    two_parts other; /* what of it is not alike is reckoned to leave, as a share of the miss */
    two_parts open;  /* greatest of the miss */
    two_parts left;  /* of that of the second round; power < 0: not known yet */
} first_round;

bool foresight_create(foresight *made, first_round *first, arena *memory, const hl_design *design);
void foresight_forget(foresight *f);
void foresight_copy(foresight *to, const foresight *from);

/* After a first round and response_apply: mend work->made by what a neighbour's end lacked.  Returns the
 * shares of this round's change that are likely to be left then. */
two_parts foresight_mend(hl_workspace *work);
/* The losses of the end foretold, `more` as in response_losses, mended alike. */
void foresight_mend_losses(const hl_workspace *work, double more[]);
/* When the point goes on: keep the end foretold, temperatures being those of work->made. */
void foresight_keep(hl_workspace *work);
/* After response_apply of another round. */
void foresight_note(hl_workspace *work);
/* At the end, work->made with `more` as in response_losses: what the first round lacked is known. */
void foresight_learn(hl_workspace *work, const double more[]);
/* No round is done at the point at hand. */
void foresight_begin(hl_workspace *work);

#endif
