/* expression.c - reading and evaluating the formula of an estimate rule. */
#include "catalogue/expression.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "quantity/decimal.h"
#include "quantity/excerpt.h"
#include "quantity/unit.h"

typedef enum operation { NUMBER, NAME, ADD, SUBTRACT, MULTIPLY, DIVIDE, POWER, NEGATE, CALL } operation;
typedef enum function { MINIMUM, MAXIMUM, FIRST, ROOT, EXPONENTIAL, LOGARITHM, FUNCTIONS } function;

struct expression {
    operation operation;
    function called;
    double number;
    const char *name, *column; /* of a NAME */
    expression *left, *right;  /* operands; of min and max both */
    hl_dimension dimension;
};

typedef struct reader {
    arena *memory;
    const char *text;
    size_t length, at, depth;
    expression_knows *knows;
    const void *context;
    char *why;
    size_t size;
    size_t wrong_at;
    bool wrong;
} reader;

static const char *const function_words[FUNCTIONS + 1] = {"min", "max", "first", "sqrt", "exp", "ln", NULL};

static expression *refuse(reader *r, size_t at, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static expression *refuse(reader *r, size_t at, const char *format, ...)
{
    if (r->wrong) return NULL;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(r->why, r->size, format, arguments);
    va_end(arguments);
    r->wrong = true;
    r->wrong_at = at;
    return NULL;
}

static expression *make(reader *r, operation kind, expression *left, expression *right)
{
    expression *made = arena_take(r->memory, sizeof *made);
    if (!made) {
        r->why[0] = '\0';
        r->wrong = true;
        return NULL;
    }
    *made = (expression){.operation = kind, .left = left, .right = right};
    return made;
}

static void skip_blanks(reader *r)
{
    while (r->at < r->length && (r->text[r->at] == ' ' || r->text[r->at] == '\t' || r->text[r->at] == '\n'))
        r->at++;
}

static char peek(reader *r)
{
    skip_blanks(r);
    return r->at < r->length ? r->text[r->at] : '\0';
}

static bool accept(reader *r, char c)
{
    if (peek(r) != c) return false;
    r->at++;
    return true;
}

static expression *read_sum(reader *r);

static expression *same_dimension(reader *r, size_t at, const char *what, operation kind, expression *left,
                                  expression *right)
{
    if (!left || !right) return NULL;
    if (!dimension_equal(left->dimension, right->dimension))
        return refuse(r, at, "%s wants two values of the same dimension", what);
    expression *made = make(r, kind, left, right);
    if (made) made->dimension = left->dimension;
    return made;
}

static signed char limited(int exponent)
{
    return (signed char)(exponent > 100 ? 100 : exponent < -100 ? -100 : exponent);
}

/* a times b to the power n, in dimensions. */
static hl_dimension combined(hl_dimension a, hl_dimension b, int n)
{
    return (hl_dimension){limited(a.mass + n * b.mass), limited(a.length + n * b.length),
                          limited(a.time + n * b.time), limited(a.current + n * b.current),
                          limited(a.temperature + n * b.temperature)};
}

/* 150 or 150 [mohm] */
static expression *read_number(reader *r)
{
    decimal scanned;
    size_t n = decimal_scan(r->text + r->at, r->length - r->at, &scanned), start = r->at;
    if (n == 0) return refuse(r, start, "a number, a name or ( is wanted here");
    r->at += n;
    expression *made = make(r, NUMBER, NULL, NULL);
    if (!made) return NULL;
    made->number = decimal_value(&scanned, 0);
    if (!accept(r, '[')) return made;
    size_t from = r->at;
    while (r->at < r->length && r->text[r->at] != ']') r->at++;
    if (r->at == r->length) return refuse(r, from - 1, "[ without ]");
    unit u;
    const char *begin = r->text + from;
    size_t length = r->at++ - from;
    trim_blanks(&begin, &length);
    if (!unit_parse(begin, length, &u, NULL, NULL))
        return refuse(r, from, "'%s' is not a unit known here", excerpt_of(begin, length).text);
    made->number = decimal_value(&scanned, u.exponent) * u.multiple / u.divisor;
    if (u.celsius) made->number += 273.15;
    made->dimension = u.dimension;
    return made;
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
}

static char *read_word(reader *r)
{
    size_t n = 0;
    while (r->at + n < r->length && is_letter(r->text[r->at + n])) n++;
    char *word = arena_text(r->memory, r->text + r->at, n);
    if (!word) {
        r->why[0] = '\0';
        r->wrong = true;
        return NULL;
    }
    r->at += n;
    return word;
}

static expression *read_call(reader *r, function called, size_t at)
{
    expression *first = read_sum(r), *second = NULL;
    bool pair = called == MINIMUM || called == MAXIMUM || called == FIRST;
    if (!first) return NULL;
    if (pair) {
        if (!accept(r, ',')) return refuse(r, r->at, "%s wants two values", function_words[called]);
        if (!(second = read_sum(r))) return NULL;
    }
    if (!accept(r, ')')) return refuse(r, r->at, ") is wanted here");
    expression *made = pair ? same_dimension(r, at, function_words[called], CALL, first, second)
                            : make(r, CALL, first, NULL);
    if (!made) return NULL;
    made->called = called;
    hl_dimension d = first->dimension;
    if (called == ROOT) {
        if ((d.mass | d.length | d.time | d.current | d.temperature) & 1)
            return refuse(r, at, "sqrt of this has no dimension that exists");
        made->dimension =
            (hl_dimension){(signed char)(d.mass / 2), (signed char)(d.length / 2), (signed char)(d.time / 2),
                           (signed char)(d.current / 2), (signed char)(d.temperature / 2)};
    } else if (!pair && !dimension_none(d)) {
        return refuse(r, at, "%s wants a value without dimension", function_words[called]);
    }
    return made;
}

static expression *read_name(reader *r)
{
    size_t at = r->at;
    char why[200] = "";
    const char *name = read_word(r), *column = NULL;
    if (!name) return NULL;
    if (accept(r, '(')) {
        for (int f = 0; f < FUNCTIONS; f++)
            if (!strcmp(name, function_words[f])) return read_call(r, (function)f, at);
        return refuse(r, at, "'%s' is no function here; known are min, max, first, sqrt, exp and ln",
                      excerpt_of(name, strlen(name)).text);
    }
    if (accept(r, '.') && !(column = read_word(r))) return NULL;
    hl_dimension dimension = {0, 0, 0, 0, 0};
    if (!r->knows(r->context, name, column, &dimension, why, sizeof why)) return refuse(r, at, "%s", why);
    expression *made = make(r, NAME, NULL, NULL);
    if (!made) return NULL;
    made->name = name;
    made->column = column;
    made->dimension = dimension;
    return made;
}

static expression *read_primary(reader *r)
{
    char c = peek(r);
    if (c == '(') {
        r->at++;
        expression *inner = read_sum(r);
        if (inner && !accept(r, ')')) return refuse(r, r->at, ") is wanted here");
        return inner;
    }
    if ((c >= 'a' && c <= 'z') || c == '_') return read_name(r);
    return read_number(r);
}

static expression *read_signed(reader *r);

static expression *read_power(reader *r)
{
    expression *base = read_primary(r);
    size_t at = r->at;
    if (!base || !accept(r, '^')) return base;
    expression *exponent = read_signed(r);
    if (!exponent) return NULL;
    if (!dimension_none(exponent->dimension)) return refuse(r, at, "an exponent has no dimension");
    expression *made = make(r, POWER, base, exponent);
    if (!made || dimension_none(base->dimension)) return made;
    bool negative = exponent->operation == NEGATE;
    const expression *plain = negative ? exponent->left : exponent;
    if (plain->operation != NUMBER || plain->number != floor(plain->number) || plain->number > 10)
        return refuse(r, at,
                      "only a value without dimension may have such a power; divide it by a usual one");
    made->dimension =
        combined((hl_dimension){0, 0, 0, 0, 0}, base->dimension, (negative ? -1 : 1) * (int)plain->number);
    return made;
}

static expression *read_signed(reader *r)
{
    if (++r->depth > EXPRESSION_DEPTH_MAX) return refuse(r, r->at, "nested too deeply");
    expression *made = NULL;
    if (peek(r) == '-') {
        r->at++;
        expression *of = read_signed(r);
        made = of ? make(r, NEGATE, of, NULL) : NULL;
        if (made) made->dimension = of->dimension;
    } else {
        made = read_power(r);
    }
    r->depth--;
    return made;
}

static expression *read_product(reader *r)
{
    expression *left = read_signed(r);
    while (left) {
        char c = peek(r);
        if (c != '*' && c != '/') break;
        r->at++;
        expression *right = read_signed(r), *made = NULL;
        if (right) made = make(r, c == '*' ? MULTIPLY : DIVIDE, left, right);
        if (made) made->dimension = combined(left->dimension, right->dimension, c == '*' ? 1 : -1);
        left = made;
    }
    return left;
}

static expression *read_sum(reader *r)
{
    if (++r->depth > EXPRESSION_DEPTH_MAX) return refuse(r, r->at, "nested too deeply");
    expression *left = read_product(r);
    while (left) {
        char c = peek(r);
        size_t at = r->at;
        if (c != '+' && c != '-') break;
        r->at++;
        left = same_dimension(r, at, c == '+' ? "a sum" : "a difference", c == '+' ? ADD : SUBTRACT, left,
                              read_product(r));
    }
    r->depth--;
    return left;
}

/* Characters of UTF-8 in the first n bytes. */
static size_t characters(const char *text, size_t n)
{
    size_t count = 0;
    for (size_t i = 0; i < n; i++) count += ((unsigned char)text[i] & 0xC0u) != 0x80u;
    return count;
}

expression *expression_read(arena *memory, const char *text, size_t length, expression_knows *knows,
                            const void *context, char *why, size_t size, size_t *column)
{
    reader r = {.memory = memory,
                .text = text,
                .length = length,
                .knows = knows,
                .context = context,
                .why = why,
                .size = size};
    expression *made = NULL;
    why[0] = '\0';
    if (length > EXPRESSION_BYTES_MAX)
        refuse(&r, 0, "longer than %d characters; split it into rules that build on each other",
               EXPRESSION_BYTES_MAX);
    else if ((made = read_sum(&r)) && peek(&r) != '\0')
        made = refuse(&r, r.at, "nothing more is expected here; + - * / ^ join values");
    *column = characters(text, r.wrong_at < length ? r.wrong_at : length);
    return r.wrong ? NULL : made;
}

hl_dimension expression_dimension(const expression *from)
{
    return from->dimension;
}

static double call(function called, double a, double b, size_t index)
{
    switch (called) {
    case MINIMUM:
        return isnan(a) || isnan(b) ? NAN : fmin(a, b);
    case MAXIMUM:
        return isnan(a) || isnan(b) ? NAN : fmax(a, b);
    case FIRST:
        return index == 0 ? a : b;
    case ROOT:
        return a >= 0 ? sqrt(a) : NAN;
    case EXPONENTIAL:
        return exp(a);
    case LOGARITHM:
        return a > 0 ? log(a) : NAN;
    case FUNCTIONS:
        break;
    }
    return NAN;
}

double expression_evaluate(const expression *from, expression_value *value, const void *context, size_t index)
{
    if (!from) return NAN;
    if (from->operation == NUMBER) return from->number;
    if (from->operation == NAME) return value(context, from->name, from->column, index);
    double a = expression_evaluate(from->left, value, context, index);
    double b = from->right ? expression_evaluate(from->right, value, context, index) : 0;
    switch (from->operation) {
    case ADD:
        return a + b;
    case SUBTRACT:
        return a - b;
    case MULTIPLY:
        return a * b;
    case DIVIDE:
        return b != 0 ? a / b : NAN;
    case POWER:
        return pow(a, b);
    case NEGATE:
        return -a;
    case CALL:
        return call(from->called, a, b, index);
    case NUMBER:
    case NAME:
        break;
    }
    return NAN;
}

void expression_names(const expression *from, expression_visit *visit, void *context)
{
    if (!from) return;
    if (from->operation == NAME) visit(context, from->name, from->column);
    expression_names(from->left, visit, context);
    expression_names(from->right, visit, context);
}
