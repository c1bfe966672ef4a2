/* four_switch_legs.h - the two legs of a four-switch converter as ways for the inductor current.
 *
 * The input leg joins the inductor to the input (high) or ground (low), the output leg to the output (high)
 * or ground (low). With both switches of a leg off the current finds a diode: a positive one (towards the
 * output) rises out of ground at the input leg and into the output at the output leg; a negative one goes
 * back into the input, out of ground. docs/theory/buck.md */
#ifndef FOUR_SWITCH_LEGS_H
#define FOUR_SWITCH_LEGS_H

#include "switched_stage.h"

enum {
    INPUT_HIGH,
    INPUT_LOW,
    OUTPUT_LOW,
    OUTPUT_HIGH,
    LEG_PARTS
};                         /* also bit numbers of inductor_path.who */
enum { BODY = LEG_PARTS }; /* body path of part k is bit BODY + k */

typedef enum leg_state { LEG_OFF, LEG_LOW, LEG_HIGH } leg_state;

typedef struct four_legs {
    switched_stage is;
    hl_terminal part[LEG_PARTS];
    bool diode[LEG_PARTS]; /* the part is a diode: it conducts one way whatever the gates do */
    double dead;
    bool forced;
} four_legs;

/* Add a part to a path: its channel (or diode), or its body. `sign` of the current. */
static inline void pass(const four_legs *b, int part, bool body, double sign, inductor_path *path)
{
    const hl_terminal *t = &b->part[part];
    bool own = !body || b->diode[part];
    path->resistance += own ? t->resistance : t->reverse_resistance;
    path->source -= sign * (own ? t->voltage : t->reverse_voltage);
    path->who |= own ? 1u << part : 1u << (BODY + part);
}

static inline inductor_path way_through(const four_legs *b, leg_state input, leg_state output, double sign)
{
    inductor_path path = {0.0, b->is.winding + b->is.sense, false, 0};
    bool from_input = input == LEG_HIGH || (input == LEG_OFF && sign < 0.0);
    bool to_output = output == LEG_HIGH || (output == LEG_OFF && sign > 0.0);
    if (from_input) path.source += b->is.input;
    path.feeds = to_output;
    pass(b, from_input ? INPUT_HIGH : INPUT_LOW, input == LEG_OFF, sign, &path);
    pass(b, to_output ? OUTPUT_HIGH : OUTPUT_LOW, output == LEG_OFF, sign, &path);
    return path;
}

/* One gate state. A low input switch and a high output switch let the current reverse only in forced mode,
 * and never when they are diodes. */
static inline gate_state legs_at(const four_legs *b, leg_state input, leg_state output, double base,
                                 double rate)
{
    bool one_way_input = input == LEG_LOW && (!b->forced || b->diode[INPUT_LOW]);
    bool one_way_output = output == LEG_HIGH && (!b->forced || b->diode[OUTPUT_HIGH]);
    leg_state back_input = one_way_input ? LEG_OFF : input, back_output = one_way_output ? LEG_OFF : output;
    bool channel = input != LEG_OFF && output != LEG_OFF && !one_way_input && !one_way_output;
    return (gate_state){way_through(b, input, output, 1.0), way_through(b, back_input, back_output, -1.0),
                        channel, base, rate};
}

#endif
