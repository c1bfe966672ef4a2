/* survey.c - ask a model what it books and names, with random parts and points. */
#include "prove/survey.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "prove/part.h"
#include "prove/point.h"

/* Enough that rare branches show: four times as many find no more. */
enum { PARTS = 200, LOADS = 4, POINTS = 400 };

static void keep_name(survey_list *list, const char *name, const char *unit)
{
    size_t at = 0;
    while (at < list->n && strcmp(list->entry[at].name, name) < 0) at++;
    if (at < list->n && !strcmp(list->entry[at].name, name)) return;
    if (list->n == SURVEY_NAMES) return;
    memmove(&list->entry[at + 1], &list->entry[at], (list->n - at) * sizeof list->entry[0]);
    snprintf(list->entry[at].name, SURVEY_TEXT, "%s", name);
    snprintf(list->entry[at].unit, SURVEY_TEXT, "%s", unit ? unit : "1");
    list->n++;
}

static void ask_part(trial *t, const part *p, const load *l, survey *found)
{
    hl_loss loss;
    hl_limit limits[HL_LIMITS_MAX];
    double temperature = chance_between(&t->luck, 260.0, 440.0);
    part_loss(t, p, &l->stress, temperature, &loss);
    for (int m = 0; m < HL_MECHANISMS; m++) found->booked[m] = found->booked[m] || loss.watts[m] > 0.0;
    size_t n = part_limits(t, p, &l->stress, temperature, limits);
    for (size_t i = 0; i < n && i < HL_LIMITS_MAX; i++)
        keep_name(&found->limits, limits[i].name, limits[i].unit);
}

static bool survey_device(trial *t, survey *found)
{
    part p;
    load *l = malloc(sizeof *l);
    bool good = l && part_create(t, &p);
    if (!good) {
        free(l);
        return false;
    }
    for (int i = 0; i < PARTS && good; i++) {
        good = part_draw(t, &p, i % 2 ? DRAW_ALL : DRAW_SOME);
        for (int k = 0; k < LOADS && good; k++) {
            load_draw(l, &t->luck, t->model->device->family, 1, (load_kind)(k % 2));
            ask_part(t, &p, l, found);
        }
    }
    part_destroy(&p);
    free(l);
    return good;
}

static bool survey_stage(trial *t, survey *found)
{
    point *p = calloc(1, sizeof *p);
    bool good = p && point_create(t, p);
    if (!good) {
        free(p);
        return false;
    }
    for (int i = 0; i < POINTS && good; i++) {
        good = point_draw(t, p, POINT_SENSIBLE);
        if (!good || point_solve(t, p) != HL_STAGE_SOLVED) continue;
        for (size_t k = 0; k < p->out.quantities && k < HL_QUANTITIES_MAX; k++)
            keep_name(&found->quantities, p->out.quantity[k].name, p->out.quantity[k].unit);
    }
    point_destroy(p);
    free(p);
    return good;
}

bool survey_model(const hl_model *model, uint64_t seed, survey *found)
{
    finding *kept = calloc(1, sizeof *kept);
    memset(found, 0, sizeof *found);
    if (!kept) return false;
    trial t = {.model = model, .luck = {seed}, .found = kept};
    bool good = model->device ? survey_device(&t, found) : survey_stage(&t, found);
    free(kept);
    return good;
}
