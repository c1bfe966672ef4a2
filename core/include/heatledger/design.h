/* design.h - describe an adapter, then solve it.
 * Part of the host interface: include heatledger.h.
 *
 * A draft collects stages, parts, ports and the box; hl_draft_finish checks it
 * as a whole and returns an immutable design that any number of threads may
 * share.  Everything that may vary is one flat array of settings (SI).  A
 * workspace holds the memory of one thread; solving allocates nothing. */
#ifndef HEATLEDGER_DESIGN_H
#define HEATLEDGER_DESIGN_H

#include "heatledger/catalogue.h"
#include "heatledger/field.h"
#include "heatledger/thermal.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ----------------------------------------------------------------- draft -- */

/* Calls copy their texts and report problems with `place`; a call that fails
 * leaves the draft as it was, so that all problems can be collected. */
typedef struct hl_draft hl_draft;

/* host and every catalogue whose parts are used must outlive the design. */
HL_EXPORT hl_draft *hl_draft_create(const hl_host *host, const char *name);
HL_EXPORT void hl_draft_destroy(hl_draft *draft);

/* The one source: mains (V rms, Hz) or, with frequency 0, a dc supply (V). */
HL_EXPORT hl_status hl_draft_source(hl_draft *draft, const hl_place *place, double voltage, double frequency,
                                    hl_diagnostics *diagnostics);
/* A stage fed by the output of another stage, or by "mains" / "source". */
HL_EXPORT hl_status hl_draft_stage(hl_draft *draft, const hl_place *place, const char *name,
                                   const char *model, const char *fed_by, hl_diagnostics *diagnostics);
/* A parameter of a stage from text ("4.7 uH", "boundary") or as a number in SI. */
HL_EXPORT hl_status hl_draft_set(hl_draft *draft, const hl_place *place, const char *stage,
                                 const char *parameter, const char *text, hl_diagnostics *diagnostics);
HL_EXPORT hl_status hl_draft_set_number(hl_draft *draft, const hl_place *place, const char *stage,
                                        const char *parameter, double number, hl_diagnostics *diagnostics);
/* Put `count` >= 1 parallel parts into a slot of a stage. */
HL_EXPORT hl_status hl_draft_fill(hl_draft *draft, const hl_place *place, const char *stage, const char *slot,
                                  const hl_part *part, unsigned count, hl_diagnostics *diagnostics);
enum { HL_BUS_CAPACITORS_MAX = 16, HL_STAGES_MAX = 256 };
/* Put `count` parallel capacitors on a stage's output bus: at most HL_BUS_CAPACITORS_MAX kinds. */
HL_EXPORT hl_status hl_draft_bus_capacitor(hl_draft *draft, const hl_place *place, const char *stage,
                                           const char *label, const hl_part *part, unsigned count,
                                           hl_diagnostics *diagnostics);
/* One more part that may stand in a filled slot or bus capacitor: the setting "stage.slot" then chooses among
 * the part it was filled with (the first word) and these, by name, so a sweep over parts is one over
 * settings. Number settings stay those of the first part; the others are taken as they are.  Naming one twice
 * is no fault.  Count, place and size are those of the first. */
HL_EXPORT hl_status hl_draft_alternative(hl_draft *draft, const hl_place *place, const char *stage,
                                         const char *slot, const hl_part *part, hl_diagnostics *diagnostics);
/* Would the place take such a part, or has it already?  No: another family, none of the
 * kinds a slot asks for, or another part of the same name.
 * *there (may be NULL): a part of that name may stand there already. */
HL_EXPORT bool hl_draft_takes(const hl_draft *draft, const char *stage, const char *slot, const hl_part *part,
                              bool *there);
/* The filled slots and bus capacitors; false: no such index. */
HL_EXPORT bool hl_draft_filled(const hl_draft *draft, size_t index, const char **stage, const char **slot,
                               const hl_part **part);
/* A port draws `current` A (a setting) and asks for `voltage` V (a setting). */
HL_EXPORT hl_status hl_draft_port(hl_draft *draft, const hl_place *place, const char *name,
                                  const char *fed_by, double voltage, double current,
                                  hl_diagnostics *diagnostics);
/* Surroundings; altitude in m. */
HL_EXPORT hl_status hl_draft_ambient(hl_draft *draft, const hl_place *place, double temperature,
                                     double altitude, hl_diagnostics *diagnostics);

/* The box, its boards and where parts sit.  Without a box and without hand-made
 * links every part is taken at ambient temperature, and a warning says so. */
HL_EXPORT hl_status hl_draft_box(hl_draft *draft, const hl_place *place, const hl_box *box,
                                 hl_diagnostics *diagnostics);
HL_EXPORT hl_status hl_draft_board(hl_draft *draft, const hl_place *place, const hl_board *board,
                                   hl_diagnostics *diagnostics);
/* A foil or plate that spreads heat: along a wall, under a board, as a shield.  Counts with a field network
 * only. */
typedef struct hl_spreader {
    const char *name;
    double low[3], high[3];          /* m, outer coordinates of the box */
    double conductivity;             /* W/(m K) */
    double density_heat, emissivity; /* J/(m^3 K), 1 */
} hl_spreader;
HL_EXPORT hl_status hl_draft_spreader(hl_draft *draft, const hl_place *place, const hl_spreader *spreader,
                                      hl_diagnostics *diagnostics);
typedef struct hl_position {
    double centre[3];        /* m, outer coordinates of the box */
    double size[3];          /* m; zeros: the part's own size */
    const char *board;       /* name of the board it is soldered to, or NULL */
    hl_face pad_face;        /* face a thermal pad leads to; HL_FACES = none */
    double pad_resistance;   /* K/W of one part's pad */
    double board_resistance; /* K/W of one part; 0: the part's own figure */
} hl_position;
/* `item` is "stage.slot", or a stage's name for the heat that belongs to no part. */
HL_EXPORT hl_status hl_draft_position(hl_draft *draft, const hl_place *place, const char *item,
                                      const hl_position *position, hl_diagnostics *diagnostics);
/* Hand-made nodes and links; ends are items, node names, or "ambient". */
HL_EXPORT hl_status hl_draft_node(hl_draft *draft, const hl_place *place, const char *name, double capacity,
                                  hl_diagnostics *diagnostics);
HL_EXPORT hl_status hl_draft_link(hl_draft *draft, const hl_place *place, const char *a, const char *b,
                                  hl_law law, int kind, const double p[4], hl_diagnostics *diagnostics);

/* ---------------------------------------------------------------- design -- */

typedef struct hl_design hl_design;
/* For a box by field: solve the draft by rule first, so that hl_draft_finish condenses the field about the
 * losses that its parts will have. Where rules find no solution, and without this call, 8 % of what the ports
 * draw, spread evenly, stand for them; temperatures then may be off by more (docs/theory/field.md). Nothing
 * to do without a field: HL_OK. HL_NO_MEMORY. The draft must not change after it. */
HL_EXPORT hl_status hl_draft_foresee(hl_draft *draft);
/* Check the whole and build.  NULL when anything is wrong; all problems are in
 * diagnostics.  The draft stays and must still be destroyed. */
HL_EXPORT hl_design *hl_draft_finish(hl_draft *draft, hl_diagnostics *diagnostics);
HL_EXPORT void hl_design_destroy(hl_design *design);

HL_EXPORT const char *hl_design_name(const hl_design *design);
HL_EXPORT size_t hl_design_settings(const hl_design *design);
/* Name, unit, meaning and range of setting i; choices have kind HL_CHOICE. */
HL_EXPORT const char *hl_design_setting_name(const hl_design *design, size_t index);
HL_EXPORT const hl_parameter *hl_design_setting(const hl_design *design, size_t index);
/* Fill settings[hl_design_settings] with the design's own values; NaN = not stated. */
HL_EXPORT void hl_design_defaults(const hl_design *design, double settings[]);
/* Band of setting i, central at its own value; kind HL_BAND_NONE (and true) when none is stated.
 * false: no such setting.  Values of one part that fills several slots share a group, since what is not
 * known of it is the same unknown everywhere; texts live as long as the design. */
HL_EXPORT bool hl_design_band(const hl_design *design, size_t index, hl_band *band);
/* Index by name, or SIZE_MAX; `nearest` (may be NULL) gets a near name or NULL. */
HL_EXPORT size_t hl_design_find_setting(const hl_design *design, const char *name, const char **nearest);
/* Read text ("100 V", "boundary") into settings[]. */
HL_EXPORT hl_status hl_design_set(const hl_design *design, double settings[], const char *name,
                                  const char *text, const hl_place *place, hl_diagnostics *diagnostics);

typedef struct hl_item { /* a slot with its parts, or a bus capacitor */
    const char *name;    /* "stage.slot" */
    const char *stage, *slot;
    const hl_part *part;   /* the first of its alternatives, or the chosen one: hl_result_item */
    unsigned count;        /* all parts: positions x parallel */
    int stage_index, node; /* node -1 without a thermal network */
} hl_item;
enum { HL_ALTERNATIVES_MAX = 1024 };
/* Parts that item i may hold, at least 1; and the index of the setting that chooses, SIZE_MAX when it holds
 * one. */
HL_EXPORT size_t hl_design_alternatives(const hl_design *design, size_t item);
HL_EXPORT const hl_part *hl_design_alternative(const hl_design *design, size_t item, size_t index);
HL_EXPORT size_t hl_design_part_setting(const hl_design *design, size_t item);
HL_EXPORT size_t hl_design_items(const hl_design *design);
HL_EXPORT const hl_item *hl_design_item(const hl_design *design, size_t index);
HL_EXPORT size_t hl_design_stages(const hl_design *design);
HL_EXPORT const char *hl_design_stage_name(const hl_design *design, size_t index);
HL_EXPORT const hl_model *hl_design_stage_model(const hl_design *design, size_t index);
/* Stage that feeds stage `index`; -1: the source. */
HL_EXPORT int hl_design_stage_parent(const hl_design *design, size_t index);
/* Values as described, in the order of the model's parameters; live as long as the design. */
HL_EXPORT const hl_value *hl_design_stage_values(const hl_design *design, size_t index);
HL_EXPORT size_t hl_design_ports(const hl_design *design);
HL_EXPORT const char *hl_design_port_name(const hl_design *design, size_t index);
HL_EXPORT int hl_design_port_stage(const hl_design *design, size_t index); /* that feeds it */
HL_EXPORT size_t hl_design_nodes(const hl_design *design);
HL_EXPORT const char *hl_design_node_name(const hl_design *design, size_t index);
HL_EXPORT const hl_network *hl_design_network(const hl_design *design); /* NULL: none */
HL_EXPORT const hl_box *hl_design_box(const hl_design *design);         /* NULL: none */
/* What hl_result_case_hottest tells: "hot spot of the case" where the heat field of the box is solved,
 * "hottest face, mean" where rules stand for it, NULL without a case. */
HL_EXPORT const char *hl_design_case_hottest(const hl_design *design);

/* -------------------------------------------------------------- solution -- */

typedef struct hl_workspace hl_workspace;
HL_EXPORT hl_workspace *hl_workspace_create(const hl_design *design); /* NULL: no memory */
/* One for another thread, that solves the same design: what a workspace learns of its design is kept once for
 * both, whichever of them needs it first.  The bits of an answer are the same as in one of its own.  Each of
 * them may be destroyed before the other.  NULL: no memory. */
HL_EXPORT hl_workspace *hl_workspace_beside(const hl_workspace *other);
HL_EXPORT void hl_workspace_destroy(hl_workspace *workspace);
/* Its design, with the parts that the point solved last has chosen. */
HL_EXPORT const hl_design *hl_workspace_design(const hl_workspace *workspace);

/* Where the time of solving went since measuring was switched on, s of wall clock. */
typedef struct hl_times {
    double stages, parts, buses, network;
    unsigned long points, passes;
} hl_times;
/* Measuring costs a few per cent; off when a workspace is made.  Switching on clears the times. */
HL_EXPORT void hl_workspace_measure(hl_workspace *workspace, bool on);
HL_EXPORT const hl_times *hl_workspace_times(const hl_workspace *workspace);

typedef enum hl_outcome { HL_SOLVED, HL_INFEASIBLE, HL_RAN_AWAY } hl_outcome;

/* Solve one point.  Same settings, same bits: nothing is remembered from the
 * point before.  The result is read from the workspace until the next solve;
 * settings[] must stand as it is until then, since what tells of the point
 * reads it again.
 *   HL_OK           hl_result_outcome tells solved, infeasible or run away
 *   HL_BAD_INPUT    a setting is not finite or outside its model's reach
 *   HL_INTERNAL     did not converge (never seen as a result) */
HL_EXPORT hl_status hl_solve(hl_workspace *workspace, const double settings[]);
/* What a solved point ended with, for others to begin from.  A sweep that takes it from a fixed neighbour of
 * each point, chosen by the plan and not by who happens to be done, gets the same bits however its points are
 * scheduled: a result depends on the settings and on the start alone.  It agrees with the one of hl_solve to
 * the tolerance of solving, 1e-9.  Once taken, a start is constant and may be shared by threads. */
typedef struct hl_start hl_start;
HL_EXPORT hl_start *hl_start_create(const hl_design *design); /* NULL: no memory */
HL_EXPORT void hl_start_destroy(hl_start *start);
/* Copy from the point solved last; allocates nothing.  false, and the start is empty: it was not solved. */
HL_EXPORT bool hl_start_take(hl_start *start, const hl_workspace *workspace);
/* Right after hl_start_take, and once for a start: learn how the answer moves with `n` settings, so that
 * points that differ in them begin closer.  Takes a round for each setting, by differences of `step` (> 0),
 * and about a hundred besides; takes memory, and the workspace's result is gone.  false: the start is as it
 * was taken. */
HL_EXPORT bool hl_start_learn(hl_start *start, hl_workspace *workspace, const size_t settings[],
                              const double step[], size_t n);
/* A start between or beyond others, sum of weight[k] from[k]: say 2 and -1 to go on as far again.  Weights
 * sum to one.  Allocates nothing.  false, and it is empty: one of the others is, or is of another design. */
HL_EXPORT bool hl_start_blend(hl_start *to, const hl_start *const from[], const double weight[], size_t n);
/* A start one even step beyond the last `n` points of a line, past[0] the newest: by as many of them as would
 * have led best to the newest.  Allocates nothing.  false, and it is empty: the newest is empty. */
HL_EXPORT bool hl_start_onward(hl_start *to, const hl_start *const past[], size_t n);
/* The same beside a line that is solved already, if that would have led better: beside[0] stands where the
 * point is to stand, beside[1] where past[0] does, and so on, `m` of them. */
HL_EXPORT bool hl_start_beside(hl_start *to, const hl_start *const past[], size_t n,
                               const hl_start *const beside[], size_t m);
/* hl_solve, begun from `start`; NULL, an empty one, or one that leads nowhere: as hl_solve. */
HL_EXPORT hl_status hl_solve_from(hl_workspace *workspace, const double settings[], const hl_start *start);
/* How the point ended, and the reason in words when it was not solved ("" otherwise). */
HL_EXPORT hl_outcome hl_result_outcome(const hl_workspace *workspace);
HL_EXPORT const char *hl_result_reason(const hl_workspace *workspace);

typedef struct hl_power_figures {
    double input, output, loss;             /* W */
    double efficiency;                      /* 1; 0 without input */
    double power_factor;                    /* 1; 1 for dc */
    double input_current;                   /* A, rms or dc */
    double power_imbalance, heat_imbalance; /* W */
    unsigned passes;
} hl_power_figures;
HL_EXPORT const hl_power_figures *hl_result_power(const hl_workspace *workspace);
/* What losses add to each kelvin; one runs away.  Worked out when it is first asked for: not from two threads
 * at once. *leader (NULL: not wanted): the node that leads it, or that led a run-away; -1: none. */
HL_EXPORT double hl_result_feedback_gain(const hl_workspace *workspace, int *leader);
/* Item i as it was solved: with the part that its setting chose.  Valid until the next point. */
HL_EXPORT const hl_item *hl_result_item(const hl_workspace *workspace, size_t item);
/* W of item i (all its parts) by mechanism; of stage s's own heat: hl_result_own. */
HL_EXPORT double hl_result_loss(const hl_workspace *workspace, size_t item, hl_mechanism mechanism);
/* The item that this loss warms: i itself, or the part of the same stage in which the heat arises, such as
 * the switch whose turn-on charges and recovers a free-wheeling diode. */
HL_EXPORT size_t hl_result_heats(const hl_workspace *workspace, size_t item, hl_mechanism mechanism);
HL_EXPORT double hl_result_item_loss(const hl_workspace *workspace, size_t item);
HL_EXPORT double hl_result_item_temperature(const hl_workspace *workspace, size_t item); /* K */
HL_EXPORT uint32_t hl_result_item_flags(const hl_workspace *workspace, size_t item);
HL_EXPORT double hl_result_own(const hl_workspace *workspace, size_t stage, const char **name);
HL_EXPORT double hl_result_stage_input(const hl_workspace *workspace, size_t stage);  /* W */
HL_EXPORT double hl_result_stage_output(const hl_workspace *workspace, size_t stage); /* W */
HL_EXPORT size_t hl_result_quantities(const hl_workspace *workspace, size_t stage);
HL_EXPORT const hl_quantity *hl_result_quantity(const hl_workspace *workspace, size_t stage, size_t index);
HL_EXPORT double hl_result_port_voltage(const hl_workspace *workspace, size_t port);
HL_EXPORT double hl_result_port_current(const hl_workspace *workspace, size_t port);
HL_EXPORT double hl_result_node_temperature(const hl_workspace *workspace, size_t node); /* K */
HL_EXPORT double hl_result_node_heat(const hl_workspace *workspace, size_t node);        /* W put in */
/* K: the hottest that is known of the case, see hl_design_case_hottest; NaN without one. */
HL_EXPORT double hl_result_case_hottest(const hl_workspace *workspace);
/* With a box whose heat field was solved: mean, hottest spot and heat of a face, and its patches; false, 0
 * otherwise. */
HL_EXPORT bool hl_result_face(const hl_workspace *workspace, hl_face face, hl_field_face *out);
HL_EXPORT size_t hl_result_patches(const hl_workspace *workspace);
HL_EXPORT void hl_result_patch(const hl_workspace *workspace, size_t index, hl_field_patch *out);
/* By which faces the heat of each part leaves: watts[item][face], [items] x [HL_FACES], where the box is a
 * condensed field; what a link by hand takes straight from a part is left out.  Each part's heat is shared
 * out as one more watt in it would be (hl_field_shares).  heat[item] is the sum over the faces; NULL: not
 * wanted.  false: no field, or nothing solved. */
HL_EXPORT bool hl_result_leaves_by(const hl_workspace *workspace, double heat[], double watts[]);
/* The node that is a face's mean where the box is a condensed field; -1: there is no such node. */
HL_EXPORT int hl_design_face_node(const hl_design *design, hl_face face);
HL_EXPORT const hl_surroundings *hl_result_surroundings(const hl_workspace *workspace);

typedef struct hl_headroom {
    hl_limit limit;
    double used; /* value / rated; of a part's or node's temperature: rise / allowed rise, from ambient */
} hl_headroom;
/* Limits of item i, the temperature limit first where one is known; at most `room`. */
HL_EXPORT size_t hl_result_headroom(const hl_workspace *workspace, size_t item, hl_headroom headroom[],
                                    size_t room);
/* The bound of a stage itself, such as its duty ratio or the voltage at a pulled plug, which no policy of
 * derating moves: 0 or 1 of them. */
HL_EXPORT size_t hl_result_stage_headroom(const hl_workspace *workspace, size_t stage, hl_headroom headroom[],
                                          size_t room);
/* All that has limits: the items, then the nodes (limits.h), then the stages, by one index. */
HL_EXPORT size_t hl_design_holders(const hl_design *design);
HL_EXPORT const char *hl_design_holder_name(const hl_design *design, size_t holder);
HL_EXPORT size_t hl_result_holder_headroom(const hl_workspace *workspace, size_t holder,
                                           hl_headroom headroom[], size_t room);
enum { HL_HOLDER_LIMITS_MAX = 2 * HL_LIMITS_MAX }; /* room enough for any of them */
/* What estimates leave open at a solved point: standard deviations, and their share (0..1) of the variance
 * that all bands make.  Bands of the parts' values at the waveforms of this point (`spread` follows those
 * too); a figure stated without a band counts with 5 %. */
typedef struct hl_reliance {
    double loss, temperature;             /* W, K (NaN with a field); of the whole: the mean of all parts */
    double loss_share, temperature_share; /* 1 */
} hl_reliance;
/* items[hl_design_items], total may be NULL.  HL_NO_MEMORY, or HL_OK (all zero when not solved). */
HL_EXPORT hl_status hl_result_reliance(hl_workspace *workspace, hl_reliance items[], hl_reliance *total);
/* Warnings of this point, in words: tables left, fits left, missing thermal description. */
HL_EXPORT void hl_result_warnings(const hl_workspace *workspace, hl_diagnostics *diagnostics);
/* A rms of harmonics 1..n of the current that the mains supply, rms[k - 1] of harmonic k; all zero on dc and
 * when not solved.  HL_NO_MEMORY, or HL_OK. */
HL_EXPORT hl_status hl_result_mains_harmonics(const hl_workspace *workspace, size_t n, double rms[]);

#ifdef __cplusplus
}
#endif
#endif
