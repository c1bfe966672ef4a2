/* inverse_factorial.h - 1 / k!, for Taylor sums. */
#ifndef HEATLEDGER_INVERSE_FACTORIAL_H
#define HEATLEDGER_INVERSE_FACTORIAL_H

enum { INVERSE_FACTORIALS = 20 };
static const double inverse_factorial[INVERSE_FACTORIALS] = {
    1.0,
    1.0,
    1.0 / 2,
    1.0 / 6,
    1.0 / 24,
    1.0 / 120,
    1.0 / 720,
    1.0 / 5040,
    1.0 / 40320,
    1.0 / 362880,
    1.0 / 3628800,
    1.0 / 39916800,
    1.0 / 479001600,
    1.0 / 6227020800.0,
    1.0 / 87178291200.0,
    1.0 / 1307674368000.0,
    1.0 / 20922789888000.0,
    1.0 / 355687428096000.0,
    1.0 / 6402373705728000.0,
    1.0 / 121645100408832000.0,
};

#endif
