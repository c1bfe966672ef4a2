/* print.c - SI values as an engineer would write them. */
#include "quantity/print.h"

#include "quantity/decimal.h"
#include "quantity/float_state.h"
#include "quantity/unit.h"

#include <locale.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Shown in another unit while low <= |value| < high, since nobody speaks of 0.00004 m^2.  The trade's habit,
 * no source. */
/* clang-format off */
static const struct { const char *unit, *shown; double low, high; } habits[] = {
    {"m^2",   "mm^2",   1e-9,  0.1},
    {"m^3",   "mm^3",   1e-12, 1e-6},
    {"m^3",   "cm^3",   1e-6,  0.1},
    {"A/s",   "A/us",   1e4,   1e15},
    {"V/s",   "V/us",   1e4,   1e9},
    {"V/s",   "V/ns",   1e9,   1e15},
    {"W/m^3", "kW/m^3", 1e3,   1e12},
    {"1/K",   "ppm/K",  1e-9,  1e-3},
    {"1/K",   "%/K",    1e-3,  1.0},
    {"kg",    "g",      1e-6,  1.0},
};

/* Units written with a prefix, and the prefixes in use for each. */
static const struct { const char *unit; int least, most; } scaled[] = {
    {"ohm", -6, 9}, {"V", -9, 6}, {"A", -15, 6}, {"W", -9, 9}, {"VA", -6, 9}, {"J", -12, 6}, {"Wh", -6, 9},
    {"Ah", -6, 3}, {"C", -15, 0}, {"F", -15, 0}, {"H", -12, 0}, {"Wb", -9, 0}, {"T", -6, 0}, {"S", -9, 3},
    {"Hz", 0, 9}, {"s", -12, 0}, {"m", -9, 0}, {"N", -3, 3}, {"Pa", 0, 9}, {"V s", -9, 0}, {"A s", -9, 0},
};
/* clang-format on */

static const char *prefix_text(int exponent)
{
    static const char *const texts[] = {"f", "p", "n", "u", "m", "", "k", "M", "G", "T"};
    return texts[exponent / 3 + 5];
}

/* The unit text in plain ASCII: "ohm" for either sign, "deg" for the ring, "u" for either micro. */
static void plain_unit(const char *unit_text, char *text, size_t size)
{
    /* clang-format off */
    static const struct { const char *from, *to; } pairs[] = {
        {"\xCE\xA9", "ohm"}, {"\xE2\x84\xA6", "ohm"}, {"\xE2\x84\x83", "degC"}, {"\xC2\xB0", "deg"},
        {"\xC2\xB5", "u"}, {"\xCE\xBC", "u"}, {"\xC2\xB2", "^2"}, {"\xC2\xB3", "^3"}, {"\xC2\xB7", " "},
        {"Ohm", "ohm"},
    };
    /* clang-format on */
    size_t used = 0;
    for (const char *at = unit_text; *at;) {
        const char *to = NULL;
        size_t taken = 1, n = 1;
        for (size_t i = 0; i < sizeof pairs / sizeof *pairs && !to; i++) {
            size_t from = strlen(pairs[i].from);
            if (strncmp(at, pairs[i].from, from) != 0) continue;
            to = pairs[i].to;
            taken = from;
            n = strlen(pairs[i].to);
        }
        if (used + n + 1 > size) break;
        memcpy(text + used, to ? to : at, n);
        used += n;
        at += taken;
    }
    text[used] = '\0';
}

/* The value in this unit, as a decimal and the shift that its power of ten asks for. */
static void in_unit(double value, const unit *u, int digits, decimal *shown)
{
    if (u->celsius) value -= 273.15;
    if (u->multiple != 1.0 || u->divisor != 1.0) value = value * u->divisor / u->multiple;
    decimal_round(value, digits, shown);
    if (shown->digits[0] != '0') shown->exponent -= u->exponent;
}

static void with_prefix(const decimal *shown, int least, int most, bool round, const char *unit_text,
                        char *text, size_t size)
{
    int lead = shown->digits[0] == '0' ? 0 : shown->exponent + (int)shown->count - 1;
    int exponent = 3 * (lead >= 0 ? lead / 3 : -((2 - lead) / 3));
    if (round && exponent < 0 && shown->count == 1 && lead - exponent == 2) exponent += 3;
    if (exponent < least) exponent = least;
    if (exponent > most) exponent = most;
    char number[192];
    decimal_print(shown, -exponent, number, sizeof number);
    snprintf(text, size, "%s %s%s", number, prefix_text(exponent), unit_text);
}

static void print_in(double value, const char *plain, const unit *u, int digits, bool round, char *text,
                     size_t size)
{
    decimal shown;
    char number[192];
    in_unit(value, u, digits, &shown);
    for (size_t i = 0; i < sizeof scaled / sizeof *scaled; i++) {
        if (strcmp(scaled[i].unit, plain) != 0) continue;
        with_prefix(&shown, scaled[i].least, scaled[i].most, round, plain, text, size);
        return;
    }
    decimal_print(&shown, 0, number, sizeof number);
    bool bare = strcmp(plain, "1") == 0 || plain[0] == '\0';
    snprintf(text, size, "%s%s%s", number, bare ? "" : " ", bare ? "" : plain);
}

static const char *habit(double value, const char *plain)
{
    double size = fabs(value);
    for (size_t i = 0; i < sizeof habits / sizeof *habits; i++)
        if (strcmp(habits[i].unit, plain) == 0 && size >= habits[i].low && size < habits[i].high)
            return habits[i].shown;
    return plain;
}

static void print(double value, const char *unit_text, int digits, bool round, char *text, size_t size)
{
    if (size == 0) return;
    char plain[64] = "";
    if (unit_text) plain_unit(unit_text, plain, sizeof plain);
    if (!isfinite(value)) {
        snprintf(text, size, "%s %s", isnan(value) ? "nan" : value > 0 ? "inf" : "-inf", plain);
        return;
    }
    const char *shown = habit(value, plain);
    unit u;
    if (!unit_parse(shown, strlen(shown), &u, NULL, NULL)) u = (unit){.multiple = 1.0, .divisor = 1.0};
    print_in(value, shown, &u, digits, round, text, size);
}

void hl_quantity_print(double value, const char *unit_text, int digits, char *text, size_t size)
{
    PLAIN_FLOAT_STATE;
    print(value, unit_text, digits, false, text, size);
}

void print_bound(double value, const char *unit_text, char *text, size_t size)
{
    print(value, unit_text, 3, true, text, size);
}

/* "kg m^2 s^-3 A^-1": the unit of last resort, in which every value is its own SI number. */
static void base_unit(hl_dimension d, char *text, size_t size)
{
    static const char *const names[] = {"kg", "m", "s", "A", "K"};
    const int powers[] = {d.mass, d.length, d.time, d.current, d.temperature};
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < 5 && used + 12 < size; i++) {
        if (powers[i] == 0) continue;
        int n = snprintf(text + used, size - used, powers[i] == 1 ? "%s%s" : "%s%s^%d", used ? " " : "",
                         names[i], powers[i]);
        if (n > 0) used += (size_t)n;
    }
    if (used == 0) snprintf(text, size, "1");
}

static bool reads_back(double value, const char *text, const char *unit_text)
{
    double again;
    char why[8];
    if (!hl_quantity_read(text, strlen(text), unit_text, &again, why, sizeof why)) return false;
    return memcmp(&again, &value, sizeof value) == 0;
}

void hl_quantity_print_exact(double value, const char *unit_text, char *text, size_t size)
{
    PLAIN_FLOAT_STATE;
    unit u;
    char plain[64] = "", base[64];
    if (unit_text) plain_unit(unit_text, plain, sizeof plain);
    if (!isfinite(value) || !unit_parse(plain, strlen(plain), &u, NULL, NULL)) {
        hl_quantity_print(value, unit_text, 17, text, size);
        return;
    }
    for (int digits = 6; digits <= 17; digits++) { /* the shortest that reads back */
        print_in(value, plain, &u, digits, false, text, size);
        if (reads_back(value, text, plain)) return;
    }
    base_unit(u.dimension, base, sizeof base);
    unit whole = {.multiple = 1.0, .divisor = 1.0};
    print_in(value, base, &whole, 17, false, text, size);
}

void hl_number_print(double value, char *text, size_t size)
{
    PLAIN_FLOAT_STATE;
    for (int digits = 15; digits <= 17; digits++) {
        snprintf(text, size, "%.*g", digits, value);
        if (strtod(text, NULL) == value) break;
    }
    const char *point = localeconv()->decimal_point;
    char *found = strcmp(point, ".") ? strstr(text, point) : NULL;
    if (!found) return;
    *found = '.';
    memmove(found + 1, found + strlen(point), strlen(found + strlen(point)) + 1);
}
