/* parameters.c - checks a model's parameter table, which is also its documentation. */
#include <math.h>
#include <string.h>

#include "heatledger/catalogue.h"
#include "heatledger/quantity.h"
#include "plugin/table.h"

enum { PARAMETERS_MAX = 512, CHOICES_MAX = 256 };

/* Number of words, 0 when there is none, a word is empty or the list does not end. */
static size_t choice_count(const char *const *choices)
{
    size_t n = 0;
    while (choices && choices[n]) {
        if (!choices[n][0] || ++n > CHOICES_MAX) return 0;
    }
    return n;
}

static bool is_unit(const char *text)
{
    hl_dimension dimension;
    return text_present(text) && hl_dimension_of(text, &dimension);
}

static bool is_choice(const hl_parameter *p)
{
    return p->kind == HL_CHOICE || p->kind == HL_CHOICES;
}

static void check_units(const hl_model *model, const hl_parameter *p, report *r)
{
    if (is_choice(p)) return;
    if (!is_unit(p->dimension))
        complain(r, "model '%s': parameter '%s': dimension '%.40s' is not a unit; \"1\" stands for none",
                 model->name, p->name, p->dimension ? p->dimension : "");
    if (p->kind == HL_CURVE && !is_unit(p->x_dimension))
        complain(r, "model '%s': parameter '%s': x_dimension '%.40s' is not a unit; a curve needs one",
                 model->name, p->name, p->x_dimension ? p->x_dimension : "");
}

static void check_range(const hl_model *model, const hl_parameter *p, report *r)
{
    if (!(p->low <= p->high)) {
        complain(
            r, "model '%s': parameter '%s': the plausible range runs from %g to %g; low must not exceed high",
            model->name, p->name, p->low, p->high);
        return;
    }
    if (!(p->flags & HL_DEFAULT) || is_choice(p)) return;
    bool inside = p->low == p->high ? isfinite(p->fallback) : p->fallback >= p->low && p->fallback <= p->high;
    if (!inside)
        complain(r, "model '%s': parameter '%s': its default %g is outside its own range %g to %g",
                 model->name, p->name, p->fallback, p->low, p->high);
}

static void check_choices(const hl_model *model, const hl_parameter *p, report *r)
{
    if (!is_choice(p)) return;
    size_t n = choice_count(p->choices);
    if (n == 0) {
        complain(r, "model '%s': parameter '%s': no choices listed; give a NULL-ended list of words",
                 model->name, p->name);
        return;
    }
    if ((p->flags & HL_DEFAULT) &&
        !(p->fallback >= 0.0 && p->fallback < (double)n && p->fallback == floor(p->fallback)))
        complain(r, "model '%s': parameter '%s': its default %g is not the index of one of its %zu choices",
                 model->name, p->name, p->fallback, n);
}

static void check_parameter(const hl_model *model, size_t index, report *r)
{
    const hl_parameter *p = hl_model_parameter(model, index);
    if (!word_sound(p->name)) {
        complain(r, "model '%s': parameter %zu: the name '%.40s' is not lower case words joined by _",
                 model->name, index + 1, p->name ? p->name : "");
        return;
    }
    if ((unsigned)p->kind > HL_CHOICES) {
        complain(r, "model '%s': parameter '%s': kind %u is unknown", model->name, p->name,
                 (unsigned)p->kind);
        return;
    }
    const uint32_t either = HL_REQUIRED | HL_DEFAULT, known = either | HL_CONDITION;
    if ((p->flags & ~known) != 0 || (p->flags & either) == either)
        complain(r,
                 "model '%s': parameter '%s': flags %#x; HL_REQUIRED, HL_DEFAULT or 0 is meant, with "
                 "HL_CONDITION where it is what a test was set to",
                 model->name, p->name, (unsigned)p->flags);
    if (!text_present(p->meaning))
        complain(r, "model '%s': parameter '%s': no meaning given", model->name, p->name);
    if (!text_present(p->source))
        complain(r, "model '%s': parameter '%s': no source; say where an engineer finds the figure",
                 model->name, p->name);
    check_units(model, p, r);
    check_range(model, p, r);
    check_choices(model, p, r);
    for (size_t k = 0; k < index; k++) {
        const char *other = hl_model_parameter(model, k)->name;
        if (other && strcmp(other, p->name) == 0)
            complain(r, "model '%s': parameter '%s' stands twice in its table", model->name, p->name);
    }
}

bool parameters_sound(const hl_model *model, report *r)
{
    size_t before = r->count;
    if (model->n_parameters == 0) return true;
    if (!model->parameters || model->n_parameters > PARAMETERS_MAX)
        return complain(r, "model '%s': its table has %zu parameters; up to %d are expected", model->name,
                        model->parameters ? model->n_parameters : 0, (int)PARAMETERS_MAX);
    if (!size_fits(model->parameter_size, PARAMETER_LEAST) || model->parameter_size % sizeof(double) != 0)
        return complain(
            r, "model '%s': parameter_size is %zu, at least %d is needed; set it to sizeof(hl_parameter)",
            model->name, model->parameter_size, (int)PARAMETER_LEAST);
    for (size_t i = 0; i < model->n_parameters; i++) check_parameter(model, i, r);
    return r->count == before;
}
