/* fuzz_script.c - a script in the sandbox, with little memory and few steps. */
#include <lauxlib.h>
#include <string.h>

#include "lua/sandbox.h"
#include "target.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const sandbox_limits limits = {(size_t)8 << 20, 200000, 5};
    sandbox *box = sandbox_create(&limits, false, HL_TEST_BUILD "/lib/heatledger/lua");
    MUST(box != NULL);
    char message[400];
    message[0] = '\0';
    if (!sandbox_run_text(box, (const char *)data, size, "=script", message, sizeof message))
        MUST(message[0] != '\0');
    sandbox_destroy(box);
    return 0;
}
