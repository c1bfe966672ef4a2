/* fuzz_parts.c - a part file, read with the shipped models. */
#include "models.h"
#include "target.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    hl_catalogue *catalogue = hl_catalogue_create(models());
    hl_diagnostics *said = hl_diagnostics_create();
    MUST(catalogue && said);
    hl_status status = hl_catalogue_read_text(catalogue, "parts", (const char *)data, size, said);
    MUST((status == HL_OK) == (hl_diagnostics_errors(said) == 0));
    walk_parts(catalogue);
    hl_diagnostics_destroy(said);
    hl_catalogue_destroy(catalogue);
    return 0;
}
