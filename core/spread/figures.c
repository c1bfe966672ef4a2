/* figures.c - every figure of a design by name: what a spread counts and a reading is compared with. */
#include "heatledger/spread.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "diagnostic/arena.h"
#include "heatledger/limits.h"
#include "heatledger/quantity.h"

struct hl_figures {
    const hl_design *design;
    arena *memory;
    hl_figure *figure;
    size_t n, room;
};

enum { POWER_INPUT, POWER_OUTPUT, POWER_LOSS };

static bool add(hl_figures *f, hl_figure_kind kind, const char *unit, size_t index, size_t sub, const char *a,
                const char *b, const char *c)
{
    if (f->n == f->room) {
        size_t room = f->room ? 2 * f->room : 128;
        hl_figure *more = realloc(f->figure, room * sizeof *more);
        if (!more) return false;
        f->figure = more;
        f->room = room;
    }
    size_t size = strlen(a) + strlen(b) + strlen(c) + 3;
    char *name = arena_take(f->memory, size), *kept = arena_copy(f->memory, unit);
    if (!name || !kept) return false;
    snprintf(name, size, "%s%s%s%s%s", a, *b ? " " : "", b, *c ? " " : "", c);
    f->figure[f->n++] = (hl_figure){kind, name, kept, index, sub, kind == HL_FIGURE_TEMPERATURE};
    return true;
}

static bool add_whole(hl_figures *f)
{
    return add(f, HL_FIGURE_EFFICIENCY, "1", 0, 0, "efficiency", "", "") &&
           add(f, HL_FIGURE_POWER, "W", POWER_INPUT, 0, "input power", "", "") &&
           add(f, HL_FIGURE_POWER, "W", POWER_OUTPUT, 0, "output power", "", "") &&
           add(f, HL_FIGURE_POWER, "W", POWER_LOSS, 0, "loss", "", "") &&
           (!hl_design_case_hottest(f->design) ||
            add(f, HL_FIGURE_TEMPERATURE, "degC", SIZE_MAX, 0, "case hottest", "", ""));
}

/* What each port delivers: the settings fix it, and a meter reads it. */
static bool add_ports(hl_figures *f)
{
    for (size_t i = 0; i < hl_design_ports(f->design); i++)
        if (!add(f, HL_FIGURE_POWER, "W", i, 1, "port power", hl_design_port_name(f->design, i), ""))
            return false;
    return true;
}

static bool add_losses(hl_figures *f, const hl_workspace *workspace)
{
    for (size_t i = 0; i < hl_design_items(f->design); i++)
        if (!add(f, HL_FIGURE_LOSS, "W", i, 0, "loss", hl_design_item(f->design, i)->name, "")) return false;
    for (size_t s = 0; s < hl_design_stages(f->design); s++) {
        const char *name;
        if (hl_result_own(workspace, s, &name) == 0) continue;
        if (!add(f, HL_FIGURE_LOSS, "W", s, 1, "loss", hl_design_stage_name(f->design, s), name))
            return false;
    }
    return true;
}

static bool is_item(const hl_design *design, const char *node)
{
    for (size_t i = 0; i < hl_design_items(design); i++)
        if (!strcmp(hl_design_item(design, i)->name, node)) return true;
    return false;
}

static bool add_temperatures(hl_figures *f)
{
    for (size_t i = 0; i < hl_design_items(f->design); i++)
        if (!add(f, HL_FIGURE_TEMPERATURE, "degC", i, 0, "temperature", hl_design_item(f->design, i)->name,
                 ""))
            return false;
    for (size_t i = 0; i < hl_design_nodes(f->design); i++) {
        const char *node = hl_design_node_name(f->design, i);
        if (is_item(f->design, node)) continue; /* the same number under the same name */
        if (!add(f, HL_FIGURE_TEMPERATURE, "degC", i, 1, "temperature", node, "")) return false;
    }
    return true;
}

static bool add_limits(hl_figures *f, const hl_workspace *workspace)
{
    hl_headroom headroom[HL_HOLDER_LIMITS_MAX];
    for (size_t i = 0; i < hl_design_holders(f->design); i++) {
        size_t n = hl_result_holder_headroom(workspace, i, headroom, HL_HOLDER_LIMITS_MAX);
        for (size_t k = 0; k < n; k++) {
            if (!add(f, HL_FIGURE_USED, "1", i, k, "used", hl_design_holder_name(f->design, i),
                     headroom[k].limit.name))
                return false;
            f->figure[f->n - 1].hot = !strcmp(headroom[k].limit.unit, "degC");
        }
    }
    return true;
}

static bool add_quantities(hl_figures *f, const hl_workspace *workspace)
{
    for (size_t s = 0; s < hl_design_stages(f->design); s++)
        for (size_t k = 0; k < hl_result_quantities(workspace, s); k++) {
            const hl_quantity *q = hl_result_quantity(workspace, s, k);
            if (!add(f, HL_FIGURE_QUANTITY, q->unit, s, k, "quantity", hl_design_stage_name(f->design, s),
                     q->name))
                return false;
        }
    return true;
}

hl_figures *hl_figures_create(const hl_design *design, const hl_workspace *workspace)
{
    hl_figures *f = calloc(1, sizeof *f);
    if (!f) return NULL;
    f->design = design;
    f->memory = arena_create();
    if (f->memory && add_whole(f) && add_ports(f) && add_losses(f, workspace) && add_temperatures(f) &&
        add_limits(f, workspace) && add_quantities(f, workspace))
        return f;
    hl_figures_destroy(f);
    return NULL;
}

void hl_figures_destroy(hl_figures *figures)
{
    if (!figures) return;
    arena_destroy(figures->memory);
    free(figures->figure);
    free(figures);
}

size_t hl_figures_count(const hl_figures *figures)
{
    return figures->n;
}

const hl_figure *hl_figures_get(const hl_figures *figures, size_t index)
{
    return index < figures->n ? &figures->figure[index] : NULL;
}

const char *hl_figures_title(const hl_figures *figures, size_t index)
{
    const hl_figure *figure = &figures->figure[index];
    bool of_case = figure->kind == HL_FIGURE_TEMPERATURE && figure->index == SIZE_MAX;
    return of_case ? hl_design_case_hottest(figures->design) : figure->name;
}

static double power_of(const hl_figure *figure, const hl_workspace *workspace)
{
    const hl_power_figures *p = hl_result_power(workspace);
    if (figure->sub)
        return hl_result_port_voltage(workspace, figure->index) *
               hl_result_port_current(workspace, figure->index);
    if (figure->index == POWER_INPUT) return p->input;
    return figure->index == POWER_OUTPUT ? p->output : p->loss;
}

static double temperature_of(const hl_figure *figure, const hl_workspace *workspace)
{
    if (figure->index == SIZE_MAX) return hl_result_case_hottest(workspace);
    return figure->sub ? hl_result_node_temperature(workspace, figure->index)
                       : hl_result_item_temperature(workspace, figure->index);
}

static double quantity_of(const hl_figure *figure, const hl_workspace *workspace)
{
    const hl_quantity *q = hl_result_quantity(workspace, figure->index, figure->sub);
    return q && strstr(figure->name, q->name) ? q->value : NAN;
}

/* A stage may name other quantities at another point, and a part other limits: then the figure has no value.
 */
static const char *limit_name(const hl_figures *f, const hl_figure *figure)
{
    return figure->name + 6 + strlen(hl_design_holder_name(f->design, figure->index));
}

/* All limits of one holder at once: asked one by one the model would check them again each time. */
static size_t read_limits(const hl_figures *f, size_t from, const hl_workspace *workspace, double values[])
{
    hl_headroom headroom[HL_LIMITS_MAX + 1];
    size_t holder = f->figure[from].index, i = from;
    size_t n = hl_result_holder_headroom(workspace, holder, headroom, HL_HOLDER_LIMITS_MAX);
    for (; i < f->n && f->figure[i].kind == HL_FIGURE_USED && f->figure[i].index == holder; i++) {
        values[i] = NAN;
        const char *name = limit_name(f, &f->figure[i]);
        for (size_t k = 0; k < n; k++) {
            size_t at = (f->figure[i].sub + k) % n; /* where it stood at first, then the rest */
            if (strcmp(headroom[at].limit.name, name) != 0) continue;
            values[i] = headroom[at].used;
            break;
        }
    }
    return i;
}

void hl_figures_read(const hl_figures *f, const hl_workspace *workspace, double values[])
{
    bool solved = hl_result_outcome(workspace) == HL_SOLVED;
    for (size_t i = 0; i < f->n;) {
        const hl_figure *figure = &f->figure[i];
        if (solved && figure->kind == HL_FIGURE_USED) {
            i = read_limits(f, i, workspace, values);
            continue;
        }
        double value = NAN;
        if (solved) switch (figure->kind) {
            case HL_FIGURE_EFFICIENCY:
                value = hl_result_power(workspace)->efficiency;
                break;
            case HL_FIGURE_POWER:
                value = power_of(figure, workspace);
                break;
            case HL_FIGURE_LOSS:
                value = figure->sub ? hl_result_own(workspace, figure->index, NULL)
                                    : hl_result_item_loss(workspace, figure->index);
                break;
            case HL_FIGURE_TEMPERATURE:
                value = temperature_of(figure, workspace);
                break;
            case HL_FIGURE_QUANTITY:
                value = quantity_of(figure, workspace);
                break;
            case HL_FIGURE_USED:
                break;
            }
        values[i++] = value;
    }
}

/* Words that stand for figures as they are: an item or node alone is its temperature, a stage's quantity
 * may be written "stage.quantity". */
static bool is_short_for(const hl_figure *figure, const char *name)
{
    size_t length = strlen("temperature ");
    if (figure->kind == HL_FIGURE_TEMPERATURE && !strncmp(figure->name, "temperature ", length))
        return !strcmp(figure->name + length, name);
    if (figure->kind != HL_FIGURE_QUANTITY) return false;
    const char *own = figure->name + strlen("quantity "), *gap = strrchr(own, ' '), *dot = strrchr(name, '.');
    return gap && dot && gap - own == dot - name && !strncmp(own, name, (size_t)(dot - name)) &&
           !strcmp(gap + 1, dot + 1);
}

size_t hl_figures_find(const hl_figures *f, const char *name, const char **nearest)
{
    if (nearest) *nearest = NULL;
    for (size_t i = 0; i < f->n; i++)
        if (!strcmp(f->figure[i].name, name)) return i;
    for (size_t i = 0; i < f->n; i++)
        if (is_short_for(&f->figure[i], name)) return i;
    if (!nearest) return SIZE_MAX;
    const char **words = calloc(2 * f->n + 1, sizeof *words);
    if (!words) return SIZE_MAX;
    size_t n = 0;
    for (size_t i = 0; i < f->n; i++) {
        words[n++] = f->figure[i].name;
        if (!strncmp(f->figure[i].name, "temperature ", 12)) words[n++] = f->figure[i].name + 12;
    }
    *nearest = hl_nearest_word(name, words);
    free(words);
    return SIZE_MAX;
}
