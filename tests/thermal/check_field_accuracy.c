/* check_field_accuracy.c - condensed fields against field solutions on far finer grids, and how long they
 * take. */
#include "solved_field.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "story.h"

static double seconds(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* The first three in every run, one of them where a sanitizer slows all; all with HEATLEDGER_LONG=1. */
static const char *const boxes[] = {"BX13", "BX02", "BX15", "BX01", "BX06", "BX07", "BX10"};
enum { BOXES = sizeof boxes / sizeof boxes[0] };

static int boxes_now(void)
{
    const char *wanted = getenv("HEATLEDGER_LONG");
    if (wanted && strcmp(wanted, "0") != 0) return BOXES;
    return STORY_SLOW ? 1 : 3;
}

typedef struct worst {
    double part, part_hottest, board, face_mean, face_hottest, face_heat;
} worst;

static void keep(double *most, double value)
{
    if (!(fabs(value) <= *most)) *most = fabs(value);
}

static void compare_bodies(const reference_field *r, const solved_field *s, worst *w)
{
    double ambient = r->box.surroundings.temperature;
    for (size_t i = 0; i < s->bodies; i++) {
        const char *name = hl_field_body_name(s->field, i);
        bool board = i >= r->box.n_blocks + r->box.n_spreaders;
        if (!board && i >= r->box.n_blocks) continue;
        double field =
            reference_field_answer(r, board ? "boards.board_%s.T_mean_C" : "blocks.%s.T_mean_C", name);
        double peak =
            reference_field_answer(r, board ? "boards.board_%s.T_max_C" : "blocks.%s.T_max_C", name);
        double off = s->mean[i] - field, bar = fmax(5, 0.05 * (field - ambient));
        ck_assert_msg(fabs(off) <= bar, "mean of %s off by %.2f K", name, off);
        keep(board ? &w->board : &w->part, off);
        keep(&w->part_hottest, s->hottest[i].temperature - peak);
        ck_assert_double_ge(s->hottest[i].temperature, s->mean[i]);
    }
}

static void compare_faces(const reference_field *r, const solved_field *s, worst *w)
{
    for (int face = 0; face < HL_FACES; face++) {
        const char *name = reference_face_name[face];
        double mean = s->faces[face].mean - reference_field_answer(r, "faces.%s.T_mean_C", name);
        double hottest =
            s->faces[face].hottest.temperature - reference_field_answer(r, "faces.%s.T_max_C", name);
        ck_assert_msg(fabs(mean) <= 1.5, "mean of face %s off by %.2f K", name, mean);
        ck_assert_msg(fabs(hottest) <= 3, "hottest spot of face %s off by %.2f K", name, hottest);
        keep(&w->face_mean, mean);
        keep(&w->face_hottest, hottest);
        keep(&w->face_heat, s->faces[face].heat + 273.15 - reference_field_answer(r, "faces.%s.Q_W", name));
    }
}

/* Bars: hottest spot of each face within 3 K, face means 1.5 K, parts 5 K or 5 % of their rise, of solutions
 * extrapolated from up to 1.7 million cells (tests/reference/box_open.json, which states its own error). */
START_TEST(condensed_boxes_agree_with_solutions_on_fine_grids)
{
    reference_field r;
    solved_field s;
    worst w = {0};
    reference_field_open(&r, boxes[_i]);
    double begun = seconds(CLOCK_PROCESS_CPUTIME_ID);
    solved_field_make(&s, &r.box);
    double made = seconds(CLOCK_PROCESS_CPUTIME_ID) - begun;
    solved_field_solve(&s, &r.box.surroundings);
    compare_bodies(&r, &s, &w);
    compare_faces(&r, &s, &w);
    double in, out;
    hl_field_book(s.work, &in, &out);
    ck_near(out, in, 1e-9, 0);
    printf("%s: parts %.2f K (hottest %.2f), boards %.2f, face means %.2f, face spots %.2f, face heat %.3f "
           "W; %zu cells, "
           "%zu ports, %.2f s\n",
           boxes[_i], w.part, w.part_hottest, w.board, w.face_mean, w.face_hottest, w.face_heat,
           s.facts.cells, s.facts.ports, made);
    if (!STORY_SLOW) ck_assert_double_lt(made, 3); /* s of processor: half of that on a quiet machine */
    solved_field_drop(&s);
    reference_field_close(&r);
}
END_TEST

/* The least of some tries; of more where another program beside this one takes the caches. */
START_TEST(solution_takes_less_than_200_microseconds)
{
    static const double most = 200e-6; /* s */
    reference_field r;
    solved_field s;
    enum { POINTS = 200 };
    reference_field_open(&r, "BX15");
    solved_field_make(&s, &r.box);
    double least = DBL_MAX, slope[FIELD_BODIES] = {0.002, 0.001, 0.003}, at[FIELD_BODIES];
    for (size_t i = 0; i < s.bodies; i++) at[i] = 350;
    for (int repeat = 0; repeat < 5 || (!STORY_SLOW && repeat < 100 && least >= most); repeat++) {
        double begun = seconds(CLOCK_PROCESS_CPUTIME_ID);
        for (int k = 0; k < POINTS; k++) {
            double power[FIELD_BODIES];
            for (size_t i = 0; i < s.bodies; i++) power[i] = s.power[i] * (0.3 + 0.8 * k / POINTS);
            ck_assert_int_eq(hl_field_solve(s.work, &r.box.surroundings, power, slope, at, s.mean), HL_OK);
            hl_field_spots(s.work, s.hottest, s.faces);
        }
        least = fmin(least, (seconds(CLOCK_PROCESS_CPUTIME_ID) - begun) / POINTS);
    }
    printf("solution with spots: %.0f us at 0.3 to 1.1 times the heat\n", 1e6 * least);
    if (!STORY_SLOW) ck_assert_double_lt(least, most);
    solved_field_drop(&s);
    reference_field_close(&r);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, condensed_boxes_agree_with_solutions_on_fine_grids, 0, boxes_now());
    tcase_add_test(tests, solution_takes_less_than_200_microseconds);
}

int main(void)
{
    return story_main("accuracy of a field", fill);
}
