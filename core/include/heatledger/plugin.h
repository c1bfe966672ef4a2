/* plugin.h - the whole interface between heatledger and a device or stage model.
 *
 * A plugin is one shared object that exports one data symbol, `hl_plugin_table`
 * (use HL_EXPORT).  The table lists models; a model is a *device* (a part that
 * turns a stress and a temperature into watts) or a *stage* (a circuit that
 * turns terminal conditions into the stress of its parts).
 *
 * Rules that hold for every function a plugin provides:
 *   - units are SI, temperatures are kelvin, unless a name ends in `_c`;
 *   - no global or static mutable data: any function may run in any thread;
 *   - nothing is allocated: the host brings state, scratch and all that is filled;
 *   - pointers handed in are valid during the call only, except the values and
 *     state of a part, which live as long as the part does.
 *
 * ABI rules: struct_size and abi stand first and never move.  Structures grow
 * only at their end and arrays of structures carry their element size, so a
 * plugin built against an older header keeps loading.  HL_PLUGIN_ABI changes
 * only when an old plugin can no longer be served; docs/abi.md has the rules.
 *
 * C11, no dependency.  Part of the public interface: docs/tutorial-device.md
 * writes a complete plugin with it in ten minutes. */
#ifndef HEATLEDGER_PLUGIN_H
#define HEATLEDGER_PLUGIN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define HL_PLUGIN_ABI    1u
#define HL_PLUGIN_SYMBOL "hl_plugin_table"
#define HL_EXPORT        __attribute__((visibility("default")))

/* Whether a structure handed over reaches to the end of `member`. That of an older host ends before what has
 * been added since the first header: such a member is neither written nor read there. */
#define HL_REACHES(structure, member)                                                                        \
    ((structure)->struct_size >=                                                                             \
     (size_t)((const char *)(&(structure)->member + 1) - (const char *)(structure)))

/* ------------------------------------------------------------ parameters -- */

typedef enum hl_parameter_kind {
    HL_NUMBER = 0,  /* one quantity */
    HL_CHOICE = 1,  /* one word out of `choices` (NULL-ended); number = its index */
    HL_CURVE = 2,   /* y over x: a `table:` in a part file; a lone number is a flat curve */
    HL_LIST = 3,    /* numbers in order, e.g. turns of each winding; in curve.y, curve.n */
    HL_CHOICES = 4, /* words in order, each out of `choices`; indices in curve.y, curve.n */
} hl_parameter_kind;

enum {
    HL_REQUIRED = 1u << 0, /* a part without it is refused */
    HL_DEFAULT = 1u << 1,  /* `fallback` is used, and marked as an estimate, when absent */
                           /* neither: optional; `given` tells whether it is there */
    HL_CONDITION = 1u << 2 /* added to either: what a test was set to, or a wish; its default has no band */
};

/* One row of a model's parameter table; the table is the model's documentation. */
typedef struct hl_parameter {
    const char *name;      /* lower case, words joined by _ */
    const char *dimension; /* unit text such as "ohm", "A", "K/W"; "1" for none */
    hl_parameter_kind kind;
    uint32_t flags;
    double fallback;            /* SI; used with HL_DEFAULT */
    double low, high;           /* plausible range, SI; low == high: not checked */
    const char *x_dimension;    /* curves: unit of x; otherwise NULL */
    const char *const *choices; /* choices: NULL-ended words; otherwise NULL */
    const char *meaning;        /* one sentence for the user */
    const char *source;         /* where an engineer finds the figure */
} hl_parameter;

typedef enum hl_origin {
    HL_ORIGIN_ABSENT = 0,
    HL_ORIGIN_ESTIMATE = 1,
    HL_ORIGIN_MARKING = 2,
    HL_ORIGIN_DATASHEET = 3,
    HL_ORIGIN_BENCH = 4,
    HL_ORIGIN_STATED = 5, /* in a script or a part file that names no origin for it */
} hl_origin;

typedef struct hl_curve {
    size_t n;        /* points; x strictly rising */
    const double *x; /* NULL for lists */
    const double *y;
    bool cubic; /* monotone cubic; otherwise straight lines */
} hl_curve;

/* What the host hands to a model for each parameter, in table order. */
typedef struct hl_value {
    double number;           /* typical value, SI; index for a choice */
    double minimum, maximum; /* band; equal to number when none is stated */
    hl_curve curve;          /* n == 0 unless the kind has one */
    hl_origin origin;        /* HL_ORIGIN_ABSENT: the part does not state it */
    bool given;              /* stated, estimated or defaulted: `number` is usable */
} hl_value;

/* ------------------------------------------------------------- waveforms -- */

/* One piece of a periodic waveform, t from 0 to duration:
 *   value(t) = offset + slope t + exp(-decay t) (cosine cos(omega t) + sine sin(omega t))
 * decay may be 0 or negative; omega may be 0.  docs/theory/waveforms.md */
typedef struct hl_segment {
    double duration; /* s, >= 0 */
    double offset, slope;
    double decay; /* 1/s */
    double omega; /* rad/s, >= 0 */
    double cosine, sine;
} hl_segment;

/* One period: n >= 0 segments in order.  n == 0 is the zero wave. */
typedef struct hl_wave {
    size_t n;
    const hl_segment *segment;
} hl_wave;

/* Closed-form figures of a wave; all return 0 for the zero wave.
 *   period   s
 *   average  mean over the period
 *   rms      root of the mean square
 *   peaks    largest and smallest value (segment ends and inner extrema)
 *   fourier  harmonic k = 1..n as peak amplitudes: value = average +
 *            sum cosine[k-1] cos(k w t) + sine[k-1] sin(k w t), w = 2 pi / period
 *   power_mean  mean of |value|^p over the period, p > 0 (Gauss-Legendre between
 *            zero crossings for curved segments; closed form for straight ones)
 *   integral_swing  peak-to-peak of the running integral (volt-seconds of a voltage)
 *   at       value at time t, 0 <= t <= period */
HL_EXPORT double hl_wave_period(const hl_wave *wave);
HL_EXPORT double hl_wave_average(const hl_wave *wave);
HL_EXPORT double hl_wave_rms(const hl_wave *wave);
HL_EXPORT void hl_wave_peaks(const hl_wave *wave, double *highest, double *lowest);
HL_EXPORT void hl_wave_fourier(const hl_wave *wave, size_t n, double cosine[], double sine[]);
HL_EXPORT double hl_wave_power_mean(const hl_wave *wave, double power);
HL_EXPORT double hl_wave_integral_swing(const hl_wave *wave);
/* Power mean, and beside it the integral's swing: both at once for less than one by one. */
HL_EXPORT double hl_wave_power_swing(const hl_wave *wave, double power, double *swing);
HL_EXPORT double hl_wave_at(const hl_wave *wave, double t);
HL_EXPORT double hl_segment_at(const hl_segment *segment, double t);
/* Mean of value^2 over the period: rms without the root, for loss = R * mean square. */
HL_EXPORT double hl_wave_mean_square(const hl_wave *wave);
/* Harmonics of several waves at once, such as the currents of a transformer's windings, or of one winding in
 * several cycles, at most HL_WINDINGS_MAX (NULL: none flows): those of wave w, as hl_wave_fourier gives them,
 * from cosine[w * stride] and sine[w * stride] on, stride >= n.  What waves of one period have in common is
 * worked out once; straight ones of any period go side by side. */
HL_EXPORT void hl_waves_fourier(const hl_wave *const wave[], size_t waves, size_t n, size_t stride,
                                double cosine[], double sine[]);
/* Squares of the amplitudes, cosine^2 + sine^2, of up to four waves (NULL: none flows), whatever their
 * periods, that are straight between at most three corners, without steps: those of wave w from square[w *
 * stride] on; and in mean[w], unless mean is NULL, the mean square of wave w. false: one of them is of
 * another kind, and nothing is written. */
HL_EXPORT bool hl_triangles(const hl_wave *const wave[], size_t waves, size_t n, size_t stride, double mean[],
                            double square[]);
/* value^exponent of n numbers above zero, four at a time, within 1e-15 (1 + |exponent ln value|) of itself
 * while between e^-600 and e^600, and held there beyond. */
HL_EXPORT void hl_powers(const double value[], const double exponent[], size_t n, double power[]);
/* The mean square of each of several waves (NULL: 0); one that is an earlier one half a period later, as the
 * windings of a centre tap carry, has the same. */
HL_EXPORT void hl_waves_mean_square(const hl_wave *const wave[], size_t waves, double square[]);

/* Curve lookup: value at x and, when slope is not NULL, dy/dx.  Outside the
 * table the end value is held and *outside (may be NULL) is set true, so that
 * nothing is extrapolated silently.  0 for an empty curve.  A monotone cubic
 * follows F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17(2), 1980. */
HL_EXPORT double hl_curve_at(const hl_curve *curve, double x, double *slope, bool *outside);
/* Integral of y from x0 to x1 (x0 <= x1), end values held outside the table. */
HL_EXPORT double hl_curve_integral(const hl_curve *curve, double x0, double x1);

/* ---------------------------------------------------------------- stress -- */

enum { HL_WINDINGS_MAX = 8 };

/* What a part must bear, as n cycles in a structure of arrays: one cycle for a
 * stage fed from dc, 12 to 32 for one that rides the mains half-wave.  The
 * weights sum to 1 and average anything over the line period in time.
 * Every array has n entries or is NULL: read it through hl_stress_at, or test
 * the pointer once before the loop.  Currents and voltages are those of ONE
 * part when several share a slot in parallel.
 * A pause, or a stretch of a cycle in which a part carries nothing and blocks
 * another voltage than at its commutation, is a cycle of its own for that part:
 * frequency and currents 0, voltage_off what it blocks then.  Means, frequency
 * and duty of what is left are those of the shortened cycle.  Of a diode whose
 * node has rung into such a stretch, frequency and charge_on are those of that
 * swing, which no current commutates.
 * Of a diode, frequency counts the commutations whose charge and recovery are
 * its own to book: fewer, or none, where turn_on_table of the switch that turns
 * it off holds them. */
typedef struct hl_stress {
    uint32_t struct_size;
    size_t n;
    const double *weight;
    const double *frequency; /* Hz, switching (or line) frequency of the cycle */
    /* switches and diodes */
    const double *current_average; /* A, forward, mean over the whole cycle */
    const double *current_rms;     /* A, through channel or diode */
    const double *current_peak;    /* A */
    const double *current_on;      /* A, flowing into the switch as it turns on */
    const double *current_off;     /* A, interrupted at turn-off; diodes: at commutation */
    const double *voltage_on;      /* V, blocked just before turn-on (residual after any soft transition) */
    const double *voltage_off;     /* V, blocked after turn-off */
    const double *reverse_average; /* A, mean current through body diode or source-drain path */
    const double *reverse_rms;     /* A */
    const double *slope_off;       /* A/s, di/dt at diode commutation */
    const double *charge_on; /* V, a swing that is charged hard: of a switch that of the opposite device,
                                through this one at turn-on; of a diode its own, when it is turned off */
    const double *duty;      /* 1, fraction of the cycle it conducts (gate on) */
    /* capacitors: lines of the ripple spectrum, weights already applied */
    size_t lines;
    const double *line_frequency;   /* Hz */
    const double *line_rms_squared; /* A^2 */
    double voltage_dc;              /* V, mean across the part (of a bridge across each of its diodes) */
    double voltage_peak;            /* V, largest |voltage| */
    /* magnetics: waves per cycle, entry k for cycle k */
    const hl_wave *flux_voltage; /* V, across winding 0 (core flux linkage = its integral) */
    size_t windings;
    const hl_wave *winding_current[HL_WINDINGS_MAX]; /* A, into the dotted ends: ampere-turns add */
    /* V s, flux linkage of winding 0 midway between its extremes: its mean where it rises and falls evenly; 0
     * when symmetric */
    double flux_bias;
    /* resistors and anything that only sees a total */
    double total_rms;     /* A, over the whole line period */
    double total_average; /* A */
    double total_peak;    /* A */
} hl_stress;

static inline double hl_stress_at(const double *array, size_t k)
{
    return array ? array[k] : 0.0;
}

/* ---------------------------------------------------------------- losses -- */

typedef enum hl_mechanism {
    HL_CONDUCTION = 0,
    HL_REVERSE_CONDUCTION,
    HL_TURN_ON,
    HL_TURN_OFF,
    HL_OUTPUT_CHARGE,
    HL_REVERSE_RECOVERY,
    HL_GATE_DRIVE,
    HL_LEAKAGE,
    HL_CORE,
    HL_WINDING_DC,
    HL_WINDING_AC,
    HL_FRINGING,
    HL_ESR,
    HL_DIELECTRIC,
    HL_BIAS,
    HL_OTHER,
    HL_MECHANISMS /* new ones are added before this, never reordered */
} hl_mechanism;

/* Filled with zeros by the host; a model adds to it. */
typedef struct hl_loss {
    uint32_t struct_size;
    double watts[HL_MECHANISMS]; /* W, one part, line-averaged */
    double slope;                /* W/K, d(sum of watts)/dT at fixed stress */
    uint32_t flags;              /* HL_OUTSIDE_... */
} hl_loss;

enum {
    HL_OUTSIDE_CURVE = 1u << 0, /* a table was read beyond its ends */
    HL_OUTSIDE_FIT = 1u << 1,   /* core fit used outside its stated range */
    HL_BIASED_CORE = 1u << 2,   /* dc bias present; the fit is for unbiased flux */
    HL_FALLBACK = 1u << 3,      /* a rougher law was used for want of data */
    HL_AC_LEFT_OUT = 1u << 4,   /* of a winding whose wire is not known only the dc loss was counted */
};

/* What the circuit sees of a part at temperature T: entries that do not apply
 * stay 0.  Stages solve their waveforms with these; whoever asks for one zeroes it and sets struct_size. */
typedef struct hl_terminal {
    uint32_t struct_size;
    double resistance;                          /* ohm: on-resistance, ESR (of winding 0), slope of a diode */
    double voltage;                             /* V: constant drop in forward direction */
    double reverse_voltage;                     /* V: drop of body diode or source-drain path */
    double reverse_resistance;                  /* ohm */
    double inductance;                          /* H: inductor; magnetizing, seen from winding 0 */
    double leakage;                             /* H: seen from winding 0 */
    double capacitance;                         /* F: capacitor; at the voltage given */
    double output_charge;                       /* C: of a switch at the voltage given */
    double output_energy;                       /* J: of a switch at the voltage given */
    double turns_ratio;                         /* winding 0 : winding 1 */
    double winding_resistance[HL_WINDINGS_MAX]; /* ohm, dc, each winding */
    double windings;                            /* number of windings, 0 when not a magnetic */
    double rated_voltage, rated_current;        /* V, A; 0 when unknown */
    double series_inductance;                   /* H: ESL of a capacitor */
    double turn_on_table; /* 1: a switch whose table of turn-on energy holds charge and recovery of what it
                           * turns off, so that a stage tells that part of none; 0: each books its own */
    double turn_on_first; /* A of one part, first current of it; below, the share that it holds goes straight
                           * to nothing */
} hl_terminal;

/* One checked limit; |value| / rated of it is used.  Rated 0: not checked.  A temperature is in degC. */
typedef struct hl_limit {
    const char *name; /* static text: "drain voltage", "junction temperature", ... */
    const char *unit; /* SI unit text */
    double value, rated;
} hl_limit;

enum { HL_LIMITS_MAX = 12 };

/* --------------------------------------------------------------- devices -- */

typedef enum hl_family {
    HL_FAMILY_SWITCH = 0,
    HL_FAMILY_DIODE,
    HL_FAMILY_CAPACITOR,
    HL_FAMILY_MAGNETIC,
    HL_FAMILY_RESISTOR,
    HL_FAMILIES
} hl_family;

/* Why a call failed: filled by the plugin, printed by the host with its place. */
typedef struct hl_reason {
    char text[256];
} hl_reason;

typedef struct hl_device {
    uint32_t struct_size;
    hl_family family;
    /* Bytes of state for one part with these values; the host provides the memory,
     * zeroed and aligned for any type.  So there is nothing to release. */
    size_t (*state_size)(const hl_value *values);
    /* Derive what the hot functions need.  Allocates nothing.
     * false: `reason` says which value is wrong and why. */
    bool (*prepare)(void *state, const hl_value *values, hl_reason *reason);
    /* What the circuit sees at `temperature` K and `voltage` V (dc bias). */
    void (*present)(const void *state, double temperature, double voltage, hl_terminal *terminal);
    /* Losses at this stress and temperature. */
    void (*loss)(const void *state, const hl_stress *stress, double temperature, hl_loss *loss);
    /* Fill at most HL_LIMITS_MAX limits, return their number. */
    size_t (*limits)(const void *state, const hl_stress *stress, double temperature, hl_limit limits[]);
    /* Impedance of a capacitor at f Hz: real and imaginary part in ohm, with dc bias `voltage`.
     * NULL for other families. */
    void (*impedance)(const void *state, double temperature, double voltage, double frequency, double *real,
                      double *imaginary);
    /* What such parts may stand as, NULL-ended: HL_KINDS("fuse").  A slot may ask for a kind (hl_slot.kinds).
     * Words in use: fuse, thermistor, varistor, x_capacitor, y_capacitor, wire, trace; new ones are lower
     * case words.  NULL: a plain part, whose kind is its family's name: "resistor". */
    const char *const *kinds;
    /* Is the part with these values of this kind, one of `kinds`?  NULL: every part is of all of them. */
    bool (*of_kind)(const hl_value *values, const char *kind);
    /* Impedance of a capacitor at n frequencies at once: real[k] and imaginary[k] are what `impedance` gives
     * at frequency[k], to 1e-12 of its magnitude, and none tells on another.  What temperature and bias do is
     * worked out once for all.  NULL: the host asks `impedance` for each. */
    void (*impedances)(const void *state, double temperature, double voltage, const double frequency[],
                       size_t n, double real[], double imaginary[]);
} hl_device;

#define HL_KINDS(...) ((const char *const[]){__VA_ARGS__, NULL})
enum { HL_KINDS_MAX = 16 };

/* ---------------------------------------------------------------- stages -- */

typedef enum hl_terminal_kind {
    HL_DC = 0,        /* voltage = mean */
    HL_AC = 1,        /* voltage = rms of a sine */
    HL_RECTIFIED = 2, /* voltage = rms of a rectified sine */
} hl_terminal_kind;

/* A slot: a place in the circuit for parts of one family (or of several, as for
 * a rectifier that may be a diode or a synchronous switch).  A slot may stand for
 * several identical positions, such as both switches of a half-bridge; each
 * position may hold several parts in parallel. */
typedef struct hl_slot {
    const char *name;   /* "switch", "boost_inductor", ... */
    uint32_t families;  /* sum of HL_FITS(family) */
    uint32_t flags;     /* HL_REQUIRED or 0; an empty optional slot is an ideal wire or absent */
    unsigned positions; /* identical positions it stands for, at least 1 */
    const char *meaning;
    /* Kinds it takes, NULL-ended, where safety or function asks for one: HL_KINDS("fuse").  A part of none of
     * them is refused.  NULL: any part of its families. */
    const char *const *kinds;
} hl_slot;

#define HL_FITS(family) (1u << (family))

/* One side of a stage.  The side's current may be described by waves per cycle
 * (switching ripple) and by one slow wave over the line period. */
typedef struct hl_side {
    double voltage;          /* V: dc mean, or rms for ac and rectified */
    double current;          /* A: dc mean, or rms for ac and rectified */
    double power;            /* W */
    double line_frequency;   /* Hz of the mains; 0 for a pure dc system */
    size_t cycles;           /* switching cycles described; 0 = no ripple */
    const double *weight;    /* [cycles] */
    const double *frequency; /* [cycles] Hz */
    const hl_wave *wave;     /* [cycles] A, current INTO the stage at its input,
                              * OUT of the stage at its output; NULL = smooth */
    hl_wave line;            /* A, over one line half period or period; n == 0 = none */
    double current_peak;     /* A, including ripple */
    double voltage_peak;     /* V */
} hl_side;

/* Named electrical result, e.g. { "switch_current_rms", "A", 1.23 }. */
typedef struct hl_quantity {
    const char *name; /* static text */
    const char *unit;
    double value;
} hl_quantity;

enum { HL_QUANTITIES_MAX = 64, HL_SLOTS_MAX = 16 };

/* Bump memory of one point: waves and arrays a stage returns live here.
 * Never freed by the plugin; the host rewinds it before each solve. */
typedef struct hl_scratch {
    unsigned char *base;
    size_t size, used;
} hl_scratch;

/* 16-byte aligned; NULL when the block is full (return HL_STAGE_NO_MEMORY). */
static inline void *hl_scratch_take(hl_scratch *scratch, size_t bytes)
{
    size_t need = (bytes + 15u) & ~(size_t)15u;
    if (need < bytes || need > scratch->size - scratch->used) return NULL;
    void *memory = scratch->base + scratch->used;
    scratch->used += need;
    return memory;
}

/* The parts in one slot, as the circuit sees them. */
typedef struct hl_slot_view {
    unsigned count;          /* parts in parallel at each position; 0 = slot empty */
    double temperature;      /* K, of these parts */
    const hl_device *device; /* NULL when empty */
    const void *state;       /* pass to device->present or device->impedance */
    double loss;             /* W, all parts of the slot, from the previous pass; 0 at first */
} hl_slot_view;

/* What a stage is asked.  Voltages and currents are those of the last pass;
 * the host repeats passes until nothing changes. */
typedef struct hl_stage_input {
    uint32_t struct_size;
    const hl_value *values; /* stage parameters, in table order */
    hl_slot_view slot[HL_SLOTS_MAX];
    double input_voltage;      /* V, offered upstream (dc mean or ac rms) */
    double input_frequency;    /* Hz of the mains; 0 for dc */
    double output_voltage;     /* V wanted, when the bus or port sets it; 0 otherwise */
    double output_capacitance; /* F on the output bus, effective; 0 = stiff */
    double output_esr;         /* ohm of that, 0 = none */
    double input_capacitance;  /* F on the input bus */
    double extra_loss;         /* W booked in this stage beyond circuit_loss; must be drawn at the input */
    hl_side load;              /* what is drawn at the output: .current, .power, ripple */
    hl_scratch *scratch;
    void *memory;        /* [memory_size] of the stage, zeroed at first and kept from pass to pass:
                          * a warm start, on which no answer depends by more than 1e-9 */
    double border_shift; /* share by which a stage is to draw in the border between two ways of running,
                          * such as valleys. 0 but where each way calls for the other, so that no point agrees
                          * with itself; the answer's note then says so */
} hl_stage_input;

typedef enum hl_stage_status {
    HL_STAGE_SOLVED = 0,
    HL_STAGE_INFEASIBLE = 1, /* reason has a sentence with the numbers */
    HL_STAGE_NO_MEMORY = 2,
} hl_stage_status;

/* What it answers.  The host zeroes it first.
 * Contract: input.power = output.power + circuit_loss + extra_loss, to 1e-9 of itself. */
typedef struct hl_stage_output {
    uint32_t struct_size;
    hl_side input;        /* voltage echoed; current, power, waves filled */
    hl_side output;       /* voltage delivered, current, power, waves filled */
    double circuit_loss;  /* W lost in resistances and drops that the waveforms include */
    double own_loss;      /* W, part of circuit_loss that belongs to no slot (booked to the stage) */
    const char *own_name; /* static text naming that, e.g. "controller" */
    hl_stress stress[HL_SLOTS_MAX]; /* of one part in each slot */
    size_t quantities;
    hl_quantity quantity[HL_QUANTITIES_MAX];
    hl_reason reason;
    double headroom_value, headroom_limit; /* of the stage itself, e.g. gain, duty; 0 = none */
    const char *headroom_name;
    const char *headroom_unit;
    double bus_circuit_loss; /* W of circuit_loss that arises in the capacitors of the output bus: the
                              * waveform holds their ESR, so the host does not load the bus with it again */
    hl_reason note; /* a solved point's caution, to be shown: an assumption the answer rests on, a bound
                     * of validity passed; empty = none */
    double
        crest_share[HL_SLOTS_MAX]; /* V of a slot's voltage_peak per V that the crest of the input bus stands
                                    * above input.voltage_peak: the host adds it to what the part must bear */
    /* Heat that arises elsewhere than in the slot that pays, as what charges and what recovers in a
     * free-wheeling part is lost in the switch that turns on.  heats[s]: 1 + the slot whose parts it warms,
     * 0: its own; heats_by[s]: by which of its losses, a sum of 1u << mechanism. */
    unsigned char heats[HL_SLOTS_MAX];
    uint32_t heats_by[HL_SLOTS_MAX];
    /* W in all parts of a slot beside what their model books: what others have stored at the node that these
     * switch, and lose in them at turn-on; or what a ring of that node has lost in these.  The host books it
     * to them as output charge; like all that the waveforms do not hold, it is in extra_loss, not in
     * circuit_loss. */
    double node_loss[HL_SLOTS_MAX];
} hl_stage_output;

typedef struct hl_stage {
    uint32_t struct_size;
    const hl_slot *slots;
    size_t n_slots, slot_size; /* slot_size = sizeof(hl_slot) */
    hl_terminal_kind input, output;
    bool regulates;      /* true: sets its output voltage itself */
    bool terminal;       /* true: no output (housekeeping, bleeder) */
    size_t memory_size;  /* bytes of warm-start memory */
    size_t scratch_size; /* bytes of scratch one solve may take */
    /* Identical positions slot s stands for, where that depends on the values
     * (two or four rectifiers); NULL: hl_slot.positions. */
    unsigned (*positions)(const hl_value *values, size_t slot);
    /* Check values against each other once; NULL when nothing to check. */
    bool (*prepare)(const hl_value *values, hl_reason *reason);
    hl_stage_status (*solve)(const hl_stage_input *in, hl_stage_output *out);
} hl_stage;

/* ----------------------------------------------------------------- table -- */

typedef struct hl_model {
    uint32_t struct_size;
    const char *name;   /* "gan_transistor": the id used in part files */
    const char *title;  /* a few words */
    const char *source; /* books and papers of the equations */
    const hl_parameter *parameters;
    size_t n_parameters, parameter_size; /* parameter_size = sizeof(hl_parameter) */
    const hl_device *device;             /* exactly one of device, stage is set */
    const hl_stage *stage;
} hl_model;

typedef struct hl_plugin {
    uint32_t struct_size;
    uint32_t abi; /* HL_PLUGIN_ABI */
    const char *name, *version, *author, *licence;
    const hl_model *const *models; /* n_models pointers */
    size_t n_models;
} hl_plugin;

/* A plugin defines exactly this, */
extern HL_EXPORT const hl_plugin hl_plugin_table;
/* and so, at the end of its file, with pointers to its models after the words about itself:
 *   HL_PLUGIN_TABLE("ferrite_bead", "1.0", "who wrote it", "MIT", &model); */
/* clang-format off */
#define HL_PLUGIN_TABLE(its_name, its_version, its_author, its_licence, ...)                                 \
    static const hl_model *const hl_plugin_models[] = {__VA_ARGS__};                                         \
    const hl_plugin hl_plugin_table = {                                                                      \
        sizeof(hl_plugin), HL_PLUGIN_ABI, its_name, its_version, its_author, its_licence, hl_plugin_models,  \
        sizeof hl_plugin_models / sizeof hl_plugin_models[0]}
/* clang-format on */

#ifdef __cplusplus
}
#endif
#endif
