/* law.c - the laws a link can follow. */
#include "thermal/law.h"

#include "thermal/network.h"
#include "thermal/surface.h"

/* Coefficient of a link of air at a temperature difference `size` (a above b when `forward`).
 * The surface of a natural link is its end a, unless that end is the surroundings. */
static film_coefficient coefficient_of(const hl_link *link, bool forward, double size, double film,
                                       double pressure)
{
    hl_orientation side = (hl_orientation)link->kind;
    if (link->law == HL_LAW_FORCED) return surface_forced(film, pressure, link->p[1], link->p[2]);
    if (link->law == HL_LAW_GAP) {
        hl_orientation hot = forward ? side : orientation_turned(side);
        return gap_layer(hot, size, film, pressure, link->p[1], link->p[2]);
    }
    bool surface_is_a = link->a != HL_AMBIENT;
    bool hot_surface = forward == surface_is_a;
    hl_orientation seen = hot_surface ? side : orientation_turned(side);
    film_coefficient still = surface_natural(seen, size, film, pressure, link->p[1]);
    if (!(link->p[2] > 0)) return still;
    double along = link->p[3] > 0 ? link->p[3] : link->p[1];
    return surface_mixed(still, surface_forced(film, pressure, along, link->p[2]));
}

law_flow law_of_air(const hl_link *link, double a, double b, double pressure, double least)
{
    double difference = a - b, size = fabs(difference), film = 0.5 * (a + b), area = link->p[0];
    bool forward = difference >= 0;
    film_coefficient c = coefficient_of(link, forward, size, film, pressure);
    double heat = area * c.h * difference;
    /* q = A h(d, film) d:  dq/dd = A (h + d dh/dd), dq/dfilm = A d dh/dfilm */
    double by_film = 0.5 * area * difference * c.by_film;
    if (size < least) c = coefficient_of(link, forward, least, film, pressure);
    double by_difference = area * (c.h + c.by_difference);
    return (law_flow){heat, by_difference + by_film, by_difference - by_film};
}

bool law_is_stretched(const hl_link *link, double a, double b, double pressure)
{
    bool air = link->law == HL_LAW_NATURAL || link->law == HL_LAW_GAP || link->law == HL_LAW_FORCED;
    return air && a != b && coefficient_of(link, a > b, fabs(a - b), 0.5 * (a + b), pressure).outside;
}

law_flow law_of(const hl_link *link, double a, double b, double pressure, double least)
{
    const double *p = link->p;
    switch (link->law) {
    case HL_LAW_FIXED:
        return (law_flow){p[0] * (a - b), p[0], p[0]};
    case HL_LAW_POWER:
        return law_power(p[0] * p[1], p[2], a - b, least);
    case HL_LAW_RADIATION:
        return law_radiation(stefan_boltzmann * p[0] * p[1], a, b);
    case HL_LAW_NATURAL:
    case HL_LAW_GAP:
    case HL_LAW_FORCED:
        return law_of_air(link, a, b, pressure, least);
    }
    return (law_flow){0, 0, 0};
}

static double flow_of(const hl_link *link, const hl_surroundings *surroundings, const double temperature[])
{
    double a = link->a < 0 ? surroundings->temperature : temperature[link->a];
    double b = link->b < 0 ? surroundings->temperature : temperature[link->b];
    return law_of(link, a, b, surroundings->pressure, 0.0).heat;
}

void hl_network_flows(const hl_network *network, const hl_surroundings *surroundings,
                      const double temperature[], double flow[])
{
    for (size_t k = 0; k < network->n_links; k++)
        flow[k] = flow_of(&network->links[k], surroundings, temperature);
}

double network_handed_out(const hl_network *network, const hl_surroundings *surroundings,
                          const double temperature[])
{
    double out = 0;
    for (size_t k = 0; k < network->n_outward; k++) {
        const hl_link *link = &network->links[network->outward[k]];
        double flow = flow_of(link, surroundings, temperature);
        out += link->b == HL_AMBIENT ? flow : -flow;
    }
    return out;
}
