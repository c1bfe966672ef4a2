/* schema.c - the tables of a store.  Names stand in the SQL text, where they cannot be bound: the plan takes
 * only plain ones, and they are quoted all the same.  Every value is bound. */
#include "sweep/store.h"

#include <string.h>

static const double kelvin = 273.15;

static const char tables[] =
    "CREATE TABLE plan (key TEXT PRIMARY KEY, value) WITHOUT ROWID;"
    "CREATE TABLE axis (axis INTEGER PRIMARY KEY, name TEXT, unit TEXT, entries INTEGER);"
    "CREATE TABLE entry (axis INTEGER, entry INTEGER, value, PRIMARY KEY (axis, entry)) WITHOUT ROWID;"
    "CREATE TABLE span (first INTEGER PRIMARY KEY, last INTEGER, next INTEGER, solved INTEGER,"
    " infeasible INTEGER, ran_away INTEGER, refused INTEGER, broken INTEGER);";

static bool is_celsius(const hl_sweep *sweep, const axis *a)
{
    return a->n_settings == 1 && !strcmp(hl_design_setting(sweep->design, a->setting[0])->dimension, "degC");
}

size_t schema_values(const hl_sweep *sweep)
{
    return sweep->n_axes + sweep->n_columns;
}

/* --------------------------------------------------------------- columns -- */

static char *point_table(const hl_sweep *sweep)
{
    sqlite3_str *sql = sqlite3_str_new(NULL);
    sqlite3_str_appendall(
        sql, "CREATE TABLE point (point INTEGER PRIMARY KEY, status INTEGER, reason TEXT, broken TEXT");
    for (size_t i = 0; i < sweep->n_axes; i++) sqlite3_str_appendf(sql, ", axis%d", (int)i);
    for (size_t i = 0; i < sweep->n_columns; i++) sqlite3_str_appendf(sql, ", figure%d", (int)i);
    sqlite3_str_appendall(sql, ")");
    return sqlite3_str_finish(sql);
}

static char *result_view(const hl_sweep *sweep)
{
    sqlite3_str *sql = sqlite3_str_new(NULL);
    sqlite3_str_appendall(sql,
                          "CREATE VIEW result AS SELECT point, CASE status WHEN 0 THEN 'solved' WHEN 1 THEN "
                          "'infeasible' WHEN 2 THEN 'runaway' ELSE 'refused' END AS status, reason, broken");
    for (size_t i = 0; i < sweep->n_axes; i++) {
        const axis *a = &sweep->axes[i];
        if (!a->n_entries)
            sqlite3_str_appendf(sql, ", axis%d - %s AS \"%w\"", (int)i,
                                is_celsius(sweep, a) ? "273.15" : "0.0", a->name);
        else
            sqlite3_str_appendf(sql,
                                ", (SELECT value FROM entry WHERE entry.axis = %d AND entry.entry = "
                                "point.axis%d) AS \"%w\"",
                                (int)i, (int)i, a->name);
    }
    for (size_t i = 0; i < sweep->n_columns; i++)
        sqlite3_str_appendf(sql, ", figure%d AS \"%w\"", (int)i, sweep->columns[i].name);
    sqlite3_str_appendall(sql, " FROM point");
    return sqlite3_str_finish(sql);
}

char *schema_insert(size_t columns)
{
    sqlite3_str *sql = sqlite3_str_new(NULL);
    sqlite3_str_appendall(sql, "INSERT INTO point VALUES (?");
    for (size_t i = 1; i < columns; i++) sqlite3_str_appendall(sql, ", ?");
    sqlite3_str_appendall(sql, ")");
    return sqlite3_str_finish(sql);
}

static bool run_made(sqlite3 *db, char *sql)
{
    bool good = sql && store_execute(db, sql);
    sqlite3_free(sql);
    return good;
}

/* ------------------------------------------------------------------ rows -- */

static bool step_once(sqlite3_stmt *statement)
{
    bool good = sqlite3_step(statement) == SQLITE_DONE;
    sqlite3_reset(statement);
    return good;
}

static void bind_entry(sqlite3_stmt *statement, const hl_sweep *sweep, const axis *a, size_t entry)
{
    const hl_parameter *parameter = hl_design_setting(sweep->design, a->setting[0]);
    double value = a->value[entry * a->n_settings];
    if (a->label && a->label[entry])
        sqlite3_bind_text(statement, 3, a->label[entry], -1, SQLITE_STATIC);
    else if (parameter->kind == HL_CHOICE)
        sqlite3_bind_text(statement, 3, parameter->choices[(size_t)value], -1, SQLITE_STATIC);
    else
        sqlite3_bind_double(statement, 3, is_celsius(sweep, a) ? value - kelvin : value);
}

static bool write_axes(sqlite3 *db, const hl_sweep *sweep)
{
    sqlite3_stmt *axis_row = NULL, *entry_row = NULL;
    bool good =
        sqlite3_prepare_v2(db, "INSERT INTO axis VALUES (?, ?, ?, ?)", -1, &axis_row, NULL) == SQLITE_OK &&
        sqlite3_prepare_v2(db, "INSERT INTO entry VALUES (?, ?, ?)", -1, &entry_row, NULL) == SQLITE_OK;
    for (size_t i = 0; good && i < sweep->n_axes; i++) {
        const axis *a = &sweep->axes[i];
        sqlite3_bind_int64(axis_row, 1, (sqlite3_int64)i);
        sqlite3_bind_text(axis_row, 2, a->name, -1, SQLITE_STATIC);
        sqlite3_bind_text(axis_row, 3, hl_design_setting(sweep->design, a->setting[0])->dimension, -1,
                          SQLITE_STATIC);
        sqlite3_bind_int64(axis_row, 4, (sqlite3_int64)a->n_entries);
        good = step_once(axis_row);
        for (size_t e = 0; good && e < a->n_entries; e++) {
            sqlite3_bind_int64(entry_row, 1, (sqlite3_int64)i);
            sqlite3_bind_int64(entry_row, 2, (sqlite3_int64)e);
            bind_entry(entry_row, sweep, a, e);
            good = step_once(entry_row);
        }
    }
    sqlite3_finalize(axis_row);
    sqlite3_finalize(entry_row);
    return good;
}

static bool write_plan(sqlite3 *db, const hl_sweep *sweep)
{
    arena *memory = arena_create();
    const char *text = memory ? plan_text(sweep, memory) : NULL;
    char points[32], columns[32], most[32], keep[8], aims[HL_AIMS_MAX * 16] = "";
    sqlite3_snprintf(sizeof points, points, "%llu", (unsigned long long)sweep->points);
    sqlite3_snprintf(sizeof columns, columns, "%llu", (unsigned long long)sweep->n_axes);
    sqlite3_snprintf(sizeof most, most, "%llu", (unsigned long long)sweep->keep_most);
    sqlite3_snprintf(sizeof keep, keep, "%d", (int)sweep->keep);
    for (size_t i = 0; i < sweep->n_aims; i++) /* such as "+2 -3": highest of column 2, lowest of column 3 */
        sqlite3_snprintf((int)(sizeof aims - strlen(aims)), aims + strlen(aims), "%s%c%d", i ? " " : "",
                         sweep->aims[i].highest ? '+' : '-', (int)sweep->aims[i].column);
    const char *const rows[][2] = {{"schema", "heatledger.sweep/1"},
                                   {"hash", sweep->hash},
                                   {"design", hl_design_name(sweep->design)},
                                   {"text", text},
                                   {"points", points},
                                   {"axes", columns},
                                   {"keep", keep},
                                   {"keep_most", most},
                                   {"aims", aims}};
    sqlite3_stmt *row = NULL;
    bool good = text && sqlite3_prepare_v2(db, "INSERT INTO plan VALUES (?, ?)", -1, &row, NULL) == SQLITE_OK;
    for (size_t i = 0; good && i < sizeof rows / sizeof rows[0]; i++) {
        sqlite3_bind_text(row, 1, rows[i][0], -1, SQLITE_STATIC);
        sqlite3_bind_text(row, 2, rows[i][1], -1, SQLITE_STATIC);
        good = step_once(row);
    }
    sqlite3_finalize(row);
    arena_destroy(memory);
    return good;
}

static bool write_span(sqlite3 *db, size_t first, size_t last)
{
    sqlite3_stmt *row = NULL;
    bool good = sqlite3_prepare_v2(db, "INSERT INTO span VALUES (?1, ?2, ?1, 0, 0, 0, 0, 0)", -1, &row,
                                   NULL) == SQLITE_OK;
    if (good) {
        sqlite3_bind_int64(row, 1, (sqlite3_int64)first);
        sqlite3_bind_int64(row, 2, (sqlite3_int64)last);
        good = step_once(row);
    }
    sqlite3_finalize(row);
    return good;
}

bool schema_create(hl_store *store, const hl_sweep *sweep, size_t first, size_t last)
{
    sqlite3 *db = store->db;
    char mark[64];
    sqlite3_snprintf(sizeof mark, mark, "PRAGMA application_id = %d; PRAGMA user_version = %d;", STORE_MARK,
                     STORE_FORMAT);
    return store_execute(db, mark) && store_execute(db, tables) && run_made(db, point_table(sweep)) &&
           run_made(db, result_view(sweep)) && write_plan(db, sweep) && write_axes(db, sweep) &&
           write_span(db, first, last);
}
