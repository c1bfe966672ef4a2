/* print.h - how the ends of a range are shown. */
#ifndef HEATLEDGER_PRINT_H
#define HEATLEDGER_PRINT_H

#include <stddef.h>

/* As hl_quantity_print with 3 digits, but 0.5 mohm instead of 500 uohm: ends of a range are round. */
void print_bound(double value, const char *unit_text, char *text, size_t size);

#endif
