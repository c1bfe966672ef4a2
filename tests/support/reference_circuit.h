/* reference_circuit.h - the solved circuits of tests/reference: which quantity of the stage stands for each
 * output of the file, and the comparing of a whole case.
 *
 * The files are time-domain solutions of the same circuits, made independently of this project's equations.
 */
#ifndef REFERENCE_CIRCUIT_H
#define REFERENCE_CIRCUIT_H

#include "reference_case.h"

typedef struct reference_circuit {
    const char *file;
    size_t cases;
    const char *const (*names)[2]; /* output of the file, quantity of the stage; ended by NULL */
} reference_circuit;

extern const reference_circuit reference_llc, reference_pfc, reference_buck, reference_flyback;

/* Who answers for a quantity, and how far off it may be: by this part of the expected value; by this much; by
 * this much where a zero is expected. */
typedef struct reference_asking {
    double (*asked)(void *who, const char *quantity);
    void *who;
    double relative, absolute, zero;
    double worst; /* out: the largest part of an expected value that is not zero */
} reference_asking;

/* Calls check for each case of the circuit's file; the test fails unless they are as many as stated. */
void reference_each(const reference_circuit *circuit, void (*check)(json_t *one, void *context),
                    void *context);

/* inputs.<key> of a case: the test fails when it is missing, or is told what stands for it; a word is ""
 * then. */
double reference_input(json_t *one, const char *key);
double reference_input_or(json_t *one, const char *key, double otherwise);
const char *reference_word(json_t *one, const char *key);

/* Compares every number and truth value among the outputs of the case; returns how many. An output without a
 * quantity fails the test; lists are left to the caller. */
size_t reference_compare(json_t *one, const reference_circuit *circuit, reference_asking *asking);

#endif
