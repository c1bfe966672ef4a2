/* vectors.h - sums over vectors of unknowns, side by side. */
#ifndef HEATLEDGER_VECTORS_H
#define HEATLEDGER_VECTORS_H

#include <stddef.h>

/* to += factor from */
void vector_add(double *restrict to, double factor, const double *restrict from, size_t n);
/* Element by element the greater of both. */
void vector_raise(double *restrict to, const double *restrict from, size_t n);
void vector_scale(double *to, double factor, size_t n);
/* Element by element the product of both. */
void vector_multiply(double *restrict to, const double *restrict from, size_t n);
double vector_sum(const double *of, size_t n);
/* The greatest size of an element times its scale, NULL: one; numbers only. */
double vector_greatest(const double *of, const double *scale, size_t n);
/* The products aa, ab and bb of a and b, both scaled element by element. */
void vector_products(const double *a, const double *b, const double *scale, size_t n, double *aa, double *ab,
                     double *bb);
/* Nought in n bytes: by the C library, whose wide registers do a few hundred of them in a fraction of the
 * time that a compiler's "rep stos" takes to begin. */
void bytes_clear(void *at, size_t n);

#endif
