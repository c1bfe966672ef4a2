/* core_parameters.h - the rows of a parameter table that describe a core, shared by the magnetic models. */
#ifndef CORE_PARAMETERS_H
#define CORE_PARAMETERS_H

#include "heatledger/plugin.h"

enum core_row {
    CORE_AREA,
    CORE_VOLUME,
    CORE_PATH,
    CORE_K,
    CORE_ALPHA,
    CORE_BETA,
    CORE_LOSS_DENSITY,
    CORE_LOSS_FREQUENCY,
    CORE_LOSS_FLUX,
    CORE_CT0,
    CORE_CT1,
    CORE_CT2,
    CORE_FIT_TEMPERATURE,
    CORE_FIT_LOW,
    CORE_FIT_HIGH,
    CORE_FIT_FLUX,
    CORE_SATURATION,
    CORE_LOSS_CURVE,
    CORE_ROWS
};

/* clang-format off */
#define CORE_TABLE(AREA) \
    {"core_area", "m^2", HL_NUMBER, AREA, 0, 0.1e-6, 0.1, NULL, NULL, "effective magnetic area", "core data sheet, Ae"}, \
    {"core_volume", "m^3", HL_NUMBER, 0, 0, 0.1e-9, 0.1, NULL, NULL, "effective volume; area times path length when not stated", "core data sheet, Ve"}, \
    {"core_path_length", "m", HL_NUMBER, 0, 0, 1e-3, 2, NULL, NULL, "effective magnetic path length", "core data sheet, le"}, \
    {"steinmetz_k", "1", HL_NUMBER, 0, 0, 0, 1e9, NULL, NULL, "factor k of P = k f^alpha B^beta in W/m^3, Hz and T (peak of a sine)", "fit to the material's loss curves"}, \
    {"steinmetz_alpha", "1", HL_NUMBER, 0, 0, 0.8, 3, NULL, NULL, "exponent of frequency; steinmetz_k and loss_density need it", "fit to the material's loss curves"}, \
    {"steinmetz_beta", "1", HL_NUMBER, 0, 0, 1, 4, NULL, NULL, "exponent of flux density; steinmetz_k and loss_density need it", "fit to the material's loss curves"}, \
    {"loss_density", "W/m^3", HL_NUMBER, 0, 0, 0, 1e9, NULL, NULL, "loss at one sine point, in place of steinmetz_k", "material data sheet"}, \
    {"loss_frequency", "Hz", HL_NUMBER, 0, 0, 10, 1e8, NULL, NULL, "frequency of that point", "material data sheet"}, \
    {"loss_flux", "T", HL_NUMBER, 0, 0, 1e-4, 3, NULL, NULL, "peak flux density of that point", "material data sheet"}, \
    {"steinmetz_ct0", "1", HL_NUMBER, 0, 0, -100, 100, NULL, NULL, "ct0: the core loss follows temperature as ct0 - ct1 T + ct2 T^2, T in degC, over the same at fit_temperature; all three or none", "material data sheet, or fit"}, \
    {"steinmetz_ct1", "1", HL_NUMBER, 0, 0, -1, 1, NULL, NULL, "ct1 of that law, per degC: how the loss falls at first", "material data sheet, or fit"}, \
    {"steinmetz_ct2", "1", HL_NUMBER, 0, 0, -0.01, 0.01, NULL, NULL, "ct2 of that law, per degC squared: how it rises again; the least loss lies at ct1 / (2 ct2)", "material data sheet, or fit"}, \
    {"fit_temperature", "degC", HL_NUMBER, 0, 0, 223.15, 473.15, NULL, NULL, "temperature k or the loss point holds at; 100 degC when not stated", "material data sheet"}, \
    {"fit_frequency_low", "Hz", HL_NUMBER, 0, 0, 0, 1e8, NULL, NULL, "lowest frequency of the fit", "fit"}, \
    {"fit_frequency_high", "Hz", HL_NUMBER, 0, 0, 10, 1e9, NULL, NULL, "highest frequency of the fit", "fit"}, \
    {"fit_flux_high", "T", HL_NUMBER, 0, 0, 1e-3, 3, NULL, NULL, "highest peak flux density of the fit; where the core saturates when not stated", "fit"}, \
    {"saturation_flux", "T", HL_CURVE, 0, 0, 0.05, 3, "degC", NULL, "flux density the core must stay below, over temperature", "material data sheet"}, \
    {"loss_over_flux", "W/m^3", HL_CURVE, 0, 0, 1e-3, 1e10, "T", NULL, "loss of a sine at loss_frequency over its peak flux density, in place of steinmetz_k and steinmetz_beta", "material data sheet: loss curves"}
/* clang-format on */

#endif
