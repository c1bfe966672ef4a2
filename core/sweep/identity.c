/* identity.c - a plan as text, and the hash by which a store knows its own plan. */
#include "sweep/plan.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const uint64_t fingerprint_begin = 0xcbf29ce484222325u;

uint64_t fingerprint(uint64_t so_far, const void *bytes, size_t length)
{
    const unsigned char *at = bytes;
    for (size_t i = 0; i < length; i++) so_far = (so_far ^ at[i]) * 0x100000001b3u;
    return so_far;
}

/* ------------------------------------------------------------------ text -- */

typedef struct pen {
    char *text;
    size_t used, room;
    bool failed;
} pen;

static void __attribute__((format(printf, 2, 3))) say(pen *p, const char *format, ...)
{
    va_list words;
    va_start(words, format);
    int n = vsnprintf(NULL, 0, format, words);
    va_end(words);
    if (p->failed || n < 0) return;
    if (p->used + (size_t)n + 1 > p->room) {
        size_t room = 2 * p->room + (size_t)n + 256;
        char *grown = realloc(p->text, room);
        if (!grown) {
            p->failed = true;
            return;
        }
        p->text = grown;
        p->room = room;
    }
    va_start(words, format);
    vsnprintf(p->text + p->used, p->room - p->used, format, words);
    va_end(words);
    p->used += (size_t)n;
}

static void say_axis(pen *p, const hl_sweep *sweep, const axis *a)
{
    say(p, "axis %s", a->name);
    for (size_t k = 0; k < a->n_settings; k++)
        say(p, "%s%s", k ? ", " : " sets ", hl_design_setting_name(sweep->design, a->setting[k]));
    if (!a->n_entries) say(p, " from %.17g to %.17g", a->low, a->high);
    for (size_t e = 0; e < a->n_entries; e++) {
        say(p, "\n ");
        for (size_t k = 0; k < a->n_settings; k++) say(p, " %.17g", a->value[e * a->n_settings + k]);
        if (a->label && a->label[e]) say(p, " (%s)", a->label[e]);
    }
    say(p, "\n");
}

static void say_columns(pen *p, const hl_sweep *sweep)
{
    static const char *const keeps[] = {"all", "best", "pareto", "failures"};
    for (size_t i = 0; i < sweep->n_columns; i++) {
        const column *c = &sweep->columns[i];
        say(p, "%s %s", c->derived ? "derived" : "figure", c->name);
        if (c->limited) say(p, " within %.17g and %.17g", c->least, c->most);
        say(p, "\n");
    }
    say(p, "keep %s %zu", keeps[sweep->keep], sweep->keep_most);
    for (size_t i = 0; i < sweep->n_aims; i++)
        say(p, " %s %s", sweep->aims[i].highest ? "highest" : "lowest",
            sweep->columns[sweep->aims[i].column].name);
    say(p, "\n");
}

const char *plan_text(const hl_sweep *sweep, arena *memory)
{
    pen p = {0};
    say(&p, "design %s\n", hl_design_name(sweep->design));
    if (sweep->sampled)
        say(&p, "sample of %zu points, seed %" PRIu64 "\n", sweep->points, sweep->seed);
    else
        say(&p, "grid of %zu points\n", sweep->points);
    for (size_t i = 0; i < sweep->n_axes; i++) say_axis(&p, sweep, &sweep->axes[i]);
    say_columns(&p, sweep);
    const char *text = p.failed ? NULL : arena_copy(memory, p.text);
    free(p.text);
    return text;
}

/* ------------------------------------------------------------------ hash -- */

static uint64_t number(uint64_t so_far, double x)
{
    return fingerprint(so_far, &x, sizeof x);
}

static uint64_t word(uint64_t so_far, const char *text)
{
    return fingerprint(so_far, text, strlen(text) + 1);
}

static uint64_t value(uint64_t h, const hl_value *v)
{
    h = number(h, v->given ? v->number : 0);
    h = number(h, v->given);
    for (size_t i = 0; i < v->curve.n; i++) {
        if (v->curve.x) h = number(h, v->curve.x[i]);
        h = number(h, v->curve.y[i]);
    }
    return h;
}

static uint64_t part(uint64_t h, const hl_part *p)
{
    h = word(h, hl_part_name(p));
    h = word(h, hl_part_model(p)->name);
    for (size_t i = 0; i < hl_part_model(p)->n_parameters; i++) h = value(h, &hl_part_values(p)[i]);
    for (size_t i = 0; i < HL_COMMONS; i++) h = value(h, &hl_part_commons(p)[i]);
    return h;
}

static uint64_t design(uint64_t h, const hl_sweep *sweep)
{
    const hl_design *d = sweep->design;
    for (size_t i = 0; i < sweep->n_settings; i++) {
        h = word(h, hl_design_setting_name(d, i));
        h = number(h, sweep->base[i]);
    }
    for (size_t i = 0; i < hl_design_stages(d); i++) {
        h = word(h, hl_design_stage_model(d, i)->name);
        for (size_t k = 0; k < hl_design_stage_model(d, i)->n_parameters; k++)
            h = value(h, &hl_design_stage_values(d, i)[k]);
    }
    for (size_t i = 0; i < hl_design_items(d); i++) {
        h = number(h, hl_design_item(d, i)->count);
        for (size_t k = 0; k < hl_design_alternatives(d, i); k++) h = part(h, hl_design_alternative(d, i, k));
    }
    const hl_network *network = hl_design_network(d);
    for (size_t k = 0; k < hl_network_links(network); k++) {
        const hl_link *link = hl_network_link(network, (int)k);
        h = number(number(number(h, link->a), link->b), link->law);
        for (int j = 0; j < 4; j++) h = number(h, link->p[j]);
    }
    return h;
}

void plan_hash(const hl_sweep *sweep, const char *text, char hash[17])
{
    uint64_t h = word(fingerprint_begin, text);
    h = fingerprint(h, &sweep->stamp, sizeof sweep->stamp);
    h = design(h, sweep);
    snprintf(hash, 17, "%016" PRIx64, h);
}
