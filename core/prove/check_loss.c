/* check_loss.c - losses that a ledger can take: finite, not negative, none without stress. */
#include <math.h>

#include "heatledger/catalogue.h"
#include "prove/checks.h"
#include "prove/part.h"

static const double coldest = 233.15, hottest = 473.15; /* K */

static bool ledger_takes(trial *t, const hl_loss *loss)
{
    for (int m = 0; m < HL_MECHANISMS; m++) {
        const char *name = hl_mechanism_name((hl_mechanism)m);
        if (!isfinite(loss->watts[m]))
            return trial_fail(t, "%s loss is %g W; a finite figure is wanted", name, loss->watts[m]);
        if (loss->watts[m] < 0.0)
            return trial_fail(t, "%s loss is %.9g W; a loss is never negative", name, loss->watts[m]);
    }
    if (!isfinite(loss->slope))
        return trial_fail(t, "dP/dT is %g W/K; a finite figure is wanted", loss->slope);
    return true;
}

bool check_losses(trial *t)
{
    enum { LOADS = 12 };
    const int parts = trial_count(t, 60);
    load l;
    size_t points = 0;
    part p;
    if (!part_create(t, &p)) return false;
    bool good = true;
    for (int i = 0; good && i < parts; i++) {
        good = part_draw(t, &p, (draw_mode)(i % 3));
        for (int k = 0; good && k < LOADS; k++) {
            size_t cycles = k % 3 == 0   ? LOAD_CYCLES
                            : k % 3 == 1 ? 1
                                         : chance_below(&t->luck, LOAD_CYCLES + 1);
            hl_loss loss;
            trial_beat(t);
            load_draw(&l, &t->luck, t->model->device->family, cycles, (load_kind)(k % LOAD_KINDS));
            part_loss(t, &p, &l.stress,
                      k == 0   ? hottest
                      : k == 1 ? coldest
                               : chance_between(&t->luck, coldest, hottest),
                      &loss);
            good = ledger_takes(t, &loss);
            points++;
        }
    }
    if (good)
        trial_pass(t, "%zu points of %d parts, -40 to 200 degC, 0 to %d cycles", points, parts,
                   (int)LOAD_CYCLES);
    part_destroy(&p);
    return good;
}

/* Gate drive is the one loss that frequency alone makes, so for a switch the frequency is zero as well. */
bool check_zero_stress(trial *t)
{
    const int parts = trial_count(t, 40);
    load l;
    static const size_t cycles[] = {0, 1, LOAD_CYCLES};
    part p;
    if (!part_create(t, &p)) return false;
    bool good = true;
    for (int i = 0; good && i < parts; i++) {
        good = part_draw(t, &p, (draw_mode)(i % 3));
        for (size_t k = 0; good && k < sizeof cycles / sizeof *cycles; k++) {
            hl_loss loss;
            trial_beat(t);
            load_nothing(&l, cycles[k]);
            for (size_t c = 0; c < cycles[k] && t->model->device->family != HL_FAMILY_SWITCH; c++)
                l.array[1][c] = 1e5; /* Hz */
            part_loss(t, &p, &l.stress, chance_between(&t->luck, coldest, hottest), &loss);
            for (int m = 0; good && m < HL_MECHANISMS; m++)
                if (!(loss.watts[m] == 0.0))
                    good = trial_fail(t, "%s loss is %.9g W at no stress at all; 0 W is wanted",
                                      hl_mechanism_name((hl_mechanism)m), loss.watts[m]);
            if (good && !(loss.slope == 0.0))
                good = trial_fail(t, "dP/dT is %.9g W/K at no stress at all; 0 is wanted", loss.slope);
        }
    }
    if (good) trial_pass(t, "%d parts, 0, 1 and %d cycles", parts, (int)LOAD_CYCLES);
    part_destroy(&p);
    return good;
}
