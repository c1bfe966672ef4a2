/* store.h - the SQLite file behind a sweep, as its files share it. */
#ifndef HEATLEDGER_SWEEP_STORE_H
#define HEATLEDGER_SWEEP_STORE_H

#include <sqlite3.h>

#include "sweep/keep.h"
#include "sweep/plan.h"

typedef struct span {
    size_t first, last, next; /* points first .. last-1; next is the first that is missing */
    hl_store_counts counts;   /* outcomes of those done; points, done and rows are not kept here */
} span;

typedef enum row_status { ROW_SOLVED, ROW_INFEASIBLE, ROW_RAN_AWAY, ROW_REFUSED } row_status;

struct hl_store {
    sqlite3 *db;
    char *path;
    const hl_sweep *sweep; /* NULL when opened for reading */
    span *spans;           /* rising */
    size_t n_spans;
    keeper *keep;
    sqlite3_stmt *insert, *remove, *move;
};

enum { STORE_FORMAT = 1, STORE_MARK = 0x484c5357 }; /* "HLSW" in the file's header */

/* Add what went wrong with the database to the diagnostics; returns HL_NO_FILE. */
hl_status store_failed(hl_store *store, hl_diagnostics *diagnostics);
/* Run statements without values. */
bool store_execute(sqlite3 *db, const char *sql);

/* schema.c: tables and view of a new store, its plan and one span, within the open transaction. */
bool schema_create(hl_store *store, const hl_sweep *sweep, size_t first, size_t last);
/* Number of columns behind point, status, reason, broken in table point. */
size_t schema_values(const hl_sweep *sweep);
/* "INSERT INTO point VALUES (?, ...)" for so many columns; from sqlite3_mprintf. */
char *schema_insert(size_t columns);

/* A text of the plan table into a buffer; false: not there. */
bool store_plan_text(sqlite3 *db, const char *key, char *text, size_t size);
/* Read the spans.  false: no memory or a broken store. */
bool store_read_spans(hl_store *store);

/* One batch: rows between begin and commit; after a failure the caller rolls back. */
bool store_begin(hl_store *store);
bool store_commit(hl_store *store, const span *moved);
void store_roll_back(hl_store *store);
/* Offer one row of the plan's columns. */
bool store_offer(hl_store *store, size_t point, row_status status, const char *reason, const double figures[],
                 span *to);

#endif
