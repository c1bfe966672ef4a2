/* check_prepare.c - does a model accept what its own table calls plausible, and refuse in words? */
#include <math.h>
#include <string.h>

#include "prove/checks.h"
#include "prove/part.h"

static const char *const mode_names[DRAW_MODES] = {
    "only the required values",    "every value",         "some of the values", "every value at its low end",
    "every value at its high end", "values at either end"};

/* A sentence that ends within its room. */
static bool refusal_is_said(trial *t, const part *p)
{
    if (!memchr(p->reason.text, 0, sizeof p->reason.text))
        return trial_fail(t, "prepare() refuses with a reason that does not end within %zu bytes",
                          sizeof p->reason.text);
    if (!p->reason.text[0])
        return trial_fail(t, "prepare() returns false without a reason; say which value is wrong and why");
    return true;
}

/* Corners may contradict each other, so refusing there is no fault; refusing everything is. */
bool check_prepare(trial *t)
{
    const int tries = trial_count(t, 300);
    size_t accepted[DRAW_MODES] = {0}, all = 0, refused = 0;
    part p;
    if (!part_create(t, &p)) return false;
    bool good = true;
    for (int mode = 0; good && mode < DRAW_MODES; mode++) {
        for (int i = 0; good && i < tries; i++) {
            if (i % 20 == 0) trial_beat(t);
            drawn_values_draw(&p.drawn, &t->luck, (draw_mode)mode);
            prepared how = part_prepare(t, &p);
            good = how != BROKEN && (how == PREPARED || refusal_is_said(t, &p));
            accepted[mode] += how == PREPARED;
            refused += how == REFUSED;
            all++;
        }
    }
    if (good && accepted[DRAW_REQUIRED] + accepted[DRAW_SOME] + accepted[DRAW_ALL] == 0) {
        good = part_draw(t, &p, DRAW_REQUIRED); /* a longer try, whose failure quotes the reason */
    }
    if (good)
        trial_pass(t, "%zu parts, %zu of them refused with a reason; %s: %zu of %d accepted", all, refused,
                   mode_names[DRAW_REQUIRED], accepted[DRAW_REQUIRED], tries);
    part_destroy(&p);
    return good;
}

static bool all_calls_return(trial *t, part *p, load *l)
{
    hl_loss loss;
    hl_terminal terminal;
    hl_limit limits[HL_LIMITS_MAX];
    double real, imaginary;
    load_draw(l, &t->luck, t->model->device->family, chance_below(&t->luck, 3), LOAD_SPARSE);
    part_loss(t, p, &l->stress, 340.0, &loss);
    part_present(t, p, 340.0, l->stress.voltage_dc, &terminal);
    if (part_limits(t, p, &l->stress, 340.0, limits) > HL_LIMITS_MAX)
        return trial_fail(t, "limits() returns more than %d limits", (int)HL_LIMITS_MAX);
    if (t->model->device->impedance && t->model->device->family == HL_FAMILY_CAPACITOR)
        part_impedance(t, p, 340.0, 0.0, 1e5, &real, &imaginary);
    const char *kind; /* of_kind too: its answer is the author's to know */
    for (size_t i = 0; (kind = hl_device_kind(t->model->device, i)) != NULL; i++)
        (void)hl_device_of_kind(t->model, p->drawn.values, kind);
    return true;
}

/* The host checks ranges, but a model's own arithmetic (or another host) may hand it anything. A required
 * value that is not a number must be refused, since no loss could come of it; nothing may crash or hang. */
bool check_bad_values(trial *t)
{
    static const double bad[] = {NAN, INFINITY, -INFINITY, -1.0, 0.0, 1e300, -1e300, 1e-300};
    load l; /* of this child alone */
    size_t tried = 0, refused = 0;
    part p;
    if (!part_create(t, &p)) return false;
    bool good = true;
    for (size_t i = 0; good && i < t->model->n_parameters; i++) {
        const hl_parameter *parameter = hl_model_parameter(t->model, i);
        trial_beat(t);
        for (size_t b = 0; good && b < sizeof bad / sizeof *bad; b++) {
            if (!part_draw(t, &p, DRAW_REQUIRED)) {
                good = false;
                break;
            }
            drawn_values_put(&p.drawn, i, bad[b]);
            prepared how = part_prepare(t, &p);
            tried++;
            refused += how == REFUSED;
            good = how != BROKEN && (how == PREPARED || refusal_is_said(t, &p));
            bool number = parameter->kind == HL_NUMBER && parameter->flags & HL_REQUIRED;
            if (good && how == PREPARED && number && isnan(bad[b]))
                good = trial_fail(t,
                                  "prepare() accepts a %s that is not a number; test a range as "
                                  "!(x >= low && x <= high), so that NaN is caught",
                                  parameter->name);
            if (good && how == PREPARED) good = all_calls_return(t, &p, &l);
        }
    }
    if (good) trial_pass(t, "%zu values out of any range, %zu refused with a reason", tried, refused);
    part_destroy(&p);
    return good;
}
