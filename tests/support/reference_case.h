/* reference_case.h - reading tests/reference/<file>.json: cases by index, numbers and arrays by path. */
#ifndef REFERENCE_CASE_H
#define REFERENCE_CASE_H

#include <jansson.h>
#include <stddef.h>

/* The parsed file (caller: json_decref), or the test fails. */
json_t *reference_open(const char *file);
/* A member by key; fails the test when it is missing. */
json_t *reference_at(json_t *object, const char *key);
double reference_number(json_t *object, const char *key);
/* outputs.<key>.value of a case. */
json_t *reference_output(json_t *one_case, const char *key);
/* Fills list from an array of numbers of length n; fails the test on another length. */
void reference_numbers(json_t *array, size_t n, double list[]);

#endif
