/* check_field_warm.c - condensed fields in time, against time steps of a fine grid and against themselves. */
#include "heatledger/field.h"

#include "reference_field.h"
#include "story.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

typedef struct warming {
    hl_field *field;
    hl_field_warming *run;
    size_t bodies;
    double power[FIELD_BODIES], factor, growth;
    double mean[FIELD_BODIES];
    hl_field_spot hottest[FIELD_BODIES];
    hl_field_face faces[HL_FACES];
} warming;

static void make(warming *w, hl_field_box *box)
{
    memset(w, 0, sizeof *w);
    box->warm = true;
    hl_diagnostics *messages = hl_diagnostics_create();
    w->field = hl_field_create(box, messages);
    ck_assert_msg(w->field != NULL, "%s",
                  hl_diagnostics_count(messages) ? hl_diagnostics_text(messages, 0) : "no message");
    hl_diagnostics_destroy(messages);
    w->run = hl_field_warming_create(w->field);
    ck_assert_ptr_nonnull(w->run);
    w->bodies = hl_field_bodies(w->field);
    for (size_t i = 0; i < box->n_blocks; i++) w->power[i] = box->blocks[i].heat;
    w->factor = 1;
}

static void drop(warming *w)
{
    hl_field_warming_destroy(w->run);
    hl_field_destroy(w->field);
}

/* The box's own heat times a factor; with `growth` per kelvin above 25 degC. */
static void heat(void *context, double time, const double mean[], double power[], double slope[])
{
    const warming *w = context;
    (void)time;
    for (size_t i = 0; i < w->bodies; i++) {
        power[i] = w->factor * w->power[i] * (1 + w->growth * (mean[i] - 298.15));
        slope[i] = w->factor * w->power[i] * w->growth;
    }
}

static void go(warming *w, double until)
{
    ck_assert_int_eq(hl_field_warm(w->run, heat, w, until), HL_OK);
    hl_field_warm_read(w->run, w->mean, w->hottest, w->faces);
}

static double cpu(void)
{
    return (double)clock() / CLOCKS_PER_SEC;
}

static double closing(const warming *w, size_t *steps)
{
    double energy[3];
    hl_field_warm_book(w->run, energy, steps);
    double moved = fabs(energy[0]) + fabs(energy[1]) + fabs(energy[2]);
    return fabs(energy[0] - energy[1] - energy[2]) / fmax(moved, 1e-12);
}

/* -------------------------------------------------------- fine grid in time -- */

typedef struct warm_reference {
    json_t *root;
    json_t *coarse, *fine;
    reference_field steady;
} warm_reference;

static json_t *samples_of(const warm_reference *r, const char *run)
{
    return reference_at(reference_at(reference_at(r->root, "runs"), run), "samples");
}

static double steady_of(const warm_reference *r, const char *key)
{
    char name[32], full[96];
    const char *dot = strrchr(key, '.');
    snprintf(name, sizeof name, "%.*s", (int)(dot - key), key);
    if (strncmp(name, "face_", 5) == 0)
        snprintf(full, sizeof full, "faces.%s.T_%s_C", name + 5, dot + 1);
    else
        snprintf(full, sizeof full, "%s.%s.T_%s_C", strncmp(name, "board_", 6) == 0 ? "boards" : "blocks",
                 name, dot + 1);
    return reference_field_answer(&r->steady, full, "") - 273.15;
}

/* A figure as a grid without end would show it: the reference has two meshes in time, and a steady state
 * extrapolated from three.  What a mesh lacks shows within the first minute and stays, in proportion to what
 * the meshes differ by. */
static double without_mesh(const warm_reference *r, size_t k, const char *key, double *fine)
{
    size_t last = json_array_size(r->fine) - 1;
    *fine = reference_number(json_array_get(r->fine, k), key);
    double coarse = reference_number(json_array_get(r->coarse, k), key);
    double fine_end = reference_number(json_array_get(r->fine, last), key);
    double coarse_end = reference_number(json_array_get(r->coarse, last), key);
    double lacks = steady_of(r, key) - fine_end;
    if (fabs(fine_end - coarse_end) < 0.3) return *fine + lacks * (*fine - 25) / (fine_end - 25);
    return *fine + lacks * (*fine - coarse) / (fine_end - coarse_end);
}

static double figure_of(const warming *w, const char *key)
{
    const char *dot = strrchr(key, '.');
    bool mean = strcmp(dot, ".mean") == 0;
    size_t length = (size_t)(dot - key);
    for (int face = 0; face < HL_FACES; face++)
        if (strncmp(key, "face_", 5) == 0 && strncmp(key + 5, reference_face_name[face], length - 5) == 0)
            return (mean ? w->faces[face].mean : w->faces[face].hottest.temperature) - 273.15;
    for (size_t i = 0; i < w->bodies; i++) {
        const char *name = hl_field_body_name(w->field, i);
        size_t skip = strncmp(key, "board_", 6) == 0 ? 6 : 0;
        if (strlen(name) == length - skip && strncmp(key + skip, name, length - skip) == 0)
            return (mean ? w->mean[i] : w->hottest[i].temperature) - 273.15;
    }
    return NAN;
}

/* The finer mesh as it stands: means within 3 K, or what the reference states as its own error, the
 * difference between its two meshes.  Returns the distance; *own says that error. */
static double raw_distance(const warm_reference *r, const warming *w, size_t k, const char *key, double *own)
{
    double fine = reference_number(json_array_get(r->fine, k), key);
    double off = figure_of(w, key) - fine;
    *own = fabs(reference_number(json_array_get(r->coarse, k), key) - fine);
    ck_assert_msg(strstr(key, ".max") != NULL || fabs(off) <= fmax(3, *own),
                  "%s off by %.2f K of the mesh, which is off by %.2f", key, off, *own);
    return off;
}

/* One stated time: means and hottest places within 3 K. */
static void compare(const warm_reference *r, const warming *w, size_t k)
{
    json_t *one = json_array_get(r->fine, k), *value;
    const char *key, *mean_at = "", *spot_at = "";
    double mean = 0, spot = 0, raw = 0, own = 0, fine, error;
    json_object_foreach(one, key, value)
    {
        if (strcmp(key, "t_s") == 0 || strcmp(key, "fill.mean") == 0) continue;
        double off = figure_of(w, key) - without_mesh(r, k, key, &fine);
        double distance = raw_distance(r, w, k, key, &error);
        if (fabs(distance) > fabs(raw)) raw = distance, own = error;
        bool of_spot = strstr(key, ".max") != NULL;
        ck_assert_msg(fabs(off) <= 3, "%s off by %.2f K", key, off);
        if (fabs(off) > fabs(of_spot ? spot : mean))
            *(of_spot ? &spot : &mean) = off, *(of_spot ? &spot_at : &mean_at) = key;
    }
    printf("%6.0f s: means %.2f K (%s), hottest places %.2f K (%s); of the mesh %.2f K, its own error %.2f\n",
           reference_number(one, "t_s"), mean, mean_at, spot, spot_at, raw, own);
}

/* The runs over steps of load were made on the coarser mesh alone.  What it lacks of a steady state at full
 * heat, the extrapolated one less its own, it lacks in proportion to the heat of the moment: 3 K again. */
static void compare_steps(const warm_reference *r, warming *w, json_t *run, double worst[2])
{
    json_t *samples = reference_at(run, "samples"), *schedule = reference_at(run, "schedule"), *value;
    json_t *end = json_array_get(r->coarse, json_array_size(r->coarse) - 1);
    size_t step = 0, steps;
    const char *key;
    for (size_t k = 0; k < json_array_size(samples); k++) {
        json_t *one = json_array_get(samples, k);
        double time = reference_number(one, "t_s");
        for (; reference_number(json_array_get(schedule, step), "t_end_s") < time; step++) {
            w->factor = reference_number(json_array_get(schedule, step), "power_factor");
            go(w, reference_number(json_array_get(schedule, step), "t_end_s"));
        }
        w->factor = reference_number(json_array_get(schedule, step), "power_factor");
        go(w, time);
        ck_assert_double_lt(closing(w, &steps), 1e-6);
        json_object_foreach(one, key, value)
        {
            if (strcmp(key, "t_s") == 0 || strcmp(key, "fill.mean") == 0) continue;
            double lacks = w->factor * (steady_of(r, key) - reference_number(end, key));
            double off = figure_of(w, key) - (json_number_value(value) + lacks);
            double *most = &worst[strstr(key, ".max") != NULL];
            ck_assert_msg(fabs(off) <= 3, "%s at %.0f s off by %.2f K", key, time, off);
            *most = fmax(*most, fabs(off));
        }
    }
}

static void follow_steps(const warm_reference *r, warming *w)
{
    const char *const runs[] = {"load_step_50_to_100_coarse", "cycle_10min_on_off_coarse"};
    for (size_t i = 0; i < sizeof runs / sizeof runs[0]; i++) {
        json_t *run = reference_at(reference_at(r->root, "runs"), runs[i]);
        const char *start = json_string_value(reference_at(run, "start"));
        double half[FIELD_BODIES], worst[2] = {0, 0};
        for (size_t b = 0; b < w->bodies; b++) half[b] = 0.5 * w->power[b];
        if (strcmp(start, "ambient") == 0)
            ck_assert_int_eq(hl_field_warm_even(w->run, &r->steady.box.surroundings, 298.15), HL_OK);
        else
            ck_assert_int_eq(hl_field_warm_steady(w->run, &r->steady.box.surroundings, half, NULL, NULL),
                             HL_OK);
        compare_steps(r, w, run, worst);
        printf("%s: means %.2f K, hottest places %.2f K\n", runs[i], worst[0], worst[1]);
    }
}

START_TEST(warm_up_agrees_with_time_steps_on_a_fine_grid)
{
    warm_reference r = {.root = reference_open("warmup_open.json")};
    r.coarse = samples_of(&r, "warmup_coarse");
    r.fine = samples_of(&r, "warmup_fine");
    reference_field_open(&r.steady, "BX01");
    warming w;
    double begun = cpu(), made;
    make(&w, &r.steady.box);
    made = cpu() - begun;
    size_t steps;
    begun = cpu();
    for (size_t k = 0; k < json_array_size(r.fine); k++) {
        go(&w, reference_number(json_array_get(r.fine, k), "t_s"));
        compare(&r, &w, k);
        ck_assert_double_lt(closing(&w, &steps), 1e-6);
    }
    printf("set-up %.1f s, four hours in %.0f ms and %zu steps, book to %.0e\n", made, 1e3 * (cpu() - begun),
           steps, closing(&w, &steps));
    follow_steps(&r, &w);
    drop(&w);
    reference_field_close(&r.steady);
    json_decref(r.root);
}
END_TEST

/* ------------------------------------------------------------- properties -- */

static hl_field_box small_box(hl_field_block *block)
{
    *block = (hl_field_block){.name = "part",
                              .low = {0.012, 0.012, 0.004},
                              .high = {0.026, 0.026, 0.012},
                              .conductivity = {3, 3, 3},
                              .density_heat = 3e6,
                              .emissivity = 0.9,
                              .heat = 1.5,
                              .on = HL_FIELD_ANY};
    hl_field_box box = {.size = {0.04, 0.04, 0.02},
                        .shell = 0.002,
                        .shell_conductivity = 0.2,
                        .shell_density_heat = 1.4e6,
                        .shell_emissivity = 0.9,
                        .fill_conductivity = 0.027,
                        .fill_density_heat = 1200,
                        .still = true,
                        .n_blocks = 1,
                        .blocks = block,
                        .surroundings = {298.15, 101325},
                        .fineness = 0.6};
    for (int face = 0; face < HL_FACES; face++)
        box.sides[face] = (hl_field_side){HL_FIELD_NATURAL, HL_VERTICAL, 0.02, 0, 0.9, 0, 0, 0, 0};
    return box;
}

START_TEST(warm_up_ends_in_the_steady_state_and_stays_there)
{
    hl_field_block block;
    hl_field_box box = small_box(&block);
    warming w;
    make(&w, &box);
    hl_field_work *work = hl_field_work_create(w.field);
    double steady[FIELD_BODIES], energy[3];
    hl_field_spot hottest[FIELD_BODIES];
    hl_field_face faces[HL_FACES];
    ck_assert_int_eq(hl_field_solve(work, &box.surroundings, w.power, NULL, NULL, steady), HL_OK);
    hl_field_spots(work, hottest, faces);
    for (int from_steady = 0; from_steady < 2; from_steady++) {
        if (from_steady)
            ck_assert_int_eq(hl_field_warm_steady(w.run, &box.surroundings, w.power, NULL, NULL), HL_OK);
        go(&w, from_steady ? 60 : 1e5);
        ck_near(w.mean[0], steady[0], 0, 1e-5);
        ck_near(w.hottest[0].temperature, hottest[0].temperature, 0, 1e-5);
        for (int face = 0; face < HL_FACES; face++) {
            ck_near(w.faces[face].mean, faces[face].mean, 0, 1e-5);
            ck_near(w.faces[face].hottest.temperature, faces[face].hottest.temperature, 0, 1e-5);
        }
        size_t steps;
        ck_assert_double_lt(closing(&w, &steps), 1e-6);
        /* As its error is that of a straight line through the heat, a day takes some fifty steps; an error
         * foretold a power of the step too high or too low takes hundreds, or misses the temperatures above.
         */
        ck_assert_uint_lt(steps, 80);
    }
    hl_field_warm_book(w.run, energy, NULL);
    ck_near(energy[0], 1.5 * 60, 1e-9, 0);
    hl_field_work_destroy(work);
    drop(&w);
}
END_TEST

/* At first all heat stays where it is made: rise = heat x time / capacity. */
START_TEST(first_seconds_are_those_of_the_capacity)
{
    hl_field_block block;
    hl_field_box box = small_box(&block);
    warming w;
    make(&w, &box);
    double capacity = 3e6 * 0.014 * 0.014 * 0.008, energy[3];
    go(&w, 1);
    ck_near(w.mean[0] - 298.15, 1.5 / capacity, 0.06, 0);
    hl_field_warm_book(w.run, energy, NULL);
    ck_near(energy[2], 1.5, 0.01, 0);
    drop(&w);
}
END_TEST

/* On and off; then heat that follows temperature, first stable, then beyond what the box carries off. */
START_TEST(book_closes_over_steps_of_load_and_a_runaway_is_told)
{
    hl_field_block block;
    hl_field_box box = small_box(&block);
    warming w;
    make(&w, &box);
    double high = 0, before;
    w.growth = 0.002;
    for (int step = 0; step < 12; step++) {
        before = w.mean[0];
        w.factor = step % 2 ? 0 : 1;
        go(&w, 300.0 * (step + 1));
        ck_assert_double_lt(closing(&w, NULL), 1e-6);
        if (step > 0) ck_assert(step % 2 ? w.mean[0] < before : w.mean[0] > before);
        if (step % 2 == 0) {
            ck_assert_double_gt(w.mean[0], high); /* each peak above the last: still warming */
            high = w.mean[0];
        }
    }
    w.factor = 1;
    w.growth = 0.2;
    ck_assert_int_eq(hl_field_warm(w.run, heat, &w, 1e5), HL_RUNAWAY);
    ck_assert_int_eq(hl_field_warm(w.run, heat, &w, -1), HL_BAD_INPUT);
    ck_assert_int_eq(hl_field_warm_even(w.run, &box.surroundings, NAN), HL_BAD_INPUT);
    drop(&w);
}
END_TEST

static bool long_wanted(void)
{
    const char *wanted = getenv("HEATLEDGER_LONG");
    return wanted && strcmp(wanted, "0") != 0;
}

static void fill(TCase *tests)
{
    tcase_add_test(tests, warm_up_ends_in_the_steady_state_and_stays_there);
    tcase_add_test(tests, first_seconds_are_those_of_the_capacity);
    tcase_add_test(tests, book_closes_over_steps_of_load_and_a_runaway_is_told);
    if (long_wanted() || !STORY_SLOW) tcase_add_test(tests, warm_up_agrees_with_time_steps_on_a_fine_grid);
}

int main(void)
{
    return story_main("field warm", fill);
}
