/* fuzz_value.c - one value as `--set` or a stage parameter gets it.  First byte: which row of which model. */
#include <math.h>
#include <string.h>

#include "models.h"
#include "target.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size < 2 || size > 4000) return 0;
    const hl_host *host = models();
    const hl_model *model = hl_host_model(host, data[0] % hl_host_models(host));
    if (model->n_parameters == 0) return 0;
    const hl_parameter *row = hl_model_parameter(model, data[1] % model->n_parameters);
    char text[4001], group[40];
    memcpy(text, data + 2, size - 2);
    text[size - 2] = '\0';
    hl_diagnostics *said = hl_diagnostics_create();
    MUST(said);
    hl_value value;
    hl_band band;
    if (hl_value_read_band(row, text, NULL, &value, &band, group, sizeof group, said) == HL_OK) {
        MUST(value.curve.n > 0 || isfinite(value.number));
        MUST(!isnan(hl_band_quantile(&band, 0.05)) && !isnan(hl_band_quantile(&band, 0.95)));
        MUST(!band.group || memchr(group, 0, sizeof group));
    }
    hl_value_read(row, text, NULL, &value, said);
    hl_host_nearest(host, text);
    hl_diagnostics_destroy(said);
    return 0;
}
