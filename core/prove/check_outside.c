/* check_outside.c - a stage asked for the impossible, with too little scratch, or with a stale memory. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "prove/checks.h"
#include "prove/point.h"

/* Beyond 1e30 the squares and products of any formula leave what a number can hold. */
static const double bad[] = {NAN, INFINITY, -INFINITY, 0.0, -1.0, -1e3, 1e9, 1e30, 1e-30};

/* Put one bad number somewhere among all that a stage reads. */
static void spoil(point *p, chance *luck)
{
    double number = bad[chance_below(luck, sizeof bad / sizeof *bad)];
    hl_stage_input *in = &p->in;
    double *places[] = {&in->input_voltage,      &in->input_frequency, &in->output_voltage,
                        &in->output_capacitance, &in->output_esr,      &in->extra_loss,
                        &in->load.voltage,       &in->load.current,    &in->load.power,
                        &in->input_capacitance};
    size_t n = sizeof places / sizeof *places, at = chance_below(luck, 2 * n + 6);
    size_t slot = chance_below(luck, HL_SLOTS_MAX);
    for (size_t s = 0; s < HL_SLOTS_MAX && !in->slot[slot].count; s++) slot = (slot + 1) % HL_SLOTS_MAX;
    hl_terminal *part = &p->part[slot];
    double *figures[] = {&part->resistance,           &part->voltage,     &part->reverse_voltage,
                         &part->inductance,           &part->leakage,     &part->capacitance,
                         &part->output_charge,        &part->turns_ratio, &part->reverse_resistance,
                         &part->winding_resistance[0]};
    if (at < n)
        *places[at] = number;
    else if (at < 2 * n)
        *figures[chance_below(luck, sizeof figures / sizeof *figures)] = number;
    else if (at < 2 * n + 4 && p->drawn.model->n_parameters)
        drawn_values_put(&p->drawn, chance_below(luck, p->drawn.model->n_parameters), number);
    else
        in->slot[slot].temperature = number;
}

bool check_outside(trial *t)
{
    const int tries = trial_count(t, 1600);
    size_t solved = 0;
    char text[256];
    point p;
    if (!point_create(t, &p)) return false;
    bool good = true;
    for (int i = 0; good && i < tries; i++) {
        good = point_draw(t, &p, i % 4 ? POINT_SENSIBLE : POINT_ANYWHERE);
        if (!good) break;
        trial_beat(t);
        spoil(&p, &t->luck);
        if (chance_of(&t->luck, 0.3)) spoil(&p, &t->luck);
        if (!point_prepare(t, &p)) continue;
        hl_stage_status status = point_solve(t, &p);
        if (status == HL_STAGE_SOLVED) {
            solved++;
            const char *fault = point_fault(&p, t->model->stage, true, text, sizeof text);
            if (fault) good = trial_fail(t, "solved, but %s; what cannot be worked out is infeasible", fault);
        } else if (status == HL_STAGE_INFEASIBLE && !p.out.reason.text[0]) {
            good = trial_fail(t, "solve() says infeasible without a reason");
        }
    }
    if (good) trial_pass(t, "%d points with numbers out of any range, %zu solved", tries, solved);
    point_destroy(&p);
    return good;
}

/* The largest difference between two answers, relative; *what names it. */
static double apart(const hl_stage_output *a, const hl_stage_output *b, const char **what)
{
    double worst = 0.0, scale = fabs(a->input.power) + fabs(a->circuit_loss);
    const struct {
        const char *name;
        double one, other, scale;
    } figures[] = {{"input power", a->input.power, b->input.power, scale},
                   {"input current", a->input.current, b->input.current, fabs(a->input.current)},
                   {"output voltage", a->output.voltage, b->output.voltage, fabs(a->output.voltage)},
                   {"circuit loss", a->circuit_loss, b->circuit_loss, scale}};
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++) {
        double difference = fabs(figures[i].one - figures[i].other) / (figures[i].scale + 1e-300);
        if (figures[i].one != figures[i].other && !(difference <= worst)) {
            worst = difference;
            *what = figures[i].name;
        }
    }
    return worst;
}

/* Other settings in between, then the first again: from memory it must say the same as at first. */
bool check_warm_start(trial *t)
{
    const int tries = trial_count(t, 600), wanted = trial_count(t, 150);
    int solved = 0;
    point p;
    if (!t->model->stage->memory_size) return trial_pass(t, "keeps nothing between calls");
    if (!point_create(t, &p)) return false;
    bool good = true;
    for (int i = 0; good && i < tries && solved < wanted; i++) {
        good = point_draw(t, &p, POINT_SENSIBLE);
        if (!good || point_solve(t, &p) != HL_STAGE_SOLVED) continue;
        hl_stage_output cold = p.out;
        double current = p.in.load.current, power = p.in.load.power, voltage = p.in.input_voltage;
        const char *what = "";
        trial_beat(t);
        double by = chance_of(&t->luck, 0.5) ? 0.5 : 1.02;
        p.in.load.current *= by;
        p.in.load.power *= by;
        if (chance_of(&t->luck, 0.5)) p.in.input_voltage *= 1.05;
        point_solve(t, &p);
        p.in.load.current = current;
        p.in.load.power = power;
        p.in.input_voltage = voltage;
        hl_stage_status status = point_solve(t, &p);
        solved++;
        if (status != HL_STAGE_SOLVED)
            good = trial_fail(
                t, "a point that solves cold does not solve from the memory of a neighbour: %.200s",
                p.out.reason.text);
        else if (!(apart(&cold, &p.out, &what) <= 1e-9))
            good =
                trial_fail(t,
                           "%s differs by %.3g between a cold start and one from the memory of a neighbour "
                           "(input power %.12g W and %.12g W); 1e-9 is wanted",
                           what, apart(&cold, &p.out, &what), cold.input.power, p.out.input.power);
    }
    if (good) trial_pass(t, "%d points, cold and from a neighbour's memory within 1e-9", solved);
    point_destroy(&p);
    return good;
}

static bool within_scratch(trial *t, point *p, size_t size)
{
    if (!point_give_scratch(p, size)) return trial_fail(t, "memory ran out");
    point_solve(t, p);
    if (!guarded_breach(&p->room) && p->scratch.used <= p->scratch.size) return true;
    return trial_fail(t,
                      "solve() writes outside a scratch of %zu bytes; when hl_scratch_take() returns NULL, "
                      "return HL_STAGE_NO_MEMORY",
                      size);
}

bool check_scratch(trial *t)
{
    const int tries = trial_count(t, 300);
    size_t most = 0, declared = t->model->stage->scratch_size;
    point p;
    if (!point_create(t, &p)) return false;
    bool good = true;
    for (int i = 0; good && i < tries; i++) {
        good = point_draw(t, &p, i % 3 ? POINT_SENSIBLE : POINT_ANYWHERE);
        if (!good) break;
        trial_beat(t);
        good = within_scratch(t, &p, declared);
        if (p.scratch.used > most) most = p.scratch.used;
        if (good) good = within_scratch(t, &p, chance_below(&t->luck, declared + 1) & ~(size_t)15);
        if (good && i % 10 == 0) good = within_scratch(t, &p, 0);
    }
    if (good) trial_pass(t, "at most %zu of %zu bytes used; less is refused without a write", most, declared);
    point_destroy(&p);
    return good;
}
