#include "findings.h"

#include <stdbool.h>
#include <string.h>

#include "command_run.h"
#include "story.h"

json_t *findings_of(const char *path, const char *times)
{
    command_output output =
        command_run((const char *const[]){"prove", "--json", "--times", times, path, NULL});
    json_error_t error;
    json_t *top = json_loads(output.out, 0, &error);
    ck_assert_msg(top != NULL, "%s: no JSON (%s): %s%s", path, error.text, output.out, output.error);
    bool passed = json_is_true(json_object_get(top, "passed"));
    ck_assert_msg(output.code == (passed ? 0 : 1), "%s: exit code %d", path, output.code);
    command_free(&output);
    return top;
}

const char *finding_text(const json_t *object, const char *key)
{
    const char *found = json_string_value(json_object_get(object, key));
    return found ? found : "";
}

const json_t *finding_named(const json_t *top, const char *check)
{
    size_t i, k;
    json_t *model, *finding;
    if (!strcmp(check, "table")) return json_object_get(top, "table");
    json_array_foreach(json_object_get(top, "models"), i, model)
    {
        json_array_foreach(json_object_get(model, "checks"), k, finding)
        {
            if (!strcmp(finding_text(finding, "check"), check)) return finding;
        }
    }
    return NULL;
}

void findings_complain(const json_t *top, const char *path)
{
    size_t i, k;
    json_t *model, *finding;
    fprintf(stderr, "%s: table %s: %s\n", path, finding_text(json_object_get(top, "table"), "verdict"),
            finding_text(json_object_get(top, "table"), "detail"));
    json_array_foreach(json_object_get(top, "models"), i, model)
    {
        json_array_foreach(json_object_get(model, "checks"), k, finding)
        {
            if (!strcmp(finding_text(finding, "verdict"), "pass")) continue;
            fprintf(stderr, "  %s, %s: %s: %s\n    %s\n", finding_text(model, "model"),
                    finding_text(finding, "check"), finding_text(finding, "verdict"),
                    finding_text(finding, "detail"), finding_text(finding, "inputs"));
        }
    }
}

void findings_expect_pass(const char *path)
{
    json_t *top = findings_of(path, STORY_SANITIZED ? "0.3" : "1");
    if (!json_is_true(json_object_get(top, "passed"))) {
        findings_complain(top, path);
        ck_abort_msg("%s does not pass", path);
    }
    ck_assert_msg(json_array_size(json_object_get(top, "models")) > 0, "%s: no model was tried", path);
    json_decref(top);
}
