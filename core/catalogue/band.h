/* band.h - making bands from what a file states. */
#ifndef HEATLEDGER_BAND_H
#define HEATLEDGER_BAND_H

#include "heatledger/catalogue.h"

/* Deviations from the middle to either end of a 90 % band. */
double band_reach(void);

/* No band. */
hl_band band_exact(double number);
/* Log-normal, 90 % within number / factor … number * factor; factor > 1. */
hl_band band_factor(double number, double factor);
/* Normal with this standard deviation, > 0. */
hl_band band_normal(double number, double sigma);
/* Between two ends; of the normal shapes they are the 5 % and 95 % quantiles. */
hl_band band_between(hl_band_kind kind, double low, double central, double high);
/* The band of value / number, for curves and lists, which vary as a whole. */
hl_band band_about_one(hl_band band, double number);

#endif
