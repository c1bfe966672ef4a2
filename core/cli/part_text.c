/* part_text.c - what is known of a part, told to a person and to a program. */
#include "cli/part_text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cli/csv_text.h"
#include "heatledger/quantity.h"

enum { COLUMNS = 5, ALTERNATIVES = 4, TEXT = 48, WIDTH = 80 };

/* A column shows the first of these values that the part has. */
typedef struct column {
    const char *heading;
    const char *value[ALTERNATIVES];
} column;

/* clang-format off */
static const column columns[HL_FAMILIES][COLUMNS] = {
    [HL_FAMILY_SWITCH] = {{"voltage", {"rated_voltage"}}, {"current", {"rated_current"}},
        {"on-res.", {"on_resistance", "resistance"}}, {"gate", {"gate_charge"}}, {"output", {"output_charge"}}},
    [HL_FAMILY_DIODE] = {{"voltage", {"rated_voltage"}}, {"current", {"rated_current"}},
        {"threshold", {"threshold_voltage", "forward_voltage"}}, {"slope", {"slope_resistance"}},
        {"charge", {"recovery_charge", "capacitive_charge"}}},
    [HL_FAMILY_CAPACITOR] = {{"C", {"capacitance"}}, {"voltage", {"rated_ac_voltage", "rated_voltage"}},
        {"ESR", {"esr"}}, {"loss f.", {"loss_factor"}}, {"ripple", {"rated_ripple_current"}}},
    [HL_FAMILY_MAGNETIC] = {{"L", {"inductance"}}, {"dc res.", {"dc_resistance"}},
        {"turns", {"turns", "turns_ratio"}}, {"core area", {"core_area"}},
        {"current", {"saturation_current", "rated_current"}}},
    [HL_FAMILY_RESISTOR] = {{"R, length", {"resistance", "cold_resistance", "length"}}, {"hot", {"hot_resistance"}},
        {"current", {"rated_current"}}, {"power", {"rated_power"}}, {"voltage", {"rated_voltage"}}},
};
/* clang-format on */

/* ----------------------------------------------------------------- words -- */

static void number_text(const hl_parameter *p, double number, char *text, size_t size)
{
    if (p->kind == HL_CHOICE || p->kind == HL_CHOICES)
        snprintf(text, size, "%s", p->choices[(size_t)number]);
    else
        hl_quantity_print(number, p->dimension, 3, text, size);
}

static void curve_text(const hl_parameter *p, const hl_curve *curve, size_t i, char *text, size_t size)
{
    char x[TEXT] = "", y[TEXT];
    number_text(p, curve->y[i], y, sizeof y);
    if (p->kind == HL_CURVE && curve->n > 1)
        hl_quantity_print(curve->x[i], p->x_dimension ? p->x_dimension : "1", 3, x, sizeof x);
    snprintf(text, size, "%s%s%s", x, *x ? ": " : "", y);
}

static bool in_rows(const hl_parameter *p)
{
    return p->kind == HL_CURVE || p->kind == HL_LIST || p->kind == HL_CHOICES;
}

/* Entries separated by commas, folded before the right margin. */
static void print_rows(const hl_parameter *p, const hl_curve *curve)
{
    int at = printf("      ");
    for (size_t i = 0; i < curve->n; i++) {
        char text[2 * TEXT + 4];
        curve_text(p, curve, i, text, sizeof text);
        if (at + (int)strlen(text) + 2 > WIDTH) at = printf("\n      ") - 1;
        at += printf("%s%s", text, i + 1 < curve->n ? ", " : "");
    }
    putchar('\n');
}

/* ------------------------------------------------------------------ list -- */

static const hl_value *find(const hl_part *part, const char *name, const hl_parameter **parameter)
{
    const hl_model *model = hl_part_model(part);
    for (size_t i = 0; i < model->n_parameters; i++) {
        *parameter = hl_model_parameter(model, i);
        if (!strcmp((*parameter)->name, name)) return &hl_part_values(part)[i];
    }
    return NULL;
}

static void column_text(const hl_part *part, const column *c, char *text, size_t size)
{
    snprintf(text, size, "-");
    for (size_t i = 0; i < ALTERNATIVES && c->value[i]; i++) {
        const hl_parameter *p = NULL;
        const hl_value *value = find(part, c->value[i], &p);
        if (!value || !value->given) continue;
        number_text(p, value->number, text, size);
        return;
    }
}

void part_print_heading(hl_family family)
{
    printf("%-30s", hl_family_name(family));
    for (int c = 0; c < COLUMNS; c++) printf(" %9s", columns[family][c].heading);
    putchar('\n');
}

void part_print_row(const hl_part *part)
{
    const column *c = columns[hl_part_model(part)->device->family];
    printf("  %-28s", hl_part_name(part));
    for (int i = 0; i < COLUMNS; i++) {
        char text[TEXT];
        column_text(part, &c[i], text, sizeof text);
        printf(" %9s", text);
    }
    putchar('\n');
}

/* --------------------------------------------------------------- in full -- */

/* Ends near each other in one unit, not "769 ppm/K … 0.13 %/K"; a prefix may differ. */
static void range_text(double from, double to, const char *unit, char low[TEXT], char high[TEXT])
{
    hl_quantity_print(from, unit, 3, low, TEXT);
    hl_quantity_print(to, unit, 3, high, TEXT);
    const char *of_low = strchr(low, ' '), *of_high = strchr(high, ' ');
    if (!of_low || !of_high || !strcmp(of_low, of_high) || !(from > 0 && to < 100 * from)) return;
    hl_quantity_print(from, of_high + 1, 3, low, TEXT);
}

/* An end of a band as far as it can occur: no emissivity is above 1. */
static double held(const hl_band *band, double end)
{
    return band->floor < band->ceiling ? fmin(fmax(end, band->floor), band->ceiling) : end;
}

static void print_band(const hl_parameter *p, const hl_band *band)
{
    char low[TEXT], high[TEXT];
    if (band->kind == HL_BAND_NONE || !(band->low < band->high)) return;
    const char *unit = in_rows(p) ? "1" : p->dimension; /* of a curve: a factor */
    range_text(held(band, band->low), held(band, band->high), unit, low, high);
    printf("      band   %s%s … %s\n", in_rows(p) ? "times " : "", low, high);
}

static void print_usual(const hl_parameter *p)
{
    char low[TEXT], high[TEXT];
    if (p->low == p->high || p->kind == HL_CHOICE || p->kind == HL_CHOICES) return;
    range_text(p->low, p->high, p->dimension, low, high);
    printf("      usual  %s … %s\n", low, high);
}

/* Lengths of a core and the like, on the line of their name; false: a curve, or too long for it. */
static bool list_fits(const hl_parameter *p, const hl_curve *curve, char *text, size_t size)
{
    enum { ROOM = 24 };
    size_t used = 0;
    if (p->kind == HL_CURVE) return false;
    for (size_t i = 0; i < curve->n && used <= ROOM; i++) {
        char entry[2 * TEXT + 4];
        curve_text(p, curve, i, entry, sizeof entry);
        int n = snprintf(text + used, size - used, "%s%.*s", i ? ", " : "", ROOM + 1, entry);
        if (n > 0) used += (size_t)n;
        if (used >= size) return false;
    }
    return used <= ROOM;
}

static void print_value(const hl_parameter *p, const hl_value *value, const hl_band *band)
{
    char text[TEXT] = "";
    bool below = in_rows(p) && !list_fits(p, &value->curve, text, sizeof text);
    if (!in_rows(p)) number_text(p, value->number, text, sizeof text);
    printf("  %-36s %-24s %s\n", p->name, below ? "" : text, hl_origin_name(value->origin));
    if (below) print_rows(p, &value->curve);
    print_band(p, band);
    print_usual(p);
}

static void print_absent(const hl_part *part)
{
    const hl_model *model = hl_part_model(part);
    int at = 0;
    for (size_t i = 0; i < model->n_parameters; i++) {
        const hl_parameter *p = hl_model_parameter(model, i);
        if (hl_part_values(part)[i].given) continue;
        if (!at) at = printf("\nnot stated\n ") - 12;
        if (at + (int)strlen(p->name) + 2 > WIDTH) at = printf("\n ") - 1;
        at += printf(" %s", p->name);
    }
    if (at) putchar('\n');
}

void part_print(const hl_part *part)
{
    const hl_model *model = hl_part_model(part);
    hl_place place = hl_part_place(part);
    printf("%s\n%s\n", hl_part_name(part), hl_part_description(part));
    printf("model  %s, %s\nfile   %s:%d\n\n", model->name, model->title, place.file ? place.file : "",
           place.line);
    for (size_t i = 0; i < model->n_parameters; i++)
        if (hl_part_values(part)[i].given)
            print_value(hl_model_parameter(model, i), &hl_part_values(part)[i], &hl_part_bands(part)[i]);
    for (size_t i = 0; i < HL_COMMONS; i++)
        if (hl_part_commons(part)[i].given)
            print_value(hl_common_parameter(i), &hl_part_commons(part)[i], &hl_part_common_bands(part)[i]);
    print_absent(part);
}

/* ------------------------------------------------------------------- csv -- */

static void print_field(const char *text, char end)
{
    csv_field(stdout, text);
    putchar(end);
}

void part_print_csv_heading(void)
{
    puts("part,model,value,at,number,low,high,unit,origin");
}

static void print_csv_line(const hl_part *part, const hl_parameter *p, const char *at, double number,
                           const hl_value *value)
{
    print_field(hl_part_name(part), ',');
    print_field(hl_part_model(part)->name, ',');
    print_field(p->name, ',');
    print_field(at, ',');
    if (p->kind == HL_CHOICE || p->kind == HL_CHOICES)
        csv_field(stdout, p->choices[(size_t)number]), fputs(",,,", stdout);
    else if (in_rows(p))
        printf("%.9g,,,", number);
    else
        printf("%.9g,%.9g,%.9g,", number, value->minimum, value->maximum);
    /* degC is told in kelvin, as in every file for programs */
    print_field(!strcmp(p->dimension, "degC") ? "K" : p->dimension, ',');
    print_field(hl_origin_name(value->origin), '\n');
}

static void print_csv_value(const hl_part *part, const hl_parameter *p, const hl_value *value)
{
    if (!value->given) return;
    if (!in_rows(p)) {
        print_csv_line(part, p, "", value->number, value);
        return;
    }
    for (size_t i = 0; i < value->curve.n; i++) {
        char at[TEXT];
        if (p->kind == HL_CURVE)
            snprintf(at, sizeof at, "%.9g", value->curve.x[i]);
        else
            snprintf(at, sizeof at, "%zu", i + 1);
        print_csv_line(part, p, at, value->curve.y[i], value);
    }
}

void part_print_csv(const hl_part *part)
{
    const hl_model *model = hl_part_model(part);
    for (size_t i = 0; i < model->n_parameters; i++)
        print_csv_value(part, hl_model_parameter(model, i), &hl_part_values(part)[i]);
    for (size_t i = 0; i < HL_COMMONS; i++)
        print_csv_value(part, hl_common_parameter(i), &hl_part_commons(part)[i]);
}

/* ------------------------------------------------------------------ json -- */

static json_t *entry_json(const hl_parameter *p, const hl_curve *curve, size_t i)
{
    if (p->kind == HL_CHOICES) return json_string(p->choices[(size_t)curve->y[i]]);
    if (p->kind == HL_LIST) return json_real(curve->y[i]);
    json_t *row = json_array();
    json_array_append_new(row, json_real(curve->x[i]));
    json_array_append_new(row, json_real(curve->y[i]));
    return row;
}

static json_t *number_json(const hl_parameter *p, const hl_value *value)
{
    if (p->kind == HL_CHOICE) return json_string(p->choices[(size_t)value->number]);
    if (!in_rows(p)) return json_real(value->number);
    json_t *rows = json_array();
    for (size_t i = 0; i < value->curve.n; i++) json_array_append_new(rows, entry_json(p, &value->curve, i));
    return rows;
}

static void add_value(json_t *values, const hl_parameter *p, const hl_value *value, const hl_band *band)
{
    if (!value->given) return;
    json_t *object = json_object();
    json_object_set_new(object, "value", number_json(p, value));
    json_object_set_new(object, "unit", json_string(!strcmp(p->dimension, "degC") ? "K" : p->dimension));
    if (p->kind == HL_CURVE)
        json_object_set_new(object, "over",
                            json_string(!strcmp(p->x_dimension, "degC") ? "K" : p->x_dimension));
    json_object_set_new(object, "origin", json_string(hl_origin_name(value->origin)));
    if (band->kind != HL_BAND_NONE) {
        json_object_set_new(object, "band", json_string(hl_band_name(band->kind)));
        json_object_set_new(object, "low", json_real(held(band, band->low)));
        json_object_set_new(object, "high", json_real(held(band, band->high)));
    }
    json_object_set_new(values, p->name, object);
}

json_t *part_json(const hl_part *part)
{
    const hl_model *model = hl_part_model(part);
    json_t *object = json_object(), *values = json_object();
    json_object_set_new(object, "name", json_string(hl_part_name(part)));
    json_object_set_new(object, "family", json_string(hl_family_name(model->device->family)));
    json_object_set_new(object, "model", json_string(model->name));
    json_object_set_new(object, "description", json_string(hl_part_description(part)));
    json_object_set_new(object, "values", values);
    for (size_t i = 0; i < model->n_parameters; i++)
        add_value(values, hl_model_parameter(model, i), &hl_part_values(part)[i], &hl_part_bands(part)[i]);
    for (size_t i = 0; i < HL_COMMONS; i++)
        add_value(values, hl_common_parameter(i), &hl_part_commons(part)[i], &hl_part_common_bands(part)[i]);
    return object;
}
