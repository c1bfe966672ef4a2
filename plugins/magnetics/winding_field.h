/* winding_field.h - whose current makes how much field at which winding, from the winding plan.
 *
 * When the window is known in both directions, from the field in it (winding_window.h). Else in one
 * dimension: Sections lie over each other from the inner leg outwards, all as wide as the window. The
 * ampere-turns below the middle of layer p of a section, per ampere of winding u, are c_u = base_u + (u is
 * this winding) turns_per_layer (p - 1/2), base_u counting the sections below, less the share of N_u that a
 * gap in the inner leg takes. Mean over the m layers of the section: <c_u c_v> = base_u base_v + n m / 2 (d_u
 * base_v + d_v base_u) + d_u d_v n^2 (4 m^2 - 1) / 12. source: Ampere's law; P. L. Dowell, 1966 for the
 * layers. docs/theory/windings.md */
#ifndef WINDING_FIELD_H
#define WINDING_FIELD_H

#include "winding_loss.h"

enum { PLAN_SECTIONS = 32 };

typedef struct winding_plan {
    int section[PLAN_SECTIONS]; /* winding of each, inner leg outwards */
    int n;
    double start; /* share of the ampere-turns a gap in the inner leg takes */
} winding_plan;

static inline int plan_sections_of(const winding_plan *plan, size_t w)
{
    int count = 0;
    for (int i = 0; i < plan->n; i++) count += plan->section[i] == (int)w;
    return count;
}

/* windings[].portions hold the number of their sections. */
static inline void plan_mix(const winding_plan *plan, const coil winding[], size_t n, field_mix *mix)
{
    double base[HL_WINDINGS_MAX];
    mix->shared = true;
    for (size_t u = 0; u < n; u++) base[u] = -plan->start * winding[u].turns;
    for (int i = 0; i < plan->n; i++) {
        size_t w = (size_t)plan->section[i];
        double per_layer = winding[w].turns_per_layer, m = winding[w].layers / winding[w].portions;
        double weight = 1.0 / (winding[w].portions * per_layer * per_layer);
        for (size_t u = 0; u < n; u++)
            for (size_t v = 0; v <= u; v++) {
                double mean = base[u] * base[v];
                if (u == w) mean += 0.5 * per_layer * m * base[v];
                if (v == w) mean += 0.5 * per_layer * m * base[u];
                if (u == w && v == w) mean += per_layer * per_layer * (4.0 * m * m - 1.0) / 12.0;
                mix->along[w][mix_pair(u, v)] += (u == v ? 1.0 : 2.0) * weight * mean;
            }
        base[w] += winding[w].turns / winding[w].portions;
    }
}

/* Field at the layers of every winding, as products of what each winding makes there. */
static inline void window_mix(const winding_window *w, const coil winding[], size_t n, field_mix *mix)
{
    double share[HL_WINDINGS_MAX] = {0.0};
    mix->shared = mix->with_across = true;
    for (size_t i = 0; i < w->n; i++) share[w->layer[i].winding] += w->layer[i].length;
    for (size_t i = 0; i < w->n; i++) {
        const window_layer *layer = &w->layer[i];
        double pitch = layer->breadth / winding[layer->winding].turns_per_layer;
        double weight = pitch * pitch * layer->length / (share[layer->winding] * WINDOW_PLACES);
        for (int p = 0; p < WINDOW_PLACES; p++) {
            window_vector h[HL_WINDINGS_MAX];
            for (size_t u = 0; u < n; u++) h[u] = window_static(w, u, layer->x, window_place(layer, p), true);
            for (size_t u = 0; u < n; u++)
                for (size_t v = 0; v <= u; v++) {
                    double twice = (u == v ? 1.0 : 2.0) * weight;
                    mix->along[layer->winding][mix_pair(u, v)] += twice * h[u].along * h[v].along;
                    mix->across[layer->winding][mix_pair(u, v)] += twice * h[u].across * h[v].across;
                }
        }
    }
}

/* Lay the sections of a plan into the window: `first` = x of the middle of the first layer, `insulation`
 * between sections of different windings. false: they do not fit. */
static inline bool plan_lay(const winding_plan *plan, const coil winding[], double first, double insulation,
                            winding_window *w)
{
    double x = first;
    for (int i = 0; i < plan->n; i++) {
        const coil *c = &winding[plan->section[i]];
        int count = (int)fmax(1.0, floor(c->layers / c->portions + 0.5));
        if (i > 0) {
            const coil *before = &winding[plan->section[i - 1]];
            x += 0.5 * (before->layer_pitch + c->layer_pitch);
            if (before != c) x += insulation;
        }
        if (!window_put(w, (size_t)plan->section[i], count, c->turns / c->portions / count, c->breadth,
                        c->layer_pitch, &x))
            return false;
    }
    return true;
}

#endif
