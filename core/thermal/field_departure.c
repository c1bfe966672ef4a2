/* field_departure.c - what is not linear in a condensed field: convection and radiation outside, radiation
 * and air layers inside, each less the linear part that the grid already holds. */
#include "thermal/field_core.h"

#include "thermal/law.h"
#include "thermal/surface.h"

#include <math.h>
#include <string.h>

/* Coefficient of a face at its mean rise and the slope of the coefficient to that rise. */
typedef struct face_film {
    double h, slope;
} face_film;

static const double least_rise = 1e-4; /* K: below, the slope of natural convection has no bound */

/* Of a bare face. */
static face_film bare_film(const hl_field_side *side, const hl_surroundings *s, double mean)
{
    if (side->law == HL_FIELD_FIXED) return (face_film){side->coefficient, 0};
    double size = fmax(fabs(mean), least_rise), film = s->temperature + 0.5 * mean;
    hl_orientation seen = mean >= 0 ? side->orientation : orientation_turned(side->orientation);
    film_coefficient c = surface_natural(seen, size, film, s->pressure, side->length);
    if (side->air_speed > 0) {
        double along = side->along > 0 ? side->along : side->length;
        c = surface_mixed(c, surface_forced(film, s->pressure, along, side->air_speed));
    }
    return (face_film){c.h, c.by_difference / (mean >= 0 ? size : -size) + 0.5 * c.by_film};
}

/* The open share of a face and the covered one lie side by side at the face's own temperature, as two ways
 * of the network by rule do: coefficients add up by area.  At 0 and at 1 one of them alone. */
static face_film film_of(const hl_field_side *side, const hl_surroundings *s, double mean)
{
    if (side->law == HL_FIELD_ADIABATIC) return (face_film){0, 0};
    face_film bare = bare_film(side, s, mean);
    double open = 1 - side->covered;
    return (face_film){open * bare.h + side->covered * side->cover, open * bare.slope};
}

static double face_mean(const hl_field *field, int face, const double patch_rise[])
{
    double sum = 0, area = 0;
    for (int p = field->ports.first_patch[face]; p < field->ports.first_patch[face + 1]; p++) {
        sum += field->ports.patches[p].area * patch_rise[p];
        area += field->ports.patches[p].area;
    }
    return sum / area;
}

static double emitted(const hl_field_side *side)
{
    return side->law == HL_FIELD_ADIABATIC ? 0 : stefan_boltzmann * side->emissivity * (1 - side->covered);
}

/* Which way side a of a group looks: a is the lower of the two along the axis, its surface looks up it. */
static hl_orientation looks(const hl_field *field, const port_group *group)
{
    if (field->up == HL_FACES || (int)field->up / 2 != group->axis) return HL_VERTICAL;
    return (int)field->up % 2 ? HL_FACING_UP : HL_FACING_DOWN;
}

/* The air layer between two surfaces, above its still conduction, W/(m^2 K). */
static double layer_convection(const hl_field *field, const port_group *group, const hl_surroundings *s,
                               double a, double b)
{
    if (field->still || !(group->gap > 0)) return 0;
    hl_orientation hot = a >= b ? looks(field, group) : orientation_turned(looks(field, group));
    double film = 0.5 * (a + b), height = fmax(group->height, group->gap);
    film_coefficient c = gap_layer(hot, fabs(a - b), film, s->pressure, group->gap, height);
    film_coefficient still = gap_layer(hot, 0, film, s->pressure, group->gap, height);
    return fmax(c.h - still.h, 0);
}

void field_departures(const hl_field *field, const hl_surroundings *s, const double rise[],
                      double departure[], double face_heat[HL_FACES])
{
    const field_ports *p = &field->ports;
    const double *patch = rise + p->bodies, *side_a = patch + p->n_patches, *side_b = side_a + p->n_groups;
    for (int face = 0; face < HL_FACES; face++) {
        const hl_field_side *side = &field->sides[face];
        face_film film = film_of(side, s, face_mean(field, face, patch));
        face_heat[face] = 0;
        for (int k = p->first_patch[face]; k < p->first_patch[face + 1]; k++) {
            double t = s->temperature + patch[k];
            double heat = film.h * patch[k] + law_radiation(emitted(side), t, s->temperature).heat;
            face_heat[face] += p->patches[k].area * heat;
            departure[k] = -p->patches[k].area * (heat - field->linear.outward[k] * patch[k]);
        }
    }
    departure += p->n_patches;
    for (int k = 0; k < p->n_groups; k++) {
        const port_group *group = &p->groups[k];
        double a = s->temperature + side_a[k], b = s->temperature + side_b[k];
        double heat = law_radiation(stefan_boltzmann * group->exchange, a, b).heat;
        heat += group->area * layer_convection(field, group, s, a, b) * (a - b);
        double held =
            field->linear.radiation[k] * group->exchange + field->linear.convection[k] * group->area;
        departure[k] = -(heat - held * (a - b));
    }
}

void field_departure_slopes(const hl_field *field, const hl_surroundings *s, const double rise[],
                            departure_slopes *slopes)
{
    const field_ports *p = &field->ports;
    const double *patch = rise + p->bodies, *side_a = patch + p->n_patches, *side_b = side_a + p->n_groups;
    for (int face = 0; face < HL_FACES; face++) {
        const hl_field_side *side = &field->sides[face];
        face_film film = film_of(side, s, face_mean(field, face, patch));
        for (int k = p->first_patch[face]; k < p->first_patch[face + 1]; k++) {
            double t = s->temperature + patch[k], area = p->patches[k].area;
            slopes->own[k] = -area * (film.h + 4 * emitted(side) * t * t * t - field->linear.outward[k]);
            slopes->other[k] = -area * film.slope * patch[k];
        }
    }
    for (int k = 0; k < p->n_groups; k++) {
        const port_group *group = &p->groups[k];
        double a = s->temperature + side_a[k], b = s->temperature + side_b[k];
        double layer = group->area * layer_convection(field, group, s, a, b);
        double held =
            field->linear.radiation[k] * group->exchange + field->linear.convection[k] * group->area;
        double factor = 4 * stefan_boltzmann * group->exchange;
        slopes->own[p->n_patches + k] = -(factor * a * a * a + layer - held);
        slopes->other[p->n_patches + k] = factor * b * b * b + layer - held;
    }
}

void field_linearise(const hl_field *field, const hl_surroundings *s, const double rise[],
                     field_linear *linear)
{
    static const double first_guess = 40; /* K, outside; the inside at twice that */
    const field_ports *p = &field->ports;
    const double *patch = rise ? rise + p->bodies : NULL, *side_a = rise ? patch + p->n_patches : NULL;
    const double *side_b = rise ? side_a + p->n_groups : NULL;
    double sum = 0;
    for (int face = 0; face < HL_FACES; face++) {
        const hl_field_side *side = &field->sides[face];
        face_film film = film_of(side, s, rise ? face_mean(field, face, patch) : first_guess);
        for (int k = p->first_patch[face]; k < p->first_patch[face + 1]; k++) {
            double t = s->temperature + (rise ? patch[k] : first_guess);
            linear->outward[k] = film.h + 4 * emitted(side) * t * t * t;
        }
    }
    for (int k = 0; k < p->n_groups; k++) {
        double a = s->temperature + (rise ? side_a[k] : 2 * first_guess);
        double b = s->temperature + (rise ? side_b[k] : first_guess), middle = 0.5 * (a + b);
        bool apart = p->groups[k].apart;
        linear->radiation[k] = apart ? 0 : 4 * stefan_boltzmann * middle * middle * middle;
        linear->convection[k] = apart ? 0 : layer_convection(field, &p->groups[k], s, a, b);
        sum += middle / p->n_groups;
    }
    double middle = p->n_groups > 0 ? sum : s->temperature + first_guess;
    linear->rest = 4 * stefan_boltzmann * middle * middle * middle;
}
