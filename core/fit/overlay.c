/* overlay.c - the fitted parts as a part file: each part's own text, with the fitted values put in.
 * So everything else of the part, its bands, origins and remarks, stays as it was written. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "catalogue/band.h"
#include "catalogue/source.h"
#include "diagnostic/replace_file.h"
#include "fit/bench.h"
#include "fit/fit.h"
#include "heatledger/quantity.h"
#include "quantity/float_state.h"

enum { SOURCE_BYTES_MAX = 8 << 20 };

typedef struct text {
    char *bytes;
    size_t n, room;
    bool starved;
} text;

static void put(text *t, const char *bytes, size_t n)
{
    if (t->n + n + 1 > t->room) {
        size_t room = 2 * (t->n + n) + 1024;
        char *more = realloc(t->bytes, room);
        if (!more) {
            t->starved = true;
            return;
        }
        t->bytes = more;
        t->room = room;
    }
    memcpy(t->bytes + t->n, bytes, n);
    t->n += n;
    t->bytes[t->n] = '\0';
}

static void say(text *t, const char *format, ...) __attribute__((format(printf, 2, 3)));

static void say(text *t, const char *format, ...)
{
    char line[600];
    va_list list;
    va_start(list, format);
    int n = vsnprintf(line, sizeof line, format, list);
    va_end(list);
    put(t, line, n < (int)sizeof line ? (size_t)n : sizeof line - 1);
}

/* ------------------------------------------------------- values and parts -- */

/* The item a setting belongs to, and the parameter's name; NULL: it is a stage's or the design's. */
static const hl_item *item_of(const hl_design *design, size_t setting, const char **parameter)
{
    const char *name = hl_design_setting_name(design, setting);
    for (size_t i = 0; i < hl_design_items(design); i++) {
        const hl_item *item = hl_design_item(design, i);
        size_t length = strlen(item->name);
        if (strncmp(name, item->name, length) != 0 || name[length] != '.') continue;
        *parameter = name + length + 1;
        return item;
    }
    return NULL;
}

static bool has_error(const hl_fit_estimate *e)
{
    return isfinite(e->u) && e->u > 0;
}

/* Down to the third digit of the standard error: what a fit leaves behind it is rounding. */
static void estimate_text(const hl_fit_estimate *e, const char *unit, char *value, size_t size)
{
    enum { EXACT = 17 }; /* digits */
    double shown = fabs(strcmp(unit, "degC") ? e->value : e->value - 273.15), digits = EXACT;
    if (has_error(e)) digits = shown > 0 ? floor(log10(shown)) - floor(log10(e->u)) + 3 : 3;
    if (digits < EXACT)
        hl_quantity_print(e->value, unit, (int)fmax(digits, 3), value, size);
    else
        hl_quantity_print_exact(e->value, unit, value, size);
}

/* Would three standard errors reach below zero, where the value never is? */
static bool passes_zero(const hl_bench *bench, const hl_fit_estimate *e, size_t k)
{
    const hl_parameter *parameter = hl_design_setting(bench->design, bench->values[k].settings[0]);
    return strcmp(bench->values[k].unit, "degC") && parameter->low >= 0 && e->value > 0 &&
           !(e->value - 3 * e->u > 0);
}

/* Factor of the log-normal band about a value whose standard deviation is this share of it: with t = e^(s^2)
 * the deviation is sqrt(t (t - 1)) of the median.
 * source: M. Evans, N. Hastings, B. Peacock, Statistical Distributions, 3rd ed., Wiley 2000 */
static double factor_of(double share)
{
    enum { FACTOR_MOST = 100 }; /* a part file takes no more */
    double t = 0.5 + sqrt(0.25 + share * share);
    return fmin(FACTOR_MOST, exp(band_reach() * sqrt(log(t))));
}

static void value_text(const hl_bench *bench, const hl_fit_result *result, size_t k, char *line, size_t size)
{
    const hl_fit_estimate *e = hl_fit_estimate_of(result, k);
    char value[64], u[64];
    estimate_text(e, bench->values[k].unit, value, sizeof value);
    if (has_error(e) && passes_zero(bench, e, k)) {
        snprintf(line, size, "{ typical: %s, factor: %.3g, origin: bench }", value,
                 factor_of(e->u / e->value));
        return;
    }
    hl_quantity_print(e->u, strcmp(bench->values[k].unit, "degC") ? bench->values[k].unit : "K", 3, u,
                      sizeof u);
    if (has_error(e))
        snprintf(line, size, "{ typical: %s, sigma: %s, origin: bench }", value, u);
    else
        snprintf(line, size, "{ typical: %s, origin: bench }", value);
}

/* ---------------------------------------------------------- a part's text -- */

static const char *line_at(const char *from, int line)
{
    for (int i = 1; i < line && from; i++) {
        from = strchr(from, '\n');
        if (from) from++;
    }
    return from;
}

static const char *next_line(const char *line)
{
    const char *end = strchr(line, '\n');
    return end ? end + 1 : line + strlen(line);
}

static size_t indent_of(const char *line)
{
    return strspn(line, " ");
}

static bool is_blank(const char *line)
{
    const char *c = line + indent_of(line);
    return *c == '\n' || *c == '\0' || *c == '\r' || *c == '#';
}

/* First line behind `line` that is no deeper: the end of what begins there. */
static const char *end_of(const char *line)
{
    size_t depth = indent_of(line);
    const char *end = next_line(line);
    for (const char *at = end; *at; at = next_line(at)) {
        if (is_blank(at)) continue;
        if (indent_of(at) <= depth) break;
        end = next_line(at);
    }
    return end;
}

static bool is_key(const char *line, const char *name)
{
    const char *at = line + indent_of(line);
    size_t length = strlen(name);
    return !strncmp(at, name, length) && at[length + strspn(at + length, " ")] == ':';
}

/* What the readings do not tell stays as it was. */
static bool is_told(const hl_fit_result *result, size_t k)
{
    return hl_fit_estimate_of(result, k)->told;
}

/* Index of the fitted value of this part's parameter that the line states, or SIZE_MAX. */
static size_t fitted_on(const hl_bench *bench, const hl_fit_result *result, const hl_part *part,
                        const char *line)
{
    for (size_t k = 0; k < bench->n_values; k++) {
        const char *parameter;
        const hl_item *item = item_of(bench->design, bench->values[k].settings[0], &parameter);
        if (item && item->part == part && is_told(result, k) && is_key(line, parameter)) return k;
    }
    return SIZE_MAX;
}

static void put_part(text *out, const hl_bench *bench, const hl_fit_result *result, const hl_part *part,
                     const char *begin, bool written[])
{
    const char *end = end_of(begin), *line = next_line(begin);
    size_t depth = indent_of(line);
    char value[200];
    say(out, "\n  %s:\n", hl_part_name(part));
    while (line < end) {
        size_t k = indent_of(line) == depth ? fitted_on(bench, result, part, line) : SIZE_MAX;
        const char *next = k == SIZE_MAX ? next_line(line) : end_of(line);
        if (k == SIZE_MAX) {
            put(out, line, (size_t)(next - line));
        } else {
            value_text(bench, result, k, value, sizeof value);
            say(out, "%*s%s: %s\n", (int)depth, "",
                strrchr(hl_design_setting_name(bench->design, bench->values[k].settings[0]), '.') + 1, value);
            written[k] = true;
        }
        line = next;
    }
    for (size_t k = 0; k < bench->n_values; k++) { /* not stated in the file: a default, or an estimate */
        const char *parameter;
        const hl_item *item = item_of(bench->design, bench->values[k].settings[0], &parameter);
        if (!item || item->part != part || written[k] || !is_told(result, k)) continue;
        value_text(bench, result, k, value, sizeof value);
        say(out, "%*s%s: %s\n", (int)depth, "", parameter, value);
        written[k] = true;
    }
}

/* The part's text in its own file.  NULL: it changed, or stands on one line. */
static bool add_part(text *out, const hl_bench *bench, const hl_fit_result *result, const hl_part *part,
                     bool written[], hl_diagnostics *diagnostics)
{
    hl_place place = hl_part_place(part);
    char *source = NULL;
    size_t length;
    if (source_read(place.file, SOURCE_BYTES_MAX, &source, &length, diagnostics) != HL_OK) return false;
    const char *begin = line_at(source, place.line);
    bool good = begin && is_key(begin, hl_part_name(part)) && indent_of(next_line(begin)) > indent_of(begin);
    if (good)
        put_part(out, bench, result, part, begin, written);
    else
        hl_diagnostics_add(
            diagnostics, HL_ERROR, &place,
            "%s: its text is not found there as a block; write the part with one value on each line",
            hl_part_name(part));
    free(source);
    return good;
}

/* ------------------------------------------------------------------ whole -- */

static void put_untold(text *out, const hl_bench *bench, const hl_fit_result *result, size_t k)
{
    const hl_fit_estimate *e = hl_fit_estimate_of(result, k);
    char value[64];
    hl_quantity_print(e->value, bench->values[k].unit, 4, value, sizeof value);
    say(out, "# left as it was, for the readings do not tell it: %s; the fit had it at %s%s\n",
        bench->values[k].fit.name, value,
        e->at_edge    ? ", and beside that there is no solution"
        : e->at_bound ? ", its bound"
                      : "");
}

static void put_head(text *out, const hl_bench *bench, const hl_fit_result *result)
{
    double freedom, chi = hl_fit_chi_square(result, &freedom);
    say(out, "# Parts of %s, fitted to %zu readings: sum of squares %.4g for %g degrees of freedom.\n",
        hl_design_name(bench->design), bench->n_readings, chi, freedom);
    say(out, "# Read over the others: hl.parts { \"parts.yaml\", over = \"this file\" }\n");
    for (size_t k = 0; k < bench->n_values; k++) {
        const char *parameter;
        if (!is_told(result, k)) {
            put_untold(out, bench, result, k);
            continue;
        }
        if (item_of(bench->design, bench->values[k].settings[0], &parameter)) continue;
        char value[64];
        estimate_text(hl_fit_estimate_of(result, k), bench->values[k].unit, value, sizeof value);
        say(out, "# belongs to no part: --set %s='%s'\n", bench->values[k].fit.name, value);
    }
    say(out, "heatledger: parts/1\n\nparts:\n");
}

static bool any_told(const hl_bench *bench, const hl_fit_result *result)
{
    for (size_t k = 0; k < bench->n_values; k++)
        if (is_told(result, k)) return true;
    return false;
}

hl_status hl_bench_write_overlay(const hl_bench *bench, const hl_fit_result *result, const char *path,
                                 hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    text out = {0};
    bool *written = calloc(bench->n_values + 1, sizeof *written), good = written != NULL;
    size_t parts = 0;
    put_head(&out, bench, result);
    for (size_t k = 0; good && k < bench->n_values; k++) {
        const char *parameter;
        const hl_item *item = item_of(bench->design, bench->values[k].settings[0], &parameter);
        if (!item || written[k] || !is_told(result, k)) continue;
        good = add_part(&out, bench, result, item->part, written, diagnostics);
        parts++;
    }
    if (good && !parts) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL,
                           "%s: not written: no value that the readings tell belongs to a part%s", path,
                           any_told(bench, result) ? "; use --set" : "");
        good = false;
    }
    char why[300];
    if (good && !out.starved && !hl_replace_file(path, out.bytes, out.n, why, sizeof why)) {
        hl_place place = {path, 0, 0};
        hl_diagnostics_add(diagnostics, HL_ERROR, &place, "%s", why);
        good = false;
    }
    bool starved = out.starved || !written;
    free(written);
    free(out.bytes);
    return starved ? HL_NO_MEMORY : good ? HL_OK : HL_NO_FILE;
}
