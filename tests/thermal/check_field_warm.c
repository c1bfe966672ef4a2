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

enum { NAMES = 64 };

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

START_TEST(warm_up_agrees_with_time_steps_on_a_fine_grid)
{
    warm_reference r = {.root = reference_open("warmup_open.json")};
    r.coarse = samples_of(&r, "warmup_coarse");
    r.fine = samples_of(&r, "warmup_fine");
    reference_field_open(&r.steady, "BX01");
    warming w;
    double begun = cpu();
    make(&w, &r.steady.box);
    hl_field_facts facts;
    hl_field_facts_of(w.field, &facts);
    printf("set-up %.1f s, %zu ports\n", cpu() - begun, facts.ports);
    begun = cpu();
    for (size_t k = 0; k < json_array_size(r.fine); k++) {
        json_t *one = json_array_get(r.fine, k), *value;
        const char *key, *at = "", *at_fine = "";
        double most = 0, most_fine = 0, fine;
        go(&w, reference_number(one, "t_s"));
        json_object_foreach(one, key, value)
        {
            if (strcmp(key, "t_s") == 0 || strcmp(key, "fill.mean") == 0) continue;
            double off = figure_of(&w, key) - without_mesh(&r, k, key, &fine);
            if (getenv("SHOW"))
                printf("  %-20s %7.2f off %6.2f fine %6.2f\n", key, fine, off, figure_of(&w, key) - fine);
            if (!(fabs(off) <= fabs(most))) most = off, at = key;
            off += without_mesh(&r, k, key, &fine) - fine;
            if (!(fabs(off) <= fabs(most_fine))) most_fine = off, at_fine = key;
        }
        size_t steps;
        double open = closing(&w, &steps);
        printf("%6.0f s: %.2f K (%s); from the finer mesh as it is %.2f K (%s); %zu steps, book %.1e\n",
               reference_number(one, "t_s"), most, at, most_fine, at_fine, steps, open);
    }
    printf("%.3f s\n", cpu() - begun);
    drop(&w);
    reference_field_close(&r.steady);
    json_decref(r.root);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, warm_up_agrees_with_time_steps_on_a_fine_grid);
}

int main(void)
{
    return story_main("field warm", fill);
}
