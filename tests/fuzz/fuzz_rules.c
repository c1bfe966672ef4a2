/* fuzz_rules.c - a file of estimate rules; then parts that such rules complete. */
#include <string.h>

#include "models.h"
#include "target.h"

static const char parts[] = "parts:\n"
                            "  fet:\n"
                            "    model: silicon_mosfet\n"
                            "    on_resistance: 150 mohm\n"
                            "    rated_voltage: 600 V\n"
                            "  can:\n"
                            "    model: electrolytic_capacitor\n"
                            "    capacitance: 100 uF\n"
                            "    rated_voltage: 400 V\n"
                            "    size: [18 mm, 18 mm, 30 mm]\n";

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    hl_catalogue *catalogue = hl_catalogue_create(models());
    hl_diagnostics *said = hl_diagnostics_create();
    MUST(catalogue && said);
    hl_status status = hl_catalogue_read_rules_text(catalogue, "rules", (const char *)data, size, said);
    MUST((status == HL_OK) == (hl_diagnostics_errors(said) == 0));
    hl_catalogue_read_text(catalogue, "parts", parts, strlen(parts), said);
    walk_parts(catalogue);
    hl_diagnostics_destroy(said);
    hl_catalogue_destroy(catalogue);
    return 0;
}
