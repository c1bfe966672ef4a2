/* growth_bench.c - what a solution takes as the described thing grows: parts, switching cycles looked at, and
 * patches of a case; the exponent of growth is fitted.   growth_bench [--json] [--seconds S]
 *
 * Parts: 1 to 16 buck stages of five parts on one spreader. Cycles: a boost stage asked for 16, 24 and 32 of
 * them over the quarter line. Patches: a box with 1 to 32 heated blocks on a board, its field condensed;
 * another solution of it, and the set-up. Times are of the processor. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "cli/session.h"

enum { SIZES_MAX = 6, BLOCKS_MAX = 32, TEXT_MAX = 4000 };

typedef struct growth {
    const char *of, *what; /* "parts", "whole solution" */
    size_t n;
    double size[SIZES_MAX], seconds[SIZES_MAX];
} growth;

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* By rising size. */
static void note(growth *g, double size, double seconds)
{
    size_t i = g->n++;
    for (; i > 0 && g->size[i - 1] > size; i--) {
        g->size[i] = g->size[i - 1];
        g->seconds[i] = g->seconds[i - 1];
    }
    g->size[i] = size;
    g->seconds[i] = seconds;
}

/* Least squares of the logarithms. */
static double exponent(const growth *g)
{
    double n = (double)g->n, sx = 0, sy = 0, sxx = 0, sxy = 0;
    for (size_t i = 0; i < g->n; i++) {
        double x = log(g->size[i]), y = log(g->seconds[i]);
        sx += x, sy += y, sxx += x * x, sxy += x * y;
    }
    return (n * sxy - sx * sy) / (n * sxx - sx * sx);
}

/* ---------------------------------------------------------------- scripts -- */

static const char many_bucks[] =
    "local hl = require 'heatledger'\n"
    "local part = hl.parts 'parts.yaml'\n"
    "local m = hl.adapter 'buck stages side by side'\n"
    "m:supply { voltage = '24 V' }\n"
    "m:ambient { temperature = '25 degC' }\n"
    "m:node 'spreader' {}\n"
    "for i = 1, %d do\n"
    "  local b = 'buck_' .. i\n"
    "  m:stage(b) { model = 'synchronous_buck', fed_by = 'source', switching_frequency = '360 kHz',\n"
    "    light_load = 'diode_emulation', high_switch = part.buck_switch, low_switch = part.buck_switch,\n"
    "    inductor = part.buck_inductor_small,\n"
    "    capacitors = { polymer = part.output_polymer, ceramic = { part.output_ceramic, count = 2 } } }\n"
    "  m:port('out_' .. i) { fed_by = b, voltage = '12 V', current = '2 A' }\n"
    "  for _, slot in ipairs { 'high_switch', 'low_switch', 'inductor', 'polymer', 'ceramic' } do\n"
    "    m:link { b .. '.' .. slot, 'spreader', resistance = '20 K/W' }\n"
    "  end\n"
    "  m:link { 'spreader', 'ambient', resistance = '15 K/W' }\n"
    "end\n"
    "return m\n";

static const char more_cycles[] =
    "local hl = require 'heatledger'\n"
    "local part = hl.parts 'parts.yaml'\n"
    "local m = hl.adapter 'boost stage'\n"
    "m:mains { voltage = '230 Vrms', frequency = '50 Hz' }\n"
    "m:ambient { temperature = '25 degC' }\n"
    "m:stage 'bridge' { model = 'bridge_rectifier', fed_by = 'mains', rectifier = part.bridge }\n"
    "m:stage 'pfc' { model = 'boost_pfc', fed_by = 'bridge', mode = 'boundary', output_voltage = '392 V',\n"
    "  cycles = %d, switch = part.pfc_switch, rectifier = part.pfc_diode, boost_inductor = "
    "part.pfc_inductor,\n"
    "  capacitors = { bulk = part.bulk_capacitor } }\n"
    "m:port 'out' { fed_by = 'pfc', voltage = '392 V', current = '0.4 A' }\n"
    "for _, item in ipairs { 'bridge.rectifier', 'pfc.switch', 'pfc.rectifier', 'pfc.boost_inductor',\n"
    "    'pfc.bulk' } do\n"
    "  m:link { item, 'ambient', resistance = '10 K/W' }\n"
    "end\n"
    "return m\n";

static bool copy_file(const char *from, const char *to)
{
    char block[4096];
    FILE *in = fopen(from, "r"), *out = fopen(to, "w");
    bool good = in && out;
    for (size_t n; good && (n = fread(block, 1, sizeof block, in)) > 0;) good = fwrite(block, 1, n, out) == n;
    if (in) fclose(in);
    if (out && fclose(out) != 0) good = false;
    return good;
}

static bool write_script(const char *path, const char *text, int number)
{
    char filled[TEXT_MAX];
    const char *at = strstr(text, "%d");
    snprintf(filled, sizeof filled, "%.*s%d%s", (int)(at - text), text, number, at + 2);
    FILE *out = fopen(path, "w");
    if (!out) return false;
    bool good = fputs(filled, out) >= 0;
    return fclose(out) == 0 && good;
}

/* Cold solutions over mains or supply and load; seconds each, negative: none. */
static double solve_often(bound_design *bound, double seconds, size_t *parts)
{
    size_t load = hl_design_find_setting(bound->design, "load", NULL);
    double base = bound->settings[load], began = 0, spent = 0;
    unsigned long done = 0;
    *parts = hl_design_items(bound->design);
    for (unsigned long k = 0; spent < seconds; k++) {
        bound->settings[load] = base * (0.25 + 0.75 * (double)(k * 61 % 101) / 100.0);
        if (hl_solve(bound->workspace, bound->settings) != HL_OK) return -1;
        if (hl_result_outcome(bound->workspace) != HL_SOLVED) return -1;
        if (k == 0) {
            began = now(); /* the first brings the usual start with it */
            continue;
        }
        done++;
        spent = now() - began;
    }
    return spent / (double)done;
}

static bool grow_script(growth *g, const char *folder, const char *text, const int numbers[], size_t n,
                        bool by_parts, double seconds)
{
    char script[300];
    snprintf(script, sizeof script, "%.250s/growth.lua", folder);
    bool good = true;
    for (size_t i = 0; good && i < n; i++) {
        session_options options = {.script = script};
        session opened;
        size_t parts;
        if (!write_script(script, text, numbers[i]) || !session_open(&opened, &options)) return false;
        double each = solve_often(opened.bound, seconds, &parts);
        good = each > 0;
        if (good) note(g, by_parts ? (double)parts : numbers[i], each);
        if (!good) fprintf(stderr, "growth: %s: a point has no solution\n", g->of);
        session_close(&opened);
    }
    unlink(script);
    return good;
}

static bool grow_scripts(growth *parts, growth *cycles, double seconds)
{
    static const int bucks[] = {1, 2, 4, 8, 16}, looks[] = {16, 24, 32};
    const char *tmp = getenv("TMPDIR");
    char folder[260], list[300];
    snprintf(folder, sizeof folder, "%.200s/growth_bench_XXXXXX", tmp ? tmp : "/tmp");
    if (!mkdtemp(folder)) return false;
    snprintf(list, sizeof list, "%s/parts.yaml", folder);
    bool good = copy_file(HL_PROJECT_SOURCE "/examples/desk_charger/parts.yaml", list) &&
                grow_script(parts, folder, many_bucks, bucks, 5, true, seconds) &&
                grow_script(cycles, folder, more_cycles, looks, 3, false, seconds);
    unlink(list);
    rmdir(folder);
    return good;
}

/* ---------------------------------------------------------------- patches -- */

/* A board with so many blocks of 8 x 8 x 5 mm in rows of eight, in a plastic case. */
static hl_field *box_of(size_t blocks)
{
    hl_field_block block[BLOCKS_MAX];
    hl_field_board board = {.name = "board",
                            .low = {4e-3, 4e-3, 8e-3},
                            .high = {0.116, 0.076, 9.6e-3},
                            .normal = 2,
                            .conductivity_in = 20,
                            .conductivity_through = 0.35,
                            .density_heat = 2e6,
                            .emissivity = 0.9};
    for (size_t i = 0; i < blocks; i++) {
        double x = 10e-3 + 13e-3 * (double)(i % 8), y = 10e-3 + 16e-3 * (double)(i / 8);
        block[i] = (hl_field_block){.name = "block",
                                    .low = {x, y, 9.6e-3},
                                    .high = {x + 8e-3, y + 8e-3, 14.6e-3},
                                    .conductivity = {20, 20, 20},
                                    .density_heat = 3e6,
                                    .emissivity = 0.9,
                                    .heat = 4.0 / (double)blocks,
                                    .on = 0};
    }
    hl_field_box box = {.size = {0.12, 0.08, 0.035},
                        .shell = 2.5e-3,
                        .shell_conductivity = 0.22,
                        .shell_density_heat = 1.5e6,
                        .shell_emissivity = 0.9,
                        .fill_conductivity = 0.027,
                        .fill_density_heat = 1.2e3,
                        .n_boards = 1,
                        .n_blocks = blocks,
                        .boards = &board,
                        .blocks = block,
                        .surroundings = {298.15, 101325},
                        .fineness = 1};
    for (int face = 0; face < HL_FACES; face++)
        box.sides[face] = (hl_field_side){
            .law = HL_FIELD_NATURAL, .orientation = HL_VERTICAL, .length = 0.035, .emissivity = 0.9};
    hl_diagnostics *said = hl_diagnostics_create();
    hl_field *field = hl_field_create(&box, said);
    if (!field && hl_diagnostics_count(said)) fprintf(stderr, "growth: %s\n", hl_diagnostics_text(said, 0));
    hl_diagnostics_destroy(said);
    return field;
}

/* Solutions at other heat; seconds each. */
static double solve_field(const hl_field *field, size_t blocks, double seconds)
{
    const hl_surroundings room = {298.15, 101325};
    hl_field_work *work = hl_field_work_create(field);
    double power[BLOCKS_MAX + 8] = {0}, mean[BLOCKS_MAX + 8], began = now(), spent = 0;
    unsigned long done = 0;
    bool good = work != NULL;
    for (; good && spent < seconds; spent = now() - began, done++) {
        for (size_t i = 0; i < blocks; i++)
            power[i] = (2.0 + 0.3 * (double)((done + i) % 7)) / (double)blocks;
        good = hl_field_solve(work, &room, power, NULL, NULL, mean) == HL_OK;
    }
    hl_field_work_destroy(work);
    return good ? spent / (double)done : -1;
}

static bool grow_field(growth *patches, growth *cells, double seconds)
{
    static const size_t blocks[] = {1, 4, 12, 32};
    for (size_t i = 0; i < 4; i++) {
        double began = now();
        hl_field *field = box_of(blocks[i]);
        if (!field) return false;
        double set_up = now() - began, each = solve_field(field, blocks[i], seconds);
        hl_field_facts facts;
        hl_field_facts_of(field, &facts);
        hl_field_destroy(field);
        if (!(each > 0)) return false;
        note(patches, (double)facts.patches, each);
        note(cells, (double)facts.cells, set_up);
    }
    return true;
}

/* ----------------------------------------------------------------- report -- */

static void print_table(const growth g[], size_t n)
{
    printf("| growth over | time of | from | to | grows as |\n| --- | --- | ---: | ---: | ---: |\n");
    for (size_t k = 0; k < n; k++) {
        size_t last = g[k].n - 1;
        printf("| %s | %s | %.0f: %.3g ms | %.0f: %.3g ms | %s^%.2f |\n", g[k].of, g[k].what, g[k].size[0],
               1e3 * g[k].seconds[0], g[k].size[last], 1e3 * g[k].seconds[last], g[k].of, exponent(&g[k]));
    }
}

static void print_json(const growth g[], size_t n)
{
    printf("{\"schema\":\"heatledger.bench_growth/1\",\"growth\":[");
    for (size_t k = 0; k < n; k++) {
        printf("%s{\"over\":\"%s\",\"of\":\"%s\",\"exponent\":%.3f,\"points\":[", k ? "," : "", g[k].of,
               g[k].what, exponent(&g[k]));
        for (size_t i = 0; i < g[k].n; i++)
            printf("%s{\"size\":%.0f,\"seconds\":%.4g}", i ? "," : "", g[k].size[i], g[k].seconds[i]);
        printf("]}");
    }
    printf("]}\n");
}

int main(int argc, char **argv)
{
    bool json = false;
    double seconds = 0.5;
    for (int i = 1; i < argc; i++) {
        if (!strcmp(argv[i], "--json")) json = true;
        if (!strcmp(argv[i], "--seconds") && i + 1 < argc) seconds = strtod(argv[++i], NULL);
    }
    growth g[] = {{.of = "parts", .what = "a whole solution"},
                  {.of = "cycles", .what = "a whole solution"},
                  {.of = "patches", .what = "a field solution"},
                  {.of = "cells", .what = "setting up a field"}};
    if (!grow_scripts(&g[0], &g[1], seconds) || !grow_field(&g[2], &g[3], seconds)) return EXIT_FAILURE;
    (json ? print_json : print_table)(g, sizeof g / sizeof g[0]);
    return EXIT_SUCCESS;
}
