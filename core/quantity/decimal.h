/* decimal.h - numbers as text, the same in every locale. */
#ifndef HEATLEDGER_DECIMAL_H
#define HEATLEDGER_DECIMAL_H

#include <stdbool.h>
#include <stddef.h>

enum { DECIMAL_DIGITS = 128 };

/* (-1)^negative * digits * 10^exponent; count >= 1 digits, no leading zeros but a lone one. */
typedef struct decimal {
    bool negative;
    char digits[DECIMAL_DIGITS + 1];
    size_t count;
    int exponent;
} decimal;

/* Number at the start of text: sign, digits with at most one point, exponent.  Returns its bytes, 0 when
 * there is none.  Neither infinities, nor hexadecimals, nor commas. */
size_t decimal_scan(const char *text, size_t length, decimal *number);

/* The nearest double to number * 10^shift; infinite when too large. */
double decimal_value(const decimal *number, int shift);

/* Round a finite value to 1..17 significant digits, trailing zeros cut. */
void decimal_round(double value, int digits, decimal *rounded);

/* Print number * 10^shift plainly, or as 1.5e9 when it is very large or small.  Truncates at size. */
void decimal_print(const decimal *number, int shift, char *text, size_t size);

#endif
