/* banded.c - a quantity with its band: { typical: 30 nC, maximum: 40 nC }, { typical: 2 ohm, factor: 1.5 },
 * { marking: 4R7J }, "150 mohm ± 10 %". */
#include <math.h>
#include <string.h>

#include "catalogue/band.h"
#include "catalogue/number.h"
#include "heatledger/quantity.h"
#include "quantity/difference.h"
#include "quantity/marking.h"
#include "quantity/unit.h"

enum { TYPICAL, MINIMUM, MAXIMUM, TOLERANCE, FACTOR, SIGMA, SHAPE, GROUP, MARKING, ORIGIN, FIELDS };
static const char *const field_names[FIELDS + 1] = {"typical", "minimum", "maximum", "tolerance",
                                                    "factor",  "sigma",   "shape",   "group",
                                                    "marking", "origin",  NULL};
static const char *const shape_words[] = {"uniform", "triangular", "normal", "log_normal", NULL};

/* What a mapping said of its band. */
typedef struct stated {
    double tolerance, factor, sigma; /* 0: not said; sigma relative when sigma_is_share */
    bool sigma_is_share;
    int shape; /* hl_band_kind, 0: not said */
} stated;

static bool is_temperature(const hl_parameter *p)
{
    unit u;
    return p->dimension && unit_parse(p->dimension, strlen(p->dimension), &u, NULL, NULL) && u.celsius;
}

static bool parameter_scalar(value_reader *reader, const hl_parameter *p, const node *from, double *number)
{
    return scalar_read(reader, p->name, from, p->dimension, p->low, p->high, number);
}

/* { marking: 4R7J }: the code gives the value and, by its last letter, the tolerance. */
static bool read_marking(value_reader *reader, const hl_parameter *p, const node *from, double *number,
                         double *tolerance)
{
    char why[512];
    if (from->kind == NODE_BROKEN) return false;
    if (from->kind != NODE_SCALAR) {
        value_complain(reader, from, p->name, "a marking is one word as printed on the part");
        return false;
    }
    if (!marking_read(from->text, from->length, p->dimension, number, tolerance, why, sizeof why) ||
        !hl_quantity_plausible(from->text, from->length, *number, p->dimension, p->low, p->high, why,
                               sizeof why)) {
        value_complain(reader, from, p->name, "%s", why);
        return false;
    }
    return true;
}

/* "10 %", with or without a plus-minus sign before it. */
static bool read_share(value_reader *reader, const char *label, const char *what, const node *from,
                       double *share)
{
    node bare = *from;
    char why[512];
    if (from->kind == NODE_SCALAR) {
        static const char *const signs[] = {"\xC2\xB1", "+/-", "+-"};
        for (size_t s = 0; s < sizeof signs / sizeof signs[0]; s++) {
            size_t n = strlen(signs[s]);
            if (bare.length <= n || memcmp(bare.text, signs[s], n) != 0) continue;
            bare.text += n;
            bare.length -= n;
            break;
        }
    }
    if (!scalar_read(reader, label, &bare, "1", 0, 0, share)) return false;
    if (*share >= 0.0 && *share <= 1.0) return true;
    if (!hl_quantity_plausible(bare.text, bare.length, *share, "%", 0.0, 1.0, why, sizeof why))
        value_complain(reader, from, label, "%s %s", what, why);
    return false;
}

static bool read_tolerance(value_reader *reader, const hl_parameter *p, const node *from, double *tolerance)
{
    if (!is_temperature(p)) return read_share(reader, p->name, "tolerance", from, tolerance);
    value_complain(reader, from, p->name,
                   "a temperature has no percentage; state minimum: and maximum: instead");
    return false;
}

static bool read_factor(value_reader *reader, const char *label, const node *from, double *factor)
{
    if (!scalar_read(reader, label, from, "1", 0, 0, factor)) return false;
    if (*factor >= 1.0 && *factor <= 100.0) return true;
    value_complain(reader, from, label,
                   "factor: 2 means from half to twice the value; it lies between 1 and 100");
    return false;
}

/* A share of the value, or an amount in its own unit. */
static bool read_sigma(value_reader *reader, const hl_parameter *p, const char *what, const node *from,
                       stated *said)
{
    char why[512];
    bool share = from->kind == NODE_SCALAR && from->length > 0 && from->text[from->length - 1] == '%';
    if (share && is_temperature(p)) return read_tolerance(reader, p, from, &said->sigma);
    said->sigma_is_share = share;
    if (share) return read_share(reader, p->name, what, from, &said->sigma);
    if (from->kind != NODE_SCALAR)
        return scalar_read(reader, p->name, from, is_temperature(p) ? "K" : p->dimension, 0, 0, &said->sigma);
    const char *unit_text = is_temperature(p) ? "degC" : p->dimension;
    if (!quantity_difference(from->text, from->length, unit_text, &said->sigma, why, sizeof why)) {
        value_complain(reader, from, p->name, "%s: %s", what, why);
        return false;
    }
    if (said->sigma >= 0) return true;
    value_complain(reader, from, p->name, "%s: how far off is never negative", what);
    return false;
}

static bool read_shape(value_reader *reader, const char *label, const node *from, int *shape)
{
    if (from->kind == NODE_BROKEN) return false;
    for (int i = 0; from->kind == NODE_SCALAR && shape_words[i]; i++)
        if (strcmp(from->text, shape_words[i]) == 0) {
            *shape = HL_BAND_UNIFORM + i;
            return true;
        }
    value_complain(reader, from, label, "shape: is uniform, triangular, normal or log_normal");
    return false;
}

/* "core", or "-core" for what falls as the others of its group rise. */
bool group_read(value_reader *reader, const char *label, const node *from, hl_band *band)
{
    if (from->kind == NODE_BROKEN) return false;
    bool opposed = from->kind == NODE_SCALAR && from->length > 1 && from->text[0] == '-';
    const char *name = opposed ? from->text + 1 : from->text;
    size_t length = from->kind == NODE_SCALAR ? strlen(name) : 0;
    if (length == 0 || length > 48 || strspn(name, "abcdefghijklmnopqrstuvwxyz0123456789_") != length) {
        value_complain(reader, from, label,
                       "group: is one word of lower-case letters, digits and _ (at most 48), with - before "
                       "it for what falls as the others rise");
        return false;
    }
    if (!reader->memory && !reader->scratch) return true;
    band->group = arena_text(reader->memory ? reader->memory : reader->scratch, name, length);
    band->opposed = opposed;
    if (!band->group) reader->starved = true;
    return band->group != NULL;
}

static int widths_stated(const node *const f[])
{
    return (f[TOLERANCE] != NULL) + (f[FACTOR] != NULL) + (f[SIGMA] != NULL) + (f[MINIMUM] || f[MAXIMUM]);
}

static bool fields_agree(value_reader *reader, const hl_parameter *p, const node *from, const node *const f[])
{
    const node *width = f[TOLERANCE] ? f[TOLERANCE] : f[FACTOR] ? f[FACTOR] : f[SIGMA];
    const char *word = f[TOLERANCE] ? "tolerance" : f[FACTOR] ? "factor" : "sigma";
    if (f[MARKING] && f[TYPICAL])
        value_complain(reader, f[MARKING], p->name, "typical: and marking: both state the value; keep one");
    else if (width && (f[MINIMUM] || f[MAXIMUM]))
        value_complain(reader, width, p->name, "%s: and a minimum: or maximum: do not go together", word);
    else if (widths_stated(f) > 1)
        value_complain(reader, f[FACTOR] && f[TOLERANCE] ? f[FACTOR] : f[SIGMA], p->name,
                       "tolerance:, factor: and sigma: each state the band; keep one");
    else if (width && !f[TYPICAL] && !f[MARKING])
        value_complain(reader, width, p->name, "%s: of what? state typical: too", word);
    else if (!f[TYPICAL] && !f[MARKING] && !f[MINIMUM] && !f[MAXIMUM])
        value_complain(reader, from, p->name,
                       "no value here; state typical:, minimum:, maximum: or marking:");
    else
        return true;
    return false;
}

/* A band with no typical value inside is represented by its middle; one bound alone by itself. */
static void complete_ends(const node *const f[], const stated *said, hl_value *value)
{
    bool centre = f[TYPICAL] || f[MARKING];
    if (!centre && f[MINIMUM] && f[MAXIMUM]) {
        bool ratio = said->shape == HL_BAND_LOG_NORMAL && value->minimum > 0;
        value->number = ratio ? sqrt(value->minimum) * sqrt(value->maximum)
                              : value->minimum + 0.5 * (value->maximum - value->minimum);
    } else if (!centre) {
        value->number = f[MINIMUM] ? value->minimum : value->maximum;
    }
    double reach = said->tolerance * fabs(value->number);
    if (!f[MINIMUM]) value->minimum = value->number - reach;
    if (!f[MAXIMUM]) value->maximum = value->number + reach;
}

static bool ends_rise(value_reader *reader, const hl_parameter *p, const node *const f[],
                      const hl_value *value)
{
    char low[64], middle[64], high[64];
    if (value->minimum <= value->number && value->number <= value->maximum) return true;
    hl_quantity_print(value->minimum, p->dimension, 6, low, sizeof low);
    hl_quantity_print(value->number, p->dimension, 6, middle, sizeof middle);
    hl_quantity_print(value->maximum, p->dimension, 6, high, sizeof high);
    const node *at = value->minimum <= value->number ? f[MAXIMUM] : f[MINIMUM];
    value_complain(reader, at, p->name, "minimum %s, typical %s, maximum %s do not rise in this order", low,
                   middle, high);
    return false;
}

/* The end that is not stated lies as far off as the other: by the same ratio where the sign allows. */
static double mirrored(double number, double end)
{
    return number > 0 && end > 0 ? number * (number / end) : number - (end - number);
}

static hl_band_kind default_shape(const node *const f[])
{
    bool centre = f[TYPICAL] || f[MARKING];
    return centre && (f[MINIMUM] || f[MAXIMUM]) ? HL_BAND_TRIANGULAR : HL_BAND_UNIFORM;
}

static hl_band band_stated(const node *const f[], const stated *said, const hl_value *value)
{
    bool centre = f[TYPICAL] || f[MARKING];
    double number = value->number, low = value->minimum, high = value->maximum;
    if (said->sigma > 0) {
        double sigma = said->sigma_is_share ? said->sigma * fabs(number) : said->sigma;
        if (said->shape == HL_BAND_LOG_NORMAL) return band_factor(number, exp(band_reach() * sigma / number));
        return band_normal(number, sigma);
    }
    if (said->factor > 1) return band_factor(number, said->factor);
    if (!centre && (!f[MINIMUM] || !f[MAXIMUM])) return band_exact(number);
    if (centre && f[MINIMUM] && !f[MAXIMUM]) high = mirrored(number, low);
    if (centre && f[MAXIMUM] && !f[MINIMUM]) low = mirrored(number, high);
    return band_between(said->shape ? (hl_band_kind)said->shape : default_shape(f), low, number, high);
}

static bool shape_fits(value_reader *reader, const hl_parameter *p, const node *from, const node *const f[],
                       const stated *said, const hl_value *value)
{
    bool ratio = f[FACTOR] || said->shape == HL_BAND_LOG_NORMAL;
    const node *at = f[SHAPE] ? f[SHAPE] : f[FACTOR] ? f[FACTOR] : from;
    if (ratio && !(value->number > 0 && value->minimum > 0))
        value_complain(reader, at, p->name, "a band by a factor (log_normal) needs values above zero");
    else if (f[SHAPE] && !widths_stated(f) && !(said->tolerance > 0))
        value_complain(reader, at, p->name, "shape: of what band? state tolerance:, sigma: or both ends");
    else if (f[FACTOR] && said->shape && said->shape != HL_BAND_LOG_NORMAL)
        value_complain(reader, at, p->name, "factor: is a log_normal band; leave shape: out");
    else if (f[SIGMA] && said->shape && said->shape < HL_BAND_NORMAL)
        value_complain(reader, at, p->name, "sigma: is of a normal or log_normal band");
    else
        return true;
    return false;
}

static bool read_band_fields(value_reader *reader, const hl_parameter *p, const node *const f[], stated *said,
                             hl_band *band)
{
    bool good = true;
    if (f[TOLERANCE]) good &= read_tolerance(reader, p, f[TOLERANCE], &said->tolerance);
    if (f[FACTOR] && is_temperature(p)) {
        value_complain(reader, f[FACTOR], p->name,
                       "a temperature has no factor; state minimum: and maximum: instead");
        good = false;
    } else if (f[FACTOR]) {
        good &= read_factor(reader, p->name, f[FACTOR], &said->factor);
    }
    if (f[SIGMA]) good &= read_sigma(reader, p, "sigma", f[SIGMA], said);
    if (f[SHAPE]) good &= read_shape(reader, p->name, f[SHAPE], &said->shape);
    if (f[GROUP]) good &= group_read(reader, p->name, f[GROUP], band);
    return good;
}

static bool read_fields(value_reader *reader, const hl_parameter *p, const node *const f[], stated *said,
                        hl_value *value, hl_band *band)
{
    bool good = true;
    if (f[TYPICAL]) good &= parameter_scalar(reader, p, f[TYPICAL], &value->number);
    if (f[MINIMUM]) good &= parameter_scalar(reader, p, f[MINIMUM], &value->minimum);
    if (f[MAXIMUM]) good &= parameter_scalar(reader, p, f[MAXIMUM], &value->maximum);
    if (f[MARKING]) {
        value->origin = HL_ORIGIN_MARKING;
        good &= read_marking(reader, p, f[MARKING], &value->number, &said->tolerance);
    }
    good &= read_band_fields(reader, p, f, said, band);
    if (f[ORIGIN]) good &= (value->origin = origin_read(reader, p->name, f[ORIGIN])) != HL_ORIGIN_ABSENT;
    return good;
}

/* The band's name stays with what was read; shape and ends come from `made`. */
static void adopt_band(hl_band made, hl_band *band, hl_value *value)
{
    made.group = band->group;
    made.opposed = band->opposed;
    *band = made;
    if (made.kind != HL_BAND_NORMAL && made.kind != HL_BAND_LOG_NORMAL) return;
    value->minimum = made.low;
    value->maximum = made.high;
}

/* "150 mohm ± 10 %", "4.7 V +- 0.2 V": the amount is a share or has the value's own unit. */
static bool read_plus_minus(value_reader *reader, const hl_parameter *p, const node *from, size_t at,
                            size_t sign, hl_value *value, hl_band *band)
{
    node number = *from, width = *from;
    stated said = {0};
    number.length = at;
    width.text += at + sign;
    width.length -= at + sign;
    if (!parameter_scalar(reader, p, &number, &value->number) ||
        !read_sigma(reader, p, "after the sign", &width, &said))
        return false;
    double reach = said.sigma_is_share ? said.sigma * fabs(value->number) : said.sigma;
    value->minimum = value->number - reach;
    value->maximum = value->number + reach;
    *band = band_between(HL_BAND_UNIFORM, value->minimum, value->number, value->maximum);
    return true;
}

static bool read_lone(value_reader *reader, const hl_parameter *p, const node *from, hl_value *value,
                      hl_band *band)
{
    size_t sign = 0, at = from->kind == NODE_SCALAR ? plus_minus_at(from->text, from->length, &sign) : 0;
    if (at) return read_plus_minus(reader, p, from, at, sign, value, band);
    if (!parameter_scalar(reader, p, from, &value->number)) return false;
    value->minimum = value->maximum = value->number;
    *band = band_exact(value->number);
    return true;
}

bool number_read(value_reader *reader, const hl_parameter *parameter, const node *from, hl_value *value,
                 hl_band *band)
{
    if (from->kind != NODE_MAPPING) return read_lone(reader, parameter, from, value, band);
    const node *f[FIELDS] = {NULL};
    stated said = {0};
    bool known = fields_read(reader, parameter->name, from, field_names, f);
    bool valued = f[TYPICAL] || f[MARKING] || f[MINIMUM] || f[MAXIMUM];
    if (!known && !valued) return false; /* misspelt, most likely, and told */
    if (!fields_agree(reader, parameter, from, f) || !read_fields(reader, parameter, f, &said, value, band) ||
        !known)
        return false;
    complete_ends(f, &said, value);
    if (!ends_rise(reader, parameter, f, value) || !shape_fits(reader, parameter, from, f, &said, value))
        return false;
    adopt_band(band_stated(f, &said, value), band, value);
    return true;
}

bool scale_read(value_reader *reader, const char *label, const node *const fields[SCALE_FIELDS],
                hl_band *band)
{
    static const hl_parameter one = {.dimension = "1"};
    hl_parameter scale = one;
    scale.name = label;
    const node *f[FIELDS] = {NULL};
    f[TOLERANCE] = fields[SCALE_TOLERANCE];
    f[FACTOR] = fields[SCALE_FACTOR];
    f[SIGMA] = fields[SCALE_SIGMA];
    f[GROUP] = fields[SCALE_GROUP];
    const node *width = f[TOLERANCE] ? f[TOLERANCE] : f[FACTOR] ? f[FACTOR] : f[SIGMA];
    if (width && widths_stated(f) > 1) {
        value_complain(reader, width, label, "tolerance:, factor: and sigma: each state the band; keep one");
        return false;
    }
    stated said = {0};
    hl_value value = {.number = 1, .minimum = 1, .maximum = 1};
    if (!read_band_fields(reader, &scale, f, &said, band)) return false;
    value.minimum -= said.tolerance;
    value.maximum += said.tolerance;
    static const node stands = {.kind = NODE_SCALAR};
    f[TYPICAL] = &stands;
    adopt_band(band_stated(f, &said, &value), band, &value);
    return true;
}

bool width_read(value_reader *reader, const hl_parameter *p, const node *factor, const node *tolerance,
                const node *sigma, hl_band_kind *shape, double *width, bool *share)
{
    const node *f[FIELDS] = {NULL};
    hl_parameter scale = *p;
    if (p->kind != HL_NUMBER) scale.dimension = "1";
    f[FACTOR] = factor;
    f[TOLERANCE] = tolerance;
    f[SIGMA] = sigma;
    stated said = {0};
    hl_band unused = {.kind = HL_BAND_NONE};
    if (!read_band_fields(reader, &scale, f, &said, &unused)) return false;
    *shape = factor ? HL_BAND_LOG_NORMAL : tolerance ? HL_BAND_UNIFORM : HL_BAND_NORMAL;
    *width = factor ? said.factor : tolerance ? said.tolerance : said.sigma;
    *share = !sigma || said.sigma_is_share;
    return true;
}
