/* rule_box.h - boxes as the rules of thumb see them, solved; and a plain one to vary.  What fails, fails the
 * running test. */
#ifndef RULE_BOX_H
#define RULE_BOX_H

#include "heatledger/thermal.h"

enum { RULE_BOX_NODES = 64 };

typedef struct rule_box {
    hl_network *network;
    hl_network_work *work;
    size_t nodes;
    hl_surroundings room;
    double temperature[RULE_BOX_NODES], watts[RULE_BOX_NODES];
} rule_box;

/* All nodes without heat and as warm as the room, at sea level. */
void rule_box_build(rule_box *s, const hl_box *box, size_t n_boards, const hl_board boards[], size_t n_bodies,
                    const hl_body bodies[], double ambient);
void rule_box_solve(rule_box *s);
void rule_box_release(rule_box *s);
/* W that the surroundings get. */
double rule_box_heat_out(const rule_box *s);
/* W/K of the links of fixed conductance between two nodes. */
double rule_box_conductance(const hl_network *network, const char *a, const char *b);

/* 80 x 50 x 30 mm of plastic, a board near its floor, and a cube of `size` on it with its middle at x, y. */
hl_box rule_box_plain(void);
hl_board rule_box_board(void);
hl_body rule_box_body(const char *name, double x, double y, double size);
/* Names of that board's quarters. */
extern const char *const rule_box_quarter[4];

#endif
