/* fuzz_bench.c - a file of bench readings against a small design; what passes is asked for its figures. */
#include <math.h>
#include <string.h>

#include "heatledger/fit.h"
#include "target.h"
#include "uncertain_buck.h"

static uncertain_buck buck;

static void close_buck(void)
{
    drafted_end(&buck);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (!buck.design) {
        uncertain_buck_open(&buck);
        atexit(close_buck);
    }
    hl_diagnostics *said = hl_diagnostics_create();
    MUST(said);
    hl_bench *bench = hl_bench_read_text(buck.design, "bench", (const char *)data, size, said);
    MUST((bench != NULL) == (hl_diagnostics_errors(said) == 0));
    if (bench) {
        for (size_t i = 0; i < hl_bench_values(bench); i++) {
            const hl_fit_value *v = hl_bench_value(bench, i);
            MUST(isfinite(v->start) && v->low <= v->start && v->start <= v->high);
        }
        for (size_t i = 0; i < hl_bench_readings(bench); i++) {
            const hl_fit_reading *r = hl_bench_reading(bench, i, NULL, NULL, NULL);
            MUST(isfinite(r->value) && r->u > 0.0 && isfinite(r->u));
        }
        size_t n = hl_bench_values(bench), m = hl_bench_readings(bench);
        double *values = calloc(n + 1, sizeof *values), *predicted = calloc(m + 1, sizeof *predicted);
        MUST(values && predicted);
        for (size_t i = 0; i < n; i++) values[i] = hl_bench_value(bench, i)->start;
        if (!hl_bench_predict(bench, values, predicted)) MUST(hl_bench_reason(bench)[0]);
        free(values);
        free(predicted);
    }
    hl_bench_destroy(bench);
    hl_diagnostics_destroy(said);
    return 0;
}
