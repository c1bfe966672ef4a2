/* check_stage.c - a stage's contract at points that solve, its sentences at those that do not. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "prove/checks.h"
#include "prove/point.h"

/* How close the books must close, against the power that passes or, in a stage that carries next to none,
 * a ten-thousandth of the power that circulates. */
static const double balance = 1e-9;

bool check_stage_values(trial *t)
{
    const int tries = trial_count(t, 300);
    size_t refused = 0;
    point p;
    if (!point_create(t, &p)) return false;
    bool good = true;
    for (int mode = 0; good && mode < DRAW_MODES; mode++)
        for (int i = 0; good && i < tries; i++) {
            if (i % 20 == 0) trial_beat(t);
            drawn_values_draw(&p.drawn, &t->luck, (draw_mode)mode);
            if (point_prepare(t, &p)) continue;
            refused++;
            if (!memchr(p.reason.text, 0, sizeof p.reason.text) || !p.reason.text[0])
                good = trial_fail(
                    t, "prepare() returns false without a reason; say which value is wrong and why");
        }
    if (good) good = point_draw(t, &p, POINT_SENSIBLE);
    if (good) trial_pass(t, "%d sets of values, %zu refused with a reason", tries * DRAW_MODES, refused);
    point_destroy(&p);
    return good;
}

static bool books_close(trial *t, const point *p)
{
    const hl_stage_output *out = &p->out;
    double out_power = t->model->stage->terminal ? 0.0 : out->output.power;
    double off = out->input.power - out_power - out->circuit_loss - p->in.extra_loss;
    double passing = fmax(fmax(fabs(out->input.power), fabs(out_power)), fabs(out->circuit_loss));
    double circulating = 1e-4 * (fabs(p->in.input_voltage * out->input.current_peak) +
                                 fabs(out->output.voltage * out->output.current_peak));
    if (fabs(off) <= balance * (passing + circulating)) return true;
    return trial_fail(t,
                      "the books do not close: input %.12g W, but output %.12g W + circuit_loss %.12g W + "
                      "extra_loss %.12g W = %.12g W, off by %.3g of the input; 1e-9 is wanted",
                      out->input.power, out_power, out->circuit_loss, p->in.extra_loss,
                      out->input.power - off, off / passing);
}

/* own_loss is a part of circuit_loss. */
static bool shares_fit(trial *t, const point *p)
{
    double own = p->out.own_loss, all = p->out.circuit_loss;
    if (own <= all + balance * (fabs(all) + fabs(p->out.input.power))) return true;
    return trial_fail(t, "own_loss %.9g W is more than circuit_loss %.9g W, of which it is a part", own, all);
}

bool check_books(trial *t)
{
    const int tries = trial_count(t, 1500), wanted = trial_count(t, 300), least = trial_count(t, 10);
    int tried = 0, solved = 0;
    char text[256] = "";
    hl_reason last = {""};
    point p;
    if (!point_create(t, &p)) return false;
    bool good = true;
    while (good && tried < tries && solved < wanted) {
        good = point_draw(t, &p, POINT_SENSIBLE);
        if (!good) break;
        trial_beat(t);
        tried++;
        hl_stage_status status = point_solve(t, &p);
        if (status == HL_STAGE_INFEASIBLE) last = p.out.reason;
        if (status != HL_STAGE_SOLVED) continue;
        solved++;
        const char *fault = point_fault(&p, t->model->stage, false, text, sizeof text);
        good = fault ? trial_fail(t, "solved, but %s", fault) : books_close(t, &p) && shares_fit(t, &p);
    }
    if (good && solved < least)
        good = trial_fail(t,
                          "only %d of %d sensible points were solved, so little can be said; the last "
                          "reason: %.*s",
                          solved, tried, (int)sizeof last.text - 1, last.text);
    if (good) trial_pass(t, "%d of %d random points solved, all within 1e-9", solved, tried);
    point_destroy(&p);
    return good;
}

/* With a number in it, or with the parameter that has none yet. */
static bool tells_enough(const hl_model *model, const char *text)
{
    for (const char *c = text; *c; c++)
        if (isdigit((unsigned char)*c)) return true;
    for (size_t i = 0; i < model->n_parameters; i++)
        if (strstr(text, hl_model_parameter(model, i)->name)) return true;
    return false;
}

static bool reason_said(trial *t, const point *p, hl_stage_status status)
{
    const hl_reason *reason = &p->out.reason;
    if (status == HL_STAGE_NO_MEMORY)
        return trial_fail(
            t, "solve() runs out of scratch inside its plausible ranges; scratch_size %zu is too small",
            t->model->stage->scratch_size);
    if (status != HL_STAGE_INFEASIBLE)
        return trial_fail(t, "solve() returns %d; HL_STAGE_SOLVED, _INFEASIBLE or _NO_MEMORY is meant",
                          (int)status);
    if (!memchr(reason->text, 0, sizeof reason->text))
        return trial_fail(t, "solve() gives a reason that does not end within %zu bytes",
                          sizeof reason->text);
    if (!reason->text[0])
        return trial_fail(t,
                          "solve() says infeasible without a reason; a sentence with the numbers is wanted");
    if (!tells_enough(t->model, reason->text))
        return trial_fail(
            t,
            "solve() says infeasible for the reason '%s', which has no number in it and names no "
            "parameter to state",
            reason->text);
    return true;
}

/* Where a stage cannot deliver it is asked to: far too little input, far too much load, any values. */
bool check_reasons(trial *t)
{
    const int tries = trial_count(t, 900);
    static const double strain[] = {1.0, 1e-3, 0.1, 10.0, 1e3};
    size_t solved = 0, refused = 0;
    char text[256];
    point p;
    if (!point_create(t, &p)) return false;
    bool good = true;
    for (int i = 0; good && i < tries; i++) {
        good = point_draw(t, &p, i % 2 ? POINT_SENSIBLE : POINT_ANYWHERE);
        if (!good) break;
        trial_beat(t);
        double by = strain[(i / 2) % 5];
        p.in.input_voltage *= chance_of(&t->luck, 0.5) ? by : 1.0;
        p.in.load.current *= by;
        p.in.load.power *= by;
        hl_stage_status status = point_solve(t, &p);
        if (status != HL_STAGE_SOLVED) {
            refused++;
            good = reason_said(t, &p, status);
            continue;
        }
        solved++;
        const char *fault = point_fault(&p, t->model->stage, false, text, sizeof text);
        if (fault) good = trial_fail(t, "solved, but %s", fault);
    }
    if (good) trial_pass(t, "%zu points cannot be delivered and say why, %zu solved", refused, solved);
    point_destroy(&p);
    return good;
}
