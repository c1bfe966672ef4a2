/* unit.c - the table of units and the parser of products and quotients of them.
 *
 * source of units, prefixes and factors: SI brochure, 9th edition, 2019, tables 2 to 8; inch: 25.4 mm
 * exactly (1959 yard agreement).  Both micro signs and both ohm signs of Unicode are read. */
#include "quantity/unit.h"

#include <stdint.h>
#include <string.h>

enum { TERMS_MAX = 8, POWER_MAX = 9, DIMENSION_MAX = 24 };

typedef enum prefixes {
    BARE = 0,       /* takes no prefix */
    SCALED = 1,     /* femto to tera */
    WITH_CENTI = 2, /* and centi */
    WITH_HECTO = 4, /* and hecto */
} prefixes;

typedef struct symbol {
    const char *name;
    hl_dimension dimension; /* kg m s A K */
    int exponent;
    double multiple;
    prefixes allowed;
    bool celsius;
} symbol;

/* clang-format off */
static const symbol symbols[] = {
    {"ohm",  {1, 2, -3, -2, 0},  0, 1,    SCALED, false},
    {"Ohm",  {1, 2, -3, -2, 0},  0, 1,    SCALED, false},
    {"\xCE\xA9",     {1, 2, -3, -2, 0}, 0, 1, SCALED, false}, /* U+03A9 */
    {"\xE2\x84\xA6", {1, 2, -3, -2, 0}, 0, 1, SCALED, false}, /* U+2126 */
    {"V",    {1, 2, -3, -1, 0},  0, 1,    SCALED, false},
    {"Vrms", {1, 2, -3, -1, 0},  0, 1,    SCALED, false},
    {"Vdc",  {1, 2, -3, -1, 0},  0, 1,    SCALED, false},
    {"Vac",  {1, 2, -3, -1, 0},  0, 1,    SCALED, false},
    {"A",    {0, 0, 0, 1, 0},    0, 1,    SCALED, false},
    {"Arms", {0, 0, 0, 1, 0},    0, 1,    SCALED, false},
    {"Adc",  {0, 0, 0, 1, 0},    0, 1,    SCALED, false},
    {"W",    {1, 2, -3, 0, 0},   0, 1,    SCALED, false},
    {"VA",   {1, 2, -3, 0, 0},   0, 1,    SCALED, false},
    {"J",    {1, 2, -2, 0, 0},   0, 1,    SCALED, false},
    {"Wh",   {1, 2, -2, 0, 0},   2, 36,   SCALED, false},
    {"Ah",   {0, 0, 1, 1, 0},    2, 36,   SCALED, false},
    {"C",    {0, 0, 1, 1, 0},    0, 1,    SCALED, false},
    {"F",    {-1, -2, 4, 2, 0},  0, 1,    SCALED, false},
    {"H",    {1, 2, -2, -2, 0},  0, 1,    SCALED, false},
    {"Wb",   {1, 2, -2, -1, 0},  0, 1,    SCALED, false},
    {"T",    {1, 0, -2, -1, 0},  0, 1,    SCALED, false},
    {"S",    {-1, -2, 3, 2, 0},  0, 1,    SCALED, false},
    {"Hz",   {0, 0, -1, 0, 0},   0, 1,    SCALED, false},
    {"s",    {0, 0, 1, 0, 0},    0, 1,    SCALED, false},
    {"min",  {0, 0, 1, 0, 0},    1, 6,    BARE,   false},
    {"h",    {0, 0, 1, 0, 0},    2, 36,   BARE,   false},
    {"m",    {0, 1, 0, 0, 0},    0, 1,    SCALED | WITH_CENTI, false},
    {"in",   {0, 1, 0, 0, 0},   -4, 254,  BARE,   false},
    {"mil",  {0, 1, 0, 0, 0},   -7, 254,  BARE,   false},
    {"g",    {1, 0, 0, 0, 0},   -3, 1,    SCALED, false},
    {"N",    {1, 1, -2, 0, 0},   0, 1,    SCALED, false},
    {"Pa",   {1, -1, -2, 0, 0},  0, 1,    SCALED | WITH_HECTO, false},
    {"K",    {0, 0, 0, 0, 1},    0, 1,    SCALED, false},
    {"degC", {0, 0, 0, 0, 1},    0, 1,    BARE,   true},
    {"\xC2\xB0" "C",   {0, 0, 0, 0, 1}, 0, 1, BARE, true}, /* degree sign, C */
    {"\xE2\x84\x83",   {0, 0, 0, 0, 1}, 0, 1, BARE, true}, /* U+2103 */
    {"%",    {0, 0, 0, 0, 0},   -2, 1,    BARE,   false},
    {"ppm",  {0, 0, 0, 0, 0},   -6, 1,    BARE,   false},
    {"rad",  {0, 0, 0, 0, 0},    0, 1,    SCALED, false},
    {"1",    {0, 0, 0, 0, 0},    0, 1,    BARE,   false},
};

static const struct { const char *text; int exponent; prefixes needs; } prefix_table[] = {
    {"f", -15, SCALED}, {"p", -12, SCALED}, {"n", -9, SCALED},
    {"u", -6, SCALED}, {"\xC2\xB5", -6, SCALED}, {"\xCE\xBC", -6, SCALED}, /* U+00B5, U+03BC */
    {"m", -3, SCALED}, {"c", -2, WITH_CENTI}, {"h", 2, WITH_HECTO},
    {"k", 3, SCALED}, {"M", 6, SCALED}, {"G", 9, SCALED}, {"T", 12, SCALED},
};
/* clang-format on */

enum { SYMBOLS = sizeof symbols / sizeof *symbols, PREFIXES = sizeof prefix_table / sizeof *prefix_table };

static bool starts(const char *text, size_t length, const char *word)
{
    size_t n = strlen(word);
    return n <= length && memcmp(text, word, n) == 0;
}

const char *unit_symbol(size_t index)
{
    return index < SYMBOLS ? symbols[index].name : NULL;
}

size_t prefix_at(const char *text, size_t length, int *exponent)
{
    for (size_t i = 0; i < PREFIXES; i++) {
        if (!starts(text, length, prefix_table[i].text)) continue;
        *exponent = prefix_table[i].exponent;
        return strlen(prefix_table[i].text);
    }
    return 0;
}

size_t space_at(const char *text, size_t length)
{
    /* ASCII blank and tab, U+00A0 no-break, U+2009 thin, U+202F narrow no-break */
    static const char *const blanks[] = {" ", "\t", "\xC2\xA0", "\xE2\x80\x89", "\xE2\x80\xAF"};
    for (size_t i = 0; i < sizeof blanks / sizeof *blanks; i++)
        if (starts(text, length, blanks[i])) return strlen(blanks[i]);
    return 0;
}

static const symbol *find_symbol(const char *text, size_t length)
{
    for (size_t i = 0; i < SYMBOLS; i++)
        if (strlen(symbols[i].name) == length && memcmp(symbols[i].name, text, length) == 0)
            return &symbols[i];
    return NULL;
}

/* A whole symbol wins over a prefix and a symbol: "min" is minutes, "mil" a thousandth of an inch. */
static const symbol *find_prefixed(const char *text, size_t length, int *exponent, size_t *prefix_length)
{
    *exponent = 0;
    *prefix_length = 0;
    const symbol *whole = find_symbol(text, length);
    if (whole) return whole;
    for (size_t i = 0; i < PREFIXES; i++) {
        size_t n = strlen(prefix_table[i].text);
        if (!starts(text, length, prefix_table[i].text) || n == length) continue;
        const symbol *rest = find_symbol(text + n, length - n);
        if (!rest || !(rest->allowed & prefix_table[i].needs)) continue;
        *exponent = prefix_table[i].exponent;
        *prefix_length = n;
        return rest;
    }
    return NULL;
}

typedef struct parser {
    const char *text;
    size_t length, at;
    unit *parsed;
    int terms;
} parser;

static size_t skip_spaces(parser *p)
{
    size_t from = p->at, n;
    while (p->at < p->length && (n = space_at(p->text + p->at, p->length - p->at)) > 0) p->at += n;
    return p->at - from;
}

static bool take(parser *p, const char *word)
{
    if (!starts(p->text + p->at, p->length - p->at, word)) return false;
    p->at += strlen(word);
    return true;
}

/* Bytes of a symbol: letters, percent, and the non-ASCII signs but the raised digits and the dot. */
static size_t symbol_length(const char *text, size_t length)
{
    size_t n = 0;
    while (n < length) {
        unsigned char c = (unsigned char)text[n];
        bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '%';
        if (c >= 0x80) {
            const char *rest = text + n;
            if (starts(rest, length - n, "\xC2\xB2") || starts(rest, length - n, "\xC2\xB3") ||
                starts(rest, length - n, "\xC2\xB7") || space_at(rest, length - n))
                break;
            letter = true;
        }
        if (!letter) break;
        n++;
    }
    return n;
}

/* "^2", "^-1", a raised digit, or a digit straight after the symbol ("mm2"). */
static bool take_power(parser *p, int *power)
{
    *power = 1;
    if (take(p, "\xC2\xB2")) {
        *power = 2;
        return true;
    }
    if (take(p, "\xC2\xB3")) {
        *power = 3;
        return true;
    }
    bool caret = take(p, "^"), minus = caret && take(p, "-");
    if (p->at >= p->length || p->text[p->at] < '0' || p->text[p->at] > '9') return !caret;
    *power = p->text[p->at++] - '0';
    if (*power == 0 || *power > POWER_MAX) return false;
    if (p->at < p->length && p->text[p->at] >= '0' && p->text[p->at] <= '9') return false;
    if (minus) *power = -*power;
    return true;
}

static bool add_exponent(signed char *sum, int exponent, int power)
{
    int total = *sum + exponent * power;
    if (total < -DIMENSION_MAX || total > DIMENSION_MAX) return false;
    *sum = (signed char)total;
    return true;
}

static bool multiply(unit *u, const symbol *s, int exponent, int power)
{
    hl_dimension *d = &u->dimension;
    for (int i = 0; i < (power < 0 ? -power : power); i++)
        *(power < 0 ? &u->divisor : &u->multiple) *= s->multiple;
    u->exponent += (s->exponent + exponent) * power;
    return add_exponent(&d->mass, s->dimension.mass, power) &&
           add_exponent(&d->length, s->dimension.length, power) &&
           add_exponent(&d->time, s->dimension.time, power) &&
           add_exponent(&d->current, s->dimension.current, power) &&
           add_exponent(&d->temperature, s->dimension.temperature, power);
}

static bool parse_term(parser *p, int sign)
{
    if (++p->terms > TERMS_MAX) return false;
    const char *start = p->text + p->at;
    size_t left = p->length - p->at, n = symbol_length(start, left), prefix = 0;
    if (n == 0 && left > 0 && *start == '1') n = 1;
    int exponent = 0, power = 1;
    const symbol *s = n ? find_prefixed(start, n, &exponent, &prefix) : NULL;
    if (!s) return false;
    size_t began = p->at;
    p->at += n;
    if (!take_power(p, &power)) {
        p->at = began;
        return false;
    }
    unit *u = p->parsed;
    if (p->terms == 1) {
        u->prefixed = prefix > 0;
        u->prefix_length = prefix;
        u->symbol_start = began;
        u->celsius = s->celsius && power == 1;
    }
    if (p->terms > 1 || power != 1) {
        u->composed = true;
        u->celsius = false; /* in a product a degree Celsius is a step of one kelvin */
    }
    return multiply(u, s, exponent, power * sign);
}

/* Terms one after another: "A^2 s", "V*s", "N·m"; until a slash, a bracket or the end. */
static bool parse_terms(parser *p, int sign)
{
    if (!parse_term(p, sign)) return false;
    for (;;) {
        size_t before = p->at;
        bool blank = skip_spaces(p) > 0;
        bool dot = take(p, "*") || take(p, "\xC2\xB7");
        if (dot) skip_spaces(p);
        char next = p->at < p->length ? p->text[p->at] : '\0';
        if (p->at >= p->length || next == '/' || next == ')') {
            if (dot) p->at = before;
            return !dot;
        }
        if (!blank && !dot) return false;
        if (!parse_term(p, sign)) return false;
    }
}

static bool parse_below(parser *p)
{
    skip_spaces(p);
    if (!take(p, "(")) return parse_term(p, -1);
    skip_spaces(p);
    return parse_terms(p, -1) && take(p, ")");
}

static bool parse_all(parser *p)
{
    skip_spaces(p);
    if (!parse_terms(p, 1)) return false;
    for (;;) {
        skip_spaces(p);
        if (p->at == p->length) return true;
        if (!take(p, "/") || !parse_below(p)) return false;
    }
}

bool unit_parse(const char *text, size_t length, unit *parsed, const char **bad, size_t *bad_length)
{
    *parsed = (unit){.multiple = 1.0, .divisor = 1.0};
    parser p = {.text = text, .length = length, .parsed = parsed};
    if (parse_all(&p)) return true;
    size_t left = length - p.at, n = symbol_length(text + p.at, left);
    if (bad) *bad = text + p.at;
    if (bad_length) *bad_length = n ? n : left;
    return false;
}
