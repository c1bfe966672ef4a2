/* foresight.c - ends foretold after one round, mended by what they lacked at a neighbour.
 *
 * A response kept from anchors is off by parts in ten thousand, and so is the end that it foretells of a
 * miss. Along a line of a grid misses are of one kind, since one bend in the answer makes them, and what the
 * response lacks is linear in the miss: so it is taken from the last neighbour that went on for another
 * round, by the share that both misses have in common.  That is an update of the response of rank one.
 * source: C. G. Broyden, Mathematics of Computation 19(92), 1965; from memory */
#include "solve/workspace.h"

#include <math.h>
#include <string.h>

#include "solve/vectors.h"

/* A miss so small tells nothing: what ends lack is then of the size that stages leave open. */
static const two_parts least_told = {1e-8, 1e-4}; /* relative; K */
/* Of a neighbour's lack, as long as no other point has tried it: what is reckoned to be left of it. */
static const double untried = 0.1;
/* Of the power: what stages leave open at any point, see question.c. It does not grow with the miss. */
static const double always_open = 2e-11;
/* What was known before weighs on by this share: a miss of an earlier kind may come back. */
static const double weighs_on = 0.5;
/* Against what is known from one neighbour alone. */
static const double margin = 3;
/* A miss of this many times the neighbour's is not compared with it. */
static const double alike_at_most = 4;

bool foresight_create(foresight *made, first_round *first, arena *memory, const hl_design *design)
{
    made->circuit = 3 * design->n_stages;
    made->n = made->circuit + hl_design_nodes(design);
    made->rows = response_rows(design);
    made->miss = arena_array(memory, made->n + 1, sizeof *made->miss);
    made->more = arena_array(memory, made->rows + 1, sizeof *made->more);
    foresight_forget(made);
    if (!first) return made->miss && made->more;
    first->miss = arena_array(memory, made->n + 1, sizeof *first->miss);
    first->said = arena_array(memory, made->rows + 1, sizeof *first->said);
    return made->miss && made->more && first->miss && first->said;
}

void foresight_forget(foresight *f)
{
    f->known = f->tried = false;
}

void foresight_copy(foresight *to, const foresight *from)
{
    to->known = from->known;
    to->tried = from->tried;
    to->plain = from->plain;
    to->left = from->left;
    if (!from->known) return;
    memcpy(to->miss, from->miss, from->n * sizeof *to->miss);
    memcpy(to->more, from->more, from->rows * sizeof *to->more);
}

/* The greatest of a vector of unknowns. */
static two_parts greatest(const foresight *f, const double scale[], const double vector[])
{
    return (two_parts){vector_greatest(vector, scale, f->circuit),
                       vector_greatest(vector + f->circuit, NULL, f->n - f->circuit)};
}

/* How much of the neighbour's miss is in this one, in *like; returns the share of this one that is not. */
static double compare(const foresight *f, const double miss[], const double scale[], double *like)
{
    double both, then, now;
    vector_products(f->miss, miss, scale, f->n, &then, &both, &now);
    *like = then > 0 ? both / then : 0;
    return now > 0 ? sqrt(fmax(now - *like * both, 0) / now) : 0;
}

two_parts foresight_mend(hl_workspace *work)
{
    const foresight *f = &work->sight;
    first_round *first = &work->first;
    const two_parts unknown = {-1, -1};
    for (size_t i = 0; i < f->n; i++) first->miss[i] = work->bench.missed[i];
    memcpy(first->said, work->made, f->n * sizeof *first->said);
    first->open = greatest(f, work->mix.scale, first->miss);
    first->done = true;
    first->left.power = -1;
    if (!f->known) return unknown;
    double other = compare(f, first->miss, work->mix.scale, &first->like);
    if (!(fabs(first->like) <= alike_at_most)) return unknown;
    first->mended = true;
    first->other = (two_parts){other * f->plain.power, other * f->plain.kelvin};
    vector_add(work->made, first->like, f->more, f->n);
    two_parts alike = f->tried ? f->left : (two_parts){untried * f->plain.power, untried * f->plain.kelvin};
    return (two_parts){margin * (alike.power + first->other.power),
                       margin * (alike.kelvin + first->other.kelvin)};
}

void foresight_mend_losses(const hl_workspace *work, double more[])
{
    const foresight *f = &work->sight;
    if (work->first.mended && !work->first.gone_on)
        vector_add(more, work->first.like, f->more + f->n, f->rows - f->n);
}

/* Losses as booked, parts and then circuits, with what is to come. */
static void losses_to_be(const hl_workspace *work, const double more[], double losses[])
{
    size_t items = work->design->n_items;
    for (size_t i = 0; i < items; i++) losses[i] = work->items[i].watts + more[i];
    for (size_t s = 0; s < work->design->n_stages; s++)
        losses[items + s] = work->stages[s].out.circuit_loss + more[items + s];
}

void foresight_keep(hl_workspace *work)
{
    first_round *first = &work->first;
    if (!first->done || first->gone_on) return;
    first->gone_on = true;
    double *more = work->bench.start;
    response_losses(work->response, work, more);
    losses_to_be(work, more, work->first.said + work->sight.n);
}

void foresight_note(hl_workspace *work)
{
    if (work->first.gone_on && work->first.left.power < 0)
        work->first.left = greatest(&work->sight, work->mix.scale, work->bench.missed);
}

void foresight_begin(hl_workspace *work)
{
    foresight_forget(&work->sight);
    work->first.done = work->first.mended = work->first.gone_on = false;
}

/* Shares of a miss that were left, where `before` was known.  What any point leaves open, and what the
 * temperatures left take with them, is no sign of a greater share of the power than that. */
static two_parts shares(two_parts left, two_parts open, two_parts before)
{
    double of_itself = left.power - always_open - power_by_kelvin * left.kelvin;
    two_parts most = {open.power > 0 ? left.power / open.power : 0,
                      open.kelvin > 0 ? left.kelvin / open.kelvin : 0};
    if (of_itself <= 0)
        most.power = fmin(most.power, before.power);
    else if (open.power > 0)
        most.power = of_itself / open.power;
    return most;
}

/* What was left although the miss was mended, less what was reckoned with of the part that is not alike: that
 * is no sign of how well the rest was mended. */
static void learn_left(foresight *f, const first_round *first)
{
    two_parts all = shares(first->left, first->open, f->tried ? f->left : f->plain);
    f->tried = true;
    f->left = (two_parts){fmax(all.power - first->other.power, untried * all.power),
                          fmax(all.kelvin - first->other.kelvin, untried * all.kelvin)};
}

void foresight_learn(hl_workspace *work, const double more[])
{
    foresight *f = &work->sight;
    first_round *first = &work->first;
    if (!first->gone_on || first->left.power < 0) return;
    if (!(first->open.power >= least_told.power || first->open.kelvin >= least_told.kelvin)) return;
    if (f->known && first->mended) learn_left(f, first);
    two_parts before = f->known ? f->plain : (two_parts){0, 0}, first_of_all = {INFINITY, INFINITY};
    memcpy(f->miss, first->miss, f->n * sizeof *f->miss);
    memcpy(f->more, work->made, f->n * sizeof *f->more);
    losses_to_be(work, more, f->more + f->n);
    vector_add(f->more, -1, first->said, f->rows);
    two_parts lacked =
        shares(greatest(f, work->mix.scale, f->more), first->open, f->known ? before : first_of_all);
    f->plain = (two_parts){fmax(lacked.power, weighs_on * before.power),
                           fmax(lacked.kelvin, weighs_on * before.kelvin)};
    f->known = true;
}
