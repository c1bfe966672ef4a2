#include "plate_box.h"

#include <stdlib.h>
#include <string.h>

#include "command_json.h"
#include "json_entry.h"
#include "scratch_folder.h"
#include "story.h"

char *plate_text(const char *path)
{
    FILE *file = fopen(path, "r");
    ck_assert_msg(file != NULL, "no file %s", path);
    char *text = calloc(1, 1 << 16);
    ck_assert_ptr_nonnull(text);
    ck_assert_uint_gt(fread(text, 1, (1 << 16) - 1, file), 0);
    fclose(file);
    return text;
}

void plate_script(const char *name, const char *extra)
{
    char *text = plate_text(HL_TEST_SOURCE "/field/plate.lua"),
         *parts = plate_text(HL_TEST_SOURCE "/field/plate.yaml");
    char *mark = strstr(text, "-- @extra@"), *whole = calloc(1, strlen(text) + strlen(extra) + 1);
    ck_assert(mark && whole);
    *mark = '\0';
    sprintf(whole, "%s%s%s", text, extra, mark + strlen("-- @extra@"));
    scratch_write(name, whole);
    scratch_write("plate.yaml", parts);
    free(text);
    free(parts);
    free(whole);
}

json_t *plate_solve(const char *script, const char *kept, char **said)
{
    const char *path = scratch_file(script), *cache = scratch_file(kept);
    setenv("HEATLEDGER_CACHE", cache, 1);
    const char *arguments[] = {"solve", path, "--json", NULL};
    command_output output = command_run(arguments);
    json_t *document = output_json(&output, 0);
    if (said) *said = strdup(output.error);
    command_free(&output);
    return document;
}

const json_t *plate_face(const json_t *document, const char *name)
{
    return json_entry(document, "case", "face", name);
}

bool plate_told(const json_t *document, const char *said, const char *words)
{
    size_t i;
    json_t *warning;
    bool told = strstr(said, words) != NULL;
    json_array_foreach(json_object_get(document, "warnings"), i, warning)
    {
        told = told || strstr(json_string_value(warning), words) != NULL;
    }
    return told;
}
