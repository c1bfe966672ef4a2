/* check_ladder_figures.c - transient impedances as ladders, and fits of these to curves, give the figures of
 * before. */
#include <math.h>
#include <stdio.h>

#include "heatledger/heatledger.h"
#include "kept_figures.h"
#include "story.h"

/* --------------------------------------------------------------- ladders -- */

enum { LADDERS = 8 }; /* to a line */

static void say_ladder(figure_sheet *sheet, const char *name, const hl_ladder *ladder)
{
    for (size_t i = 0; i < ladder->n; i++) {
        figure_sheet_put(sheet, name, ladder->resistance[i]);
        figure_sheet_put(sheet, name, ladder->capacity[i]);
    }
}

static void ladder(void *context, figure_hair *hair, figure_sheet *sheet)
{
    lottery luck = {.state = figure_seed("ladder", *(size_t *)context)};
    hl_ladder foster = {.n = 1 + lottery_below(&luck, 5)}, other, again;
    double time[9], impedance[9], worst;
    for (size_t i = 0; i < foster.n; i++) {
        foster.resistance[i] = figure_hair_beside(hair, lottery_scale(&luck, 0.05, 5));
        foster.capacity[i] = lottery_scale(&luck, 0.5, 2) * pow(8, (double)i) * 1e-3 / foster.resistance[i];
    }
    for (int k = 0; k < 9; k++) {
        time[k] = 2e-4 * pow(5, k);
        impedance[k] = hl_foster_step(&foster, time[k]);
        figure_sheet_put(sheet, "step", impedance[k]);
        figure_sheet_put(sheet, "train", hl_foster_train(&foster, time[k], 0.1 * (k + 1)));
        figure_sheet_put(sheet, "valley", hl_foster_valley(&foster, time[k], 0.1 * (k + 1)));
    }
    figure_sheet_put(sheet, "mean", hl_foster_mean(&foster, 0.35));
    ck_assert_int_eq(hl_foster_to_cauer(&foster, &other), HL_OK);
    say_ladder(sheet, "cauer", &other);
    ck_assert_int_eq(hl_cauer_to_foster(&other, &again), HL_OK);
    say_ladder(sheet, "foster", &again);
    if (hl_foster_fit(9, time, impedance, 3, &again, &worst) != HL_OK) return;
    figure_sheet_put_of(sheet, "worst", worst, 1e-2);
    figure_sheet_put(sheet, "fitted", hl_foster_step(&again, 0.3));
    figure_sheet_put(sheet, "fitted", hl_foster_step(&again, 0.003));
}

START_TEST(ladders_keep_their_figures)
{
    kept_figures_numbered("ladders", "transient impedances as ladders", "ladder", 12, ladder);
}
END_TEST

/* Fits with fewer stages, as many and more than the curve has; of curves from smooth ladders and of ones that
 * no ladder of so few stages goes through. */
static void fits(void *context, figure_hair *hair, figure_sheet *sheet)
{
    size_t number = *(size_t *)context;
    lottery luck = {.state = figure_seed("fit", number)};
    for (int round = 0; round < LADDERS; round++) {
        hl_ladder foster = {.n = 1 + lottery_below(&luck, 8)}, cauer, again;
        double time[12], impedance[12], worst = 0, longest = 0;
        size_t points = 3 + lottery_below(&luck, 10), stages = 1 + number % 5;
        for (size_t i = 0; i < foster.n; i++) {
            foster.resistance[i] = figure_hair_beside(hair, lottery_scale(&luck, 0.03, 5));
            foster.capacity[i] =
                lottery_scale(&luck, 0.5, 2) * pow(5, (double)i) * 1e-4 / foster.resistance[i];
            longest = fmax(longest, foster.resistance[i] * foster.capacity[i]);
        }
        for (size_t k = 0; k < points; k++) {
            time[k] = 1e-5 * pow(3 * longest / 1e-5, (double)k / (double)(points - 1));
            impedance[k] = hl_foster_step(&foster, time[k]);
        }
        ck_assert_int_eq(hl_foster_to_cauer(&foster, &cauer), HL_OK);
        say_ladder(sheet, "cauer", &cauer);
        ck_assert_int_eq(hl_cauer_to_foster(&cauer, &again), HL_OK);
        say_ladder(sheet, "foster", &again);
        ck_assert_int_eq(hl_foster_fit(points, time, impedance, stages, &again, &worst), HL_OK);
        figure_sheet_put(sheet, "stages", (double)again.n);
        figure_sheet_put_of(sheet, "worst", worst, 1e-2);
        for (size_t k = 0; k < points; k++)
            figure_sheet_put(sheet, "fitted", hl_foster_step(&again, 1.3 * time[k]));
    }
}

START_TEST(fits_keep_their_figures)
{
    kept_figures_numbered("fits", "ladders fitted to curves", "fit", 10, fits);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, ladders_keep_their_figures);
    tcase_add_test(tests, fits_keep_their_figures);
}

int main(void)
{
    return story_main("ladder figures", fill);
}
