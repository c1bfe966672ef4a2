/* store_text.c - rows of a store as text, comma-separated values and JSON. */
#include "cli/store_text.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "cli/csv_text.h"
#include "cli/row_table.h"

enum { ROWS_SHOWN = 16 };

/* ------------------------------------------------------------------- csv -- */

typedef struct csv {
    FILE *to;
    bool headed;
} csv;

static bool csv_row(void *context, size_t columns, const char *const names[], const char *const values[],
                    const bool is_text[])
{
    csv *out = context;
    for (size_t i = 0; !out->headed && i < columns; i++) {
        if (i) fputc(',', out->to);
        csv_text(out->to, names[i]);
    }
    if (!out->headed) fputs("\r\n", out->to);
    out->headed = true;
    for (size_t i = 0; i < columns; i++) {
        if (i) fputc(',', out->to);
        if (values[i] && is_text[i])
            csv_text(out->to, values[i]);
        else if (values[i])
            fputs(values[i], out->to);
    }
    fputs("\r\n", out->to);
    return !ferror(out->to);
}

hl_status store_csv(FILE *to, hl_store *store, hl_diagnostics *diagnostics)
{
    csv out = {to, false};
    return hl_store_rows(store, 0, csv_row, &out, diagnostics);
}

/* ------------------------------------------------------------------ json -- */

typedef struct json_rows {
    FILE *to;
    size_t n;
} json_rows;

/* One row at a time: a store may hold more than fits the memory. */
static bool json_row(void *context, size_t columns, const char *const names[], const char *const values[],
                     const bool is_text[])
{
    json_rows *out = context;
    json_t *row = json_object();
    for (size_t i = 0; row && i < columns; i++) {
        json_t *value = !values[i]   ? json_null()
                        : is_text[i] ? json_string(values[i])
                                     : json_real(atof(values[i]));
        if (values[i] && !is_text[i] && !strcmp(names[i], "point")) {
            json_decref(value);
            value = json_integer(atoll(values[i]));
        }
        json_object_set_new(row, names[i], value);
    }
    fputs(out->n++ ? ",\n  " : "\n  ", out->to);
    if (row) json_dumpf(row, out->to, JSON_COMPACT | JSON_REAL_PRECISION(17));
    json_decref(row);
    return !ferror(out->to);
}

hl_status store_json(FILE *to, hl_store *store, const hl_store_counts *counts, hl_diagnostics *diagnostics)
{
    json_rows out = {to, 0};
    fprintf(to,
            "{\"schema\": \"heatledger.sweep/1\", \"points\": %zu, \"done\": %zu, \"solved\": %zu, "
            "\"infeasible\": %zu, "
            "\"runaway\": %zu, \"refused\": %zu, \"broken\": %zu,\n \"rows\": [",
            counts->points, counts->done, counts->solved, counts->infeasible, counts->ran_away,
            counts->refused, counts->broken);
    hl_status status = hl_store_rows(store, 0, json_row, &out, diagnostics);
    fputs("]}\n", to);
    return status;
}

/* ------------------------------------------------------------------ text -- */

static void print_rows(FILE *to, hl_store *store, size_t rows, const char *by, bool highest,
                       hl_diagnostics *diagnostics)
{
    row_table *table = row_table_create(ROWS_SHOWN, by, highest);
    if (!table) return;
    if (rows > ROWS_SHOWN && by)
        fprintf(to, "the best %d by %s (--csv or --json print all):\n", ROWS_SHOWN, by);
    else if (rows > ROWS_SHOWN)
        fprintf(to, "the first %d, in the order of points (--csv or --json print all):\n", ROWS_SHOWN);
    else if (by)
        fprintf(to, "the best first, by %s:\n", by);
    if (hl_store_rows(store, by ? 0 : ROWS_SHOWN, row_table_add, table, diagnostics) == HL_OK)
        row_table_print(table, to);
    row_table_destroy(table);
}

void store_summary(FILE *to, hl_store *store, const hl_sweep *sweep, const hl_store_counts *counts,
                   hl_diagnostics *diagnostics)
{
    fprintf(to, "%zu of %zu points: %zu solved, %zu infeasible, %zu run away, %zu refused\n", counts->done,
            counts->points, counts->solved, counts->infeasible, counts->ran_away, counts->refused);
    if (counts->broken) fprintf(to, "%zu of those solved break a limit\n", counts->broken);
    if (counts->rows != counts->done) fprintf(to, "%zu rows kept\n", counts->rows);
    if (counts->rows == 0) return;
    bool highest = false;
    const char *by = sweep ? hl_sweep_aim(sweep, &highest) : NULL;
    print_rows(to, store, counts->rows, by, highest, diagnostics);
}
