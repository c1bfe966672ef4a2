/* llc_memory.h - what the resonant stage keeps for its next search: where the points before lead to, and how
 * long the stretches of the last one took. */
#ifndef LLC_MEMORY_H
#define LLC_MEMORY_H

#include "llc_half.h"
#include "past_points.h"

enum { LLC_SHAPE_MAX = 8 };

typedef struct llc_memory {
    past_points past; /* load A, V at the input, V behind the rectifier: state at turn-on, half period */
    double stretches;
    struct {
        int sign, node, border;
        double duration;
    } shape[LLC_SHAPE_MAX]; /* of the newest */
} llc_memory;

static void llc_asked(const llc_circuits *all, double behind, double load, double asked[PAST_ASKED])
{
    asked[0] = load;
    asked[1] = all->tank.input;
    asked[2] = behind;
}

static void llc_recall_shape(const llc_memory *kept, llc_half *half)
{
    half->n = (int)kept->stretches;
    for (int k = 0; k < half->n; k++) {
        half->stretch[k].circuit = NULL; /* that of another tank */
        half->stretch[k].border = kept->shape[k].border;
        half->stretch[k].sign = kept->shape[k].sign;
        half->stretch[k].node = (llc_node)kept->shape[k].node;
        half->stretch[k].duration = kept->shape[k].duration;
    }
}

/* A start for what is asked; false: nothing is kept. */
static bool llc_recall(const llc_memory *kept, const llc_circuits *all, double behind, double load,
                       llc_half *half)
{
    double asked[PAST_ASKED], given[PAST_GIVEN];
    llc_asked(all, behind, load, asked);
    if (!kept || !past_lead(&kept->past, asked, given)) return false;
    const double *last =
        kept->past.point[0].given; /* a line that leads to half or twice its period is left */
    bool near = given[LLC_STATES] > 0.5 * last[LLC_STATES] && given[LLC_STATES] < 2.0 * last[LLC_STATES];
    const double *start = near ? given : last;
    half->start = lanes_load(start);
    half->half = start[LLC_STATES];
    if (!(all->tank.output_capacitance > 0)) half->start[LLC_VO] = behind;
    llc_recall_shape(kept, half);
    return half->half > 0;
}

static void llc_keep(llc_memory *kept, const llc_circuits *all, double behind, double load,
                     const llc_half *half)
{
    if (!kept) return;
    past_point now;
    llc_asked(all, behind, load, now.asked);
    lanes_store(now.given, half->start);
    now.given[LLC_STATES] = half->half;
    past_keep(&kept->past, &now);
    int n = half->n < LLC_SHAPE_MAX ? half->n : LLC_SHAPE_MAX;
    kept->stretches = n;
    for (int k = 0; k < n; k++) {
        kept->shape[k].border = half->stretch[k].border;
        kept->shape[k].sign = half->stretch[k].sign;
        kept->shape[k].node = (int)half->stretch[k].node;
        kept->shape[k].duration = half->stretch[k].duration;
    }
}

#endif
