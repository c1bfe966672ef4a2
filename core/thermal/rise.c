/* rise.c - how far a little more heat raises the nodes of a solved network: the inverse of J - S, J the
 * derivative of link heat, S that of heat with temperature (first-order perturbation of the heat balance). */
#include "thermal/repeat.h"

#include <string.h>

#include "thermal/work.h"

static const double least_difference = 1e-4; /* K, as in gain.c */

bool network_linearise(hl_network_work *work, const hl_surroundings *surroundings, const double temperature[],
                       const double slope[])
{
    work_surround(work, surroundings);
    memcpy(work->temperature, temperature, (size_t)work->n * sizeof(double));
    work_assemble_links(work, least_difference);
    for (int i = 0; i < work->n; i++) work->value[work->diagonal[i]] -= slope[i];
    return work_factor_any(work);
}

void network_rise(hl_network_work *work, double vector[])
{
    work_solve(work, vector);
}
