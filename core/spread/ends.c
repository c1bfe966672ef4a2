/* ends.c - every value with a band at one of its ends. */
#include <string.h>

#include "heatledger/quantity.h"
#include "heatledger/spread.h"

static const char *const words[] = {"low", "typical", "high", NULL};

/* The ends of a band without ends hold 90 %, as they do where a band is written with two of them. */
static double share_of(const hl_band *band, bool high)
{
    bool endless = band->kind == HL_BAND_NORMAL || band->kind == HL_BAND_LOG_NORMAL;
    double low = endless ? 0.05 : 0;
    return high ? 1 - low : low;
}

hl_status hl_design_end(const hl_design *design, const char *word, double settings[], const hl_place *place,
                        hl_diagnostics *diagnostics)
{
    size_t end = 0;
    while (words[end] && strcmp(words[end], word) != 0) end++;
    if (!words[end]) {
        const char *near = hl_nearest_word(word, words);
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "'%.40s' is no end of a band: low, typical or high%s%s%s", word,
                           near ? "; did you mean " : "", near ? near : "", near ? "?" : "");
        return HL_BAD_INPUT;
    }
    for (size_t i = 0; i < hl_design_settings(design); i++) {
        hl_band band;
        if (hl_design_setting(design, i)->kind != HL_NUMBER || !hl_design_band(design, i, &band)) continue;
        if (band.kind == HL_BAND_NONE || settings[i] != band.central) continue;
        if (end != 1) settings[i] = hl_band_quantile(&band, share_of(&band, end == 2));
    }
    return HL_OK;
}
