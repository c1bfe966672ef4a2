/* decimal.c - numbers as text, the same in every locale.
 *
 * The C library's strtod and printf follow the locale's decimal mark.  Here strtod is handed digits and an
 * exponent only ("15e-1"), and what printf writes is read digit by digit, so no mark is ever involved and no
 * locale needs to be switched.  glibc rounds both correctly, so a value survives 17 digits bit for bit. */
#include "quantity/decimal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { EXPONENT_MAX = 100000, PLAIN_LEAST = -5, PLAIN_MOST = 6 };

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Digits past the room are too small to matter to a double's 17, so only their place is kept. */
static void append_digit(decimal *number, char digit, bool fraction)
{
    if (number->count == 1 && number->digits[0] == '0') number->count = 0;
    if (number->count < DECIMAL_DIGITS) {
        number->digits[number->count++] = digit;
        if (fraction && number->exponent > -EXPONENT_MAX) number->exponent--;
    } else if (!fraction && number->exponent < EXPONENT_MAX) {
        number->exponent++;
    }
}

/* "e", an optional sign and digits; anything else is left for the unit to use. */
static size_t scan_exponent(const char *text, size_t length, int *exponent)
{
    size_t at = 0;
    if (at >= length || (text[at] != 'e' && text[at] != 'E')) return 0;
    at++;
    bool negative = at < length && text[at] == '-';
    if (at < length && (text[at] == '-' || text[at] == '+')) at++;
    if (at >= length || !is_digit(text[at])) return 0;
    int read = 0;
    for (; at < length && is_digit(text[at]); at++)
        if (read < EXPONENT_MAX) read = read * 10 + (text[at] - '0');
    *exponent = negative ? -read : read;
    return at;
}

size_t decimal_scan(const char *text, size_t length, decimal *number)
{
    static const char minus[] = "\xE2\x88\x92"; /* U+2212, as copied from a document */
    *number = (decimal){.count = 0};
    size_t at = 0, digits = 0;
    if (length >= 3 && memcmp(text, minus, 3) == 0) {
        number->negative = true;
        at = 3;
    } else if (length > 0 && (text[0] == '-' || text[0] == '+')) {
        number->negative = text[0] == '-';
        at = 1;
    }
    bool fraction = false;
    for (; at < length; at++) {
        if (is_digit(text[at])) {
            append_digit(number, text[at], fraction);
            digits++;
        } else if (text[at] == '.' && !fraction) {
            fraction = true;
        } else {
            break;
        }
    }
    if (digits == 0) return 0;
    int exponent = 0;
    at += scan_exponent(text + at, length - at, &exponent);
    number->exponent += exponent;
    number->digits[number->count] = '\0';
    return at;
}

double decimal_value(const decimal *number, int shift)
{
    char text[DECIMAL_DIGITS + 24];
    snprintf(text, sizeof text, "%s%se%d", number->negative ? "-" : "", number->digits,
             number->exponent + shift);
    return strtod(text, NULL);
}

void decimal_round(double value, int digits, decimal *rounded)
{
    char text[64];
    if (digits < 1) digits = 1;
    if (digits > 17) digits = 17;
    snprintf(text, sizeof text, "%.*e", digits - 1, value);
    *rounded = (decimal){.negative = text[0] == '-'};
    const char *at = text;
    for (; *at && *at != 'e'; at++)
        if (is_digit(*at)) rounded->digits[rounded->count++] = *at;
    int exponent = *at == 'e' ? (int)strtol(at + 1, NULL, 10) : 0;
    rounded->exponent = exponent - ((int)rounded->count - 1);
    while (rounded->count > 1 && rounded->digits[rounded->count - 1] == '0') {
        rounded->count--;
        rounded->exponent++;
    }
    rounded->digits[rounded->count] = '\0';
    if (rounded->digits[0] == '0') rounded->exponent = 0;
}

/* Room for the longest plain number: all digits, a sign, a point and leading or trailing zeros. */
typedef struct line {
    char text[DECIMAL_DIGITS + 32];
    size_t used;
} line;

static void put(line *out, char c)
{
    if (out->used + 1 < sizeof out->text) out->text[out->used++] = c;
}

static void put_plain(line *out, const decimal *number, int lead)
{
    int count = (int)number->count;
    if (lead < 0) {
        put(out, '0');
        put(out, '.');
        for (int i = -1; i > lead; i--) put(out, '0');
    }
    for (int i = 0; i < count; i++) {
        put(out, number->digits[i]);
        if (i == lead && i + 1 < count) put(out, '.');
    }
    for (int i = count; i <= lead; i++) put(out, '0');
}

void decimal_print(const decimal *number, int shift, char *text, size_t size)
{
    line out = {.used = 0};
    int lead = number->exponent + shift + (int)number->count - 1; /* power of ten of the first digit */
    if (number->negative) put(&out, '-');
    if (number->digits[0] == '0') lead = 0;
    if (lead >= PLAIN_LEAST && lead <= PLAIN_MOST) {
        put_plain(&out, number, lead);
        snprintf(text, size, "%.*s", (int)out.used, out.text);
    } else {
        put_plain(&out, number, 0);
        snprintf(text, size, "%.*se%d", (int)out.used, out.text, lead);
    }
}
