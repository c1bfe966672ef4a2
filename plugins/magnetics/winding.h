/* winding.h - one winding from its geometry: dc resistance, and its ac factors tabulated over frequency.
 *
 * A winding is layers in the field of each other. Own current and mean field give two losses that add
 * (layer_winding.h, round_row.h), so F(f) = 1 + own_excess + field <M^2>, where <M^2> is the mean square of
 * the field at its layers, in units of its own current per pitch: (4 m^2 - 1) / 12 for m layers that begin
 * at zero field. Litz of n strands is layers of strands: the same with n field, plus (n - 1) / 12 field for
 * the field of the bundle in itself (square bundle; twisting taken as perfect). docs/theory/windings.md */
#ifndef WINDING_H
#define WINDING_H

#include <stdio.h>

#include "copper.h"
#include "resistance_table.h"
#include "round_row.h"
#include "winding_parameters.h"
#include "winding_window.h"

typedef struct coil {
    double resistance;  /* ohm at 20 degC */
    double coefficient; /* 1/K */
    double copper_area; /* m^2, all turns */
    double turns, layers, portions, turns_per_layer;
    double layer_pitch, breadth; /* m; 0 where not known */
    bool rough;                  /* something was assumed that matters: HL_FALLBACK */
    bool wire_unknown;           /* so there is no ac loss: HL_AC_LEFT_OUT where it would matter */
    const hl_curve *measured;    /* ac over dc resistance over frequency, in place of the table; or NULL */
    bool fringing;               /* the table's second factor is what the gap's field adds */
    double measured_ratio;       /* rho(T) / rho(20 degC) where that was measured */
    resistance_table table;
    size_t like; /* 1 + the number of an earlier winding with the same table and coefficient; 0: none */
} coil;

/* What the rows say of one winding; NaN where they are silent. */
typedef struct winding_spec {
    int shape;
    double turns, diameter, strands, strand, thickness, width, parallel, layers, layer_pitch, portions;
    double turn_length, resistance, window, resistivity, coefficient;
    bool derived; /* the diameter follows from the resistance */
} winding_spec;

/* Of the layers: the window less its margins; NaN when not stated, or when nothing is left. */
static inline double winding_breadth(const hl_value *row)
{
    double margin = entry_or(entry_of(&row[ROW_MARGIN], 0), 0.0);
    double breadth = entry_of(&row[ROW_WINDOW_WIDTH], 0) - 2.0 * margin;
    return breadth > 0.0 ? breadth : NAN;
}

/* Round wire whose diameter is not stated, from the copper that its resistance tells of:
 *   R = rho N l / (p pi d^2 / 4), p wires in hand
 * source: definition of resistivity, IEC 60028. A resistance of both ends and leads makes it a little thin.
 */
static inline void winding_derive_wire(winding_spec *s)
{
    const double quarter = 0.785398163397448310;
    if (s->shape != CONDUCTOR_ROUND || s->diameter > 0.0) return;
    double square = s->resistivity * s->turns * s->turn_length / (quarter * s->parallel * s->resistance);
    s->derived = square > 0.0 && isfinite(square);
    if (s->derived) s->diameter = sqrt(square);
}

static inline winding_spec winding_spec_of(const hl_value *row, size_t w)
{
    winding_spec s = {
        .shape = row[ROW_CONDUCTOR].given ? (int)entry_of(&row[ROW_CONDUCTOR], w) : CONDUCTOR_ROUND,
        .turns = entry_of(&row[ROW_TURNS], w),
        .diameter = entry_of(&row[ROW_DIAMETER], w),
        .strands = entry_of(&row[ROW_STRANDS], w),
        .strand = entry_of(&row[ROW_STRAND_DIAMETER], w),
        .thickness = entry_of(&row[ROW_THICKNESS], w),
        .width = entry_of(&row[ROW_WIDTH], w),
        .parallel = entry_or(entry_of(&row[ROW_PARALLEL], w), 1.0),
        .layers = entry_of(&row[ROW_LAYERS], w),
        .layer_pitch = entry_of(&row[ROW_LAYER_PITCH], w),
        .portions = entry_or(entry_of(&row[ROW_PORTIONS], w), 1.0),
        .turn_length = entry_of(&row[ROW_TURN_LENGTH], w),
        .resistance = entry_of(&row[ROW_RESISTANCE], w),
        .window = winding_breadth(row),
        .resistivity = entry_or(entry_of(&row[ROW_RESISTIVITY], 0), copper_resistivity),
        .coefficient = entry_or(entry_of(&row[ROW_COEFFICIENT], 0), copper_coefficient),
    };
    winding_derive_wire(&s);
    return s;
}

/* The conductor as table_build sees it. */
typedef struct conductor {
    round_row row;
    int shape;
    double depth_factor; /* delta = depth_factor / sqrt(y) */
    double size;         /* m: thickness, or radius of wire or strand */
    double strands;
    double along, across; /* mean square fields put into own_excess; 0 when they vary by themselves */
    const gap_field *gap; /* the field in the whole window is known; or NULL. Then the table's second factor
                           * is what it adds to the even rise of `along` */
} conductor;

static inline ac_factor conductor_factor(const void *context, double y)
{
    const conductor *c = context;
    double size_over_depth = c->size * sqrt(y) / c->depth_factor;
    bool flat = c->shape == CONDUCTOR_FOIL || c->shape == CONDUCTOR_FLAT;
    ac_factor f = flat ? layer_factor(size_over_depth) : round_row_factor(&c->row, size_over_depth);
    f.own_excess += f.field * (c->strands - 1.0) / 12.0;
    f.field *= c->strands;
    f.across *= c->strands;
    double even = f.field * c->along + f.across * c->across;
    f.own_excess += even;
    if (!c->gap) return f;
    window_vector square = gap_field_squares(c->gap, size_over_depth);
    f.field = f.field * square.along + f.across * square.across - even; /* what the gap adds */
    f.across = 0.0;
    return f;
}

static inline bool winding_refuse(hl_reason *reason, size_t w, const char *sentence)
{
    snprintf(reason->text, sizeof reason->text, "winding %zu: %s", w + 1, sentence);
    return false;
}

/* Copper area of one turn, and the outer size one turn takes along a layer; 0 when the rows do not say. */
static inline double winding_section(const winding_spec *s, double *outer)
{
    const double quarter = 0.785398163397448310;
    switch (s->shape) {
    case CONDUCTOR_FOIL:
    case CONDUCTOR_FLAT:
        *outer = s->width * s->parallel;
        return s->width * s->thickness * s->parallel;
    case CONDUCTOR_LITZ:
        /* bundle: strands fill about half of its circle; common practice, no source */
        *outer = s->parallel * s->strand * sqrt(2.0 * s->strands);
        return quarter * s->strand * s->strand * s->strands * s->parallel;
    default:
        *outer = s->diameter * s->parallel;
        return quarter * s->diameter * s->diameter * s->parallel;
    }
}

/* Layers of the whole winding: stated; of foil one a turn; else as many as the window asks for with turns
 * 1.1 times the wire apart. */
static inline double winding_layers(const winding_spec *s, double outer)
{
    if (s->layers > 0.0) return s->layers;
    if (s->shape == CONDUCTOR_FOIL) return s->turns;
    if (!(s->window > 0.0)) return 1.0;
    return fmax(1.0, ceil(s->turns * 1.1 * outer / s->window));
}

/* Conductor of a winding whose rows describe one: pitch is that of wires along the layer. */
static inline conductor winding_conductor(const winding_spec *s, double turns_per_layer, double outer,
                                          double layers_of_portion)
{
    const double pi = 3.14159265358979324;
    bool flat = s->shape == CONDUCTOR_FOIL || s->shape == CONDUCTOR_FLAT, litz = s->shape == CONDUCTOR_LITZ;
    double wires = turns_per_layer * s->parallel, wire = outer / s->parallel;
    double pitch = s->window > 0.0 ? s->window / wires : 1.1 * wire;
    if (pitch < wire) pitch = wire; /* a turn cannot lie within the next */
    conductor c = {.shape = s->shape, .strands = litz ? s->strands : 1.0};
    double eta = flat ? fmin(s->width / pitch, 1.0) : 1.0;
    c.depth_factor = sqrt(s->resistivity / (pi * vacuum_permeability * eta));
    if (flat) {
        c.size = s->thickness;
        return c;
    }
    c.size = 0.5 * (litz ? s->strand : s->diameter);
    double layer_pitch = entry_or(s->layer_pitch, 1.15 * wire), share = sqrt(c.strands);
    double strand_pitch = fmax(pitch / share, 2.02 * c.size);
    double strand_layer = fmax(layer_pitch / share, 2.02 * c.size);
    double rows = fmax(1.0, fmin(64.0, floor(layers_of_portion * share + 0.5)));
    round_row_prepare(&c.row, c.size / strand_pitch, strand_layer / strand_pitch, (int)rows);
    return c;
}

static inline double winding_mean_square(const conductor *c, double layers_of_portion)
{
    double square = layer_mean_square_field(layers_of_portion);
    if (c->shape == CONDUCTOR_ROUND) square += row_edge_field(layers_of_portion, c->row.layer_over_pitch);
    return square;
}

/* Resistance and geometry of winding w; *c is left ready for winding_tabulate. */
static inline bool winding_prepare(coil *winding, const winding_spec *s, size_t w, conductor *c,
                                   hl_reason *reason)
{
    double outer = 0.0, section = winding_section(s, &outer);
    if (!(s->turns > 0.0)) return winding_refuse(reason, w, "turns must be above zero");
    bool known = section > 0.0 && isfinite(section);
    double resistance = s->resistance;
    if (!(resistance >= 0.0)) {
        if (!known || !(s->turn_length > 0.0))
            return winding_refuse(
                reason, w,
                "state dc_resistance, or the conductor (conductor_diameter; strands and "
                "strand_diameter; foil_thickness and conductor_width) and mean_turn_length");
        resistance = s->resistivity * s->turns * s->turn_length / section;
    }
    winding->resistance = resistance;
    winding->coefficient = s->coefficient;
    winding->copper_area = known ? section * s->turns : 0.0;
    winding->turns = s->turns;
    winding->portions = s->portions;
    winding->layers = known ? winding_layers(s, outer) : 1.0;
    winding->turns_per_layer = fmax(s->turns / winding->layers, 1e-9);
    winding->wire_unknown = !known;
    winding->rough =
        !known || s->derived || (!(s->layers > 0.0) && s->shape != CONDUCTOR_FOIL) || !(s->window > 0.0);
    double wire =
        s->shape == CONDUCTOR_FOIL || s->shape == CONDUCTOR_FLAT ? s->thickness : outer / s->parallel;
    winding->breadth = s->window > 0.0 ? s->window : 0.0;
    winding->layer_pitch = known ? entry_or(s->layer_pitch, 1.15 * wire) : 0.0;
    winding->table.cells = 0;
    *c = (conductor){.size = 0.0};
    if (known)
        *c = winding_conductor(s, winding->turns_per_layer, outer, winding->layers / winding->portions);
    return true;
}

/* 24 cells a decade follow foil to 1e-7, 8 follow wire to 1e-5; the knee is where delta is half the size of a
 * wire, or two thirds of a foil's thickness. */
static inline void winding_tabulate(coil *winding, const conductor *c)
{
    if (!(c->size > 0.0)) return;
    winding->fringing = c->gap;
    bool flat = c->shape == CONDUCTOR_FOIL || c->shape == CONDUCTOR_FLAT;
    double at_knee = (flat ? 1.5 : 1.0) * c->depth_factor / c->size;
    if (!table_build(&winding->table, at_knee * at_knee, flat ? 24 : 8, conductor_factor, c))
        winding->rough = true;
}

static inline bool winding_tables_equal(const resistance_table *a, const resistance_table *b)
{
    if (a->cells != b->cells || a->knee != b->knee) return false;
    for (int f = 0; f < TABLE_FACTORS; f++)
        for (int i = 0; i < a->cells; i++)
            for (int c = 0; c < 4; c++)
                if (a->cell[f][i][c] != b->cell[f][i][c]) return false;
    return true;
}

/* Whether winding w has its excess loss from an earlier one's table. */
static inline void winding_find_like(coil winding[], size_t w)
{
    const coil *own = &winding[w];
    winding[w].like = 0;
    for (size_t v = 0; v < w && own->table.cells; v++)
        if (!winding[v].measured && winding[v].fringing == own->fringing &&
            winding[v].coefficient == own->coefficient &&
            winding_tables_equal(&winding[v].table, &own->table)) {
            winding[w].like = v + 1;
            return;
        }
}

/* Copper over window; three fifths is taken as the most that can be wound: common practice, no source. */
static inline size_t window_limit(double copper_area, double window_area, hl_limit *limit)
{
    if (!(copper_area > 0.0 && window_area > 0.0)) return 0;
    *limit = (hl_limit){"copper share of the window", "1", copper_area / window_area, 0.6};
    return 1;
}

#endif
