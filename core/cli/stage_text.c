/* stage_text.c - the figures of each stage's waveforms, two in a line within eighty columns. */
#include "cli/stage_text.h"

#include <stdbool.h>
#include <string.h>

enum { NAME_MOST = 25, VALUE = 10, WHOLE = 79 };

/* "switching frequency": the name as words. */
static void in_words(const char *name, char words[64])
{
    snprintf(words, 64, "%s", name);
    for (char *c = words; (c = strchr(c, '_')) != NULL;) *c = ' ';
}

/* Names too long for half a line have one of their own. */
static bool is_long(const char *name)
{
    return strlen(name) > NAME_MOST;
}

/* Prints a figure behind the half line already there, or on a line of its own; true: half a line is there. */
static bool print_figure(FILE *to, const hl_quantity *quantity, bool half)
{
    char words[64], value[32];
    in_words(quantity->name, words);
    hl_quantity_print(quantity->value, quantity->unit, 4, value, sizeof value);
    bool alone = is_long(quantity->name);
    if (half && alone) fputc('\n', to);
    int name_room = alone ? WHOLE - 5 - VALUE : NAME_MOST, more = (int)strlen(value) - VALUE;
    if (more > 0 && name_room - more > (int)strlen(words)) name_room -= more;
    fprintf(to, "    %-*s %*s", name_room, words, VALUE, value);
    if (half || alone) fputc('\n', to);
    return !half && !alone;
}

void stage_text(FILE *to, const hl_design *design, const hl_workspace *workspace)
{
    for (size_t s = 0; s < hl_design_stages(design); s++) {
        size_t n = hl_result_quantities(workspace, s);
        bool half = false;
        if (n == 0) continue;
        fprintf(to, "  %s (%s)\n", hl_design_stage_name(design, s), hl_design_stage_model(design, s)->name);
        for (size_t q = 0; q < n; q++) half = print_figure(to, hl_result_quantity(workspace, s, q), half);
        fputs(half ? "\n\n" : "\n", to);
    }
}
