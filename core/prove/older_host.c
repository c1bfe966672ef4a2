#include "prove/older_host.h"

#include <string.h>

#include "plugin/table.h"

size_t older_output_size(size_t host)
{
    static const size_t size[OLDER_HOSTS + 1] = {sizeof(hl_stage_output),
                                                 SIZE_THROUGH(hl_stage_output, headroom_unit),
                                                 SIZE_THROUGH(hl_stage_output, bus_circuit_loss),
                                                 SIZE_THROUGH(hl_stage_output, note),
                                                 SIZE_THROUGH(hl_stage_output, crest_share),
                                                 SIZE_THROUGH(hl_stage_output, heats),
                                                 SIZE_THROUGH(hl_stage_output, heats_by)};
    return size[host];
}

size_t older_input_size(size_t host)
{
    return host ? SIZE_THROUGH(hl_stage_input, memory) : sizeof(hl_stage_input);
}

size_t older_terminal_size(size_t host)
{
    return host ? SIZE_THROUGH(hl_terminal, series_inductance) : sizeof(hl_terminal);
}

void older_host_inspect(trial *t, void *structure, size_t reach, size_t size, const char *function)
{
    unsigned char *byte = structure;
    for (size_t i = reach; i < size; i++)
        if (byte[i] != OLDER_MARK) {
            trial_overrun(
                t,
                "%s() writes to byte %zu of a structure of which an older host has %zu (struct_size); "
                "ask HL_REACHES first",
                function, i, reach);
            break;
        }
    memset(byte + reach, 0, size - reach);
}
