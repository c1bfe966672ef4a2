/* store.c - opening a store, one batch of rows after the other, and what it says of itself.
 *
 * A rollback journal and one transaction a batch: a process killed at any moment leaves the batches that were
 * committed, in one file that may lie on a shared disk.  The exclusive lock keeps a second writer out and
 * dies with its process. */
#include "sweep/store.h"
#include "heatledger/quantity.h"
#include "quantity/float_state.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

bool store_execute(sqlite3 *db, const char *sql)
{
    return sqlite3_exec(db, sql, NULL, NULL, NULL) == SQLITE_OK;
}

hl_status store_failed(hl_store *store, hl_diagnostics *diagnostics)
{
    hl_place place = {store->path, 0, 0};
    int code = store->db ? sqlite3_errcode(store->db) & 0xff : SQLITE_NOMEM;
    const char *text = store->db ? sqlite3_errmsg(store->db) : "memory ran out";
    const char *remedy = "see that the file is there and may be written";
    if (code == SQLITE_FULL || code == SQLITE_IOERR)
        remedy = "the disk may be full: make room, then run the same command; it goes on where it stopped";
    if (code == SQLITE_BUSY || code == SQLITE_LOCKED) remedy = "another process uses it: let that end first";
    if (code == SQLITE_NOTADB || code == SQLITE_CORRUPT)
        remedy = "this is no store, or a damaged one: name another";
    hl_diagnostics_add(diagnostics, HL_ERROR, &place, "%s; %s", text, remedy);
    return HL_NO_FILE;
}

void hl_store_close(hl_store *store)
{
    if (!store) return;
    sqlite3_finalize(store->insert);
    sqlite3_finalize(store->remove);
    sqlite3_finalize(store->move);
    sqlite3_close(store->db);
    keeper_destroy(store->keep);
    free(store->spans);
    free(store->path);
    free(store);
}

/* ------------------------------------------------------------------ read -- */

bool store_plan_text(sqlite3 *db, const char *key, char *text, size_t size)
{
    sqlite3_stmt *row = NULL;
    bool found = false;
    text[0] = '\0';
    if (sqlite3_prepare_v2(db, "SELECT value FROM plan WHERE key = ?", -1, &row, NULL) == SQLITE_OK) {
        sqlite3_bind_text(row, 1, key, -1, SQLITE_STATIC);
        found = sqlite3_step(row) == SQLITE_ROW;
        const unsigned char *value = found ? sqlite3_column_text(row, 0) : NULL;
        if (value) snprintf(text, size, "%s", (const char *)value);
    }
    sqlite3_finalize(row);
    return found;
}

static bool add_span(hl_store *store, sqlite3_stmt *row)
{
    span *grown = realloc(store->spans, (store->n_spans + 1) * sizeof *grown);
    if (!grown) return false;
    store->spans = grown;
    size_t n[8];
    for (int i = 0; i < 8; i++) n[i] = (size_t)sqlite3_column_int64(row, i);
    if (n[0] > n[1] || n[2] < n[0] || n[2] > n[1]) return false;
    span read = {n[0], n[1], n[2], {0}};
    read.counts.solved = n[3];
    read.counts.infeasible = n[4];
    read.counts.ran_away = n[5];
    read.counts.refused = n[6];
    read.counts.broken = n[7];
    store->spans[store->n_spans++] = read;
    return true;
}

bool store_read_spans(hl_store *store)
{
    static const char sql[] =
        "SELECT first, last, next, solved, infeasible, ran_away, refused, broken FROM span ORDER BY first";
    sqlite3_stmt *row = NULL;
    store->n_spans = 0;
    bool good = sqlite3_prepare_v2(store->db, sql, -1, &row, NULL) == SQLITE_OK;
    int step = SQLITE_DONE;
    while (good && (step = sqlite3_step(row)) == SQLITE_ROW) good = add_span(store, row);
    sqlite3_finalize(row);
    return good && step == SQLITE_DONE && store->n_spans > 0;
}

/* ------------------------------------------------------------------ open -- */

static hl_store *open_file(const char *path, int flags, hl_diagnostics *diagnostics)
{
    hl_store *store = calloc(1, sizeof *store);
    if (store) store->path = malloc(strlen(path) + 1);
    if (!store || !store->path) {
        free(store);
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; close other programs");
        return NULL;
    }
    memcpy(store->path, path, strlen(path) + 1);
    if (sqlite3_open_v2(path, &store->db, flags, NULL) == SQLITE_OK) return store;
    store_failed(store, diagnostics);
    hl_store_close(store);
    return NULL;
}

static int number_of(sqlite3 *db, const char *sql)
{
    sqlite3_stmt *row = NULL;
    int number = -1;
    if (sqlite3_prepare_v2(db, sql, -1, &row, NULL) == SQLITE_OK && sqlite3_step(row) == SQLITE_ROW)
        number = sqlite3_column_int(row, 0);
    sqlite3_finalize(row);
    return number;
}

/* Nothing in it yet, not even another program's tables. */
static bool is_empty(sqlite3 *db)
{
    return number_of(db, "SELECT count(*) FROM sqlite_master") == 0;
}

static bool is_store(const hl_store *store, hl_diagnostics *diagnostics)
{
    hl_place place = {store->path, 0, 0};
    if (number_of(store->db, "PRAGMA application_id") != STORE_MARK) {
        hl_diagnostics_add(diagnostics, HL_ERROR, &place, "this file is no store of a sweep; name another");
        return false;
    }
    int format = number_of(store->db, "PRAGMA user_version");
    if (format == STORE_FORMAT) return true;
    hl_diagnostics_add(diagnostics, HL_ERROR, &place,
                       "a store of format %d; this version knows format %d: use the version that wrote it",
                       format, STORE_FORMAT);
    return false;
}

/* Points of shard i of n: as even as whole points allow. */
static void shard_range(size_t points, hl_shard shard, size_t *first, size_t *last)
{
    size_t n = shard.shards, whole = points / n, rest = points % n, i = shard.shard - 1;
    *first = i * whole + (i < rest ? i : rest);
    *last = *first + whole + (i < rest);
}

static bool same_plan(hl_store *store, const hl_sweep *sweep, hl_diagnostics *diagnostics)
{
    char hash[64];
    store_plan_text(store->db, "hash", hash, sizeof hash);
    if (!strcmp(hash, sweep->hash)) return true;
    hl_place place = {store->path, 0, 0};
    hl_diagnostics_add(
        diagnostics, HL_ERROR, &place,
        "the store holds another plan (%s, this one is %s): the script, a part or a setting has "
        "changed; name a new store",
        hash, sweep->hash);
    return false;
}

/* The spans must be exactly the range that is asked for. */
static bool same_range(hl_store *store, size_t first, size_t last, hl_diagnostics *diagnostics)
{
    size_t at = first;
    for (size_t i = 0; i < store->n_spans; i++) {
        if (store->spans[i].first != at) break;
        at = store->spans[i].last;
    }
    if (at == last && store->spans[0].first == first) return true;
    hl_place place = {store->path, 0, 0};
    hl_diagnostics_add(
        diagnostics, HL_ERROR, &place,
        "the store holds points %zu to %zu, not %zu to %zu; give the same --shard as before, or "
        "another store",
        store->spans[0].first, store->spans[store->n_spans - 1].last, first, last);
    return false;
}

/* What was kept before is what later rows compete with. */
static hl_status load_kept(hl_store *store, hl_diagnostics *diagnostics)
{
    const hl_sweep *sweep = store->sweep;
    store->keep = keeper_create(sweep->keep, sweep->keep_most, sweep->n_aims, sweep->aims);
    if (!store->keep) return HL_NO_MEMORY;
    if (sweep->keep == HL_KEEP_ALL) return HL_OK;
    sqlite3_stmt *row = NULL;
    hl_status status = HL_OK;
    if (sqlite3_prepare_v2(store->db, "SELECT * FROM point ORDER BY point", -1, &row, NULL) != SQLITE_OK)
        return store_failed(store, diagnostics);
    while (status == HL_OK && sqlite3_step(row) == SQLITE_ROW) {
        double figures[COLUMNS_MAX];
        bool stays;
        for (size_t i = 0; i < sweep->n_columns; i++) {
            int at = 4 + (int)(sweep->n_axes + i);
            figures[i] = sqlite3_column_type(row, at) == SQLITE_NULL ? NAN : sqlite3_column_double(row, at);
        }
        bool good = sweep->keep != HL_KEEP_FAILURES;
        status = keeper_offer(store->keep, (size_t)sqlite3_column_int64(row, 0), good, figures, &stays);
    }
    sqlite3_finalize(row);
    return status;
}

static bool prepare(hl_store *store)
{
    static const char move[] =
        "UPDATE span SET next = ?2, solved = ?3, infeasible = ?4, ran_away = ?5, refused = ?6, "
        "broken = ?7 WHERE first = ?1";
    char *insert = schema_insert(4 + schema_values(store->sweep));
    bool good = insert && sqlite3_prepare_v2(store->db, insert, -1, &store->insert, NULL) == SQLITE_OK &&
                sqlite3_prepare_v2(store->db, "DELETE FROM point WHERE point = ?", -1, &store->remove,
                                   NULL) == SQLITE_OK &&
                sqlite3_prepare_v2(store->db, move, -1, &store->move, NULL) == SQLITE_OK;
    sqlite3_free(insert);
    return good;
}

static hl_status open_for_writing(hl_store *store, size_t first, size_t last, hl_diagnostics *diagnostics)
{
    sqlite3 *db = store->db;
    sqlite3_busy_timeout(db, 200);
    if (!store_execute(
            db, "PRAGMA locking_mode = EXCLUSIVE; PRAGMA journal_mode = TRUNCATE; PRAGMA cache_size = -8000;"
                "BEGIN EXCLUSIVE"))
        return store_failed(store, diagnostics);
    if (is_empty(db) && !schema_create(store, store->sweep, first, last))
        return store_failed(store, diagnostics);
    if (!is_store(store, diagnostics) || !same_plan(store, store->sweep, diagnostics)) return HL_BAD_INPUT;
    if (!store_read_spans(store)) return store_failed(store, diagnostics);
    if (!same_range(store, first, last, diagnostics)) return HL_BAD_INPUT;
    if (!store_execute(db, "COMMIT") || !prepare(store)) return store_failed(store, diagnostics);
    return load_kept(store, diagnostics);
}

hl_store *hl_store_open(const char *path, const hl_sweep *sweep, hl_shard shard, hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    size_t first, last;
    if (shard.shards < 1 || shard.shard < 1 || shard.shard > shard.shards) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL,
                           "there is no shard %zu of %zu; they count from 1 to %zu", shard.shard,
                           shard.shards, shard.shards);
        return NULL;
    }
    shard_range(sweep->points, shard, &first, &last);
    hl_store *store = open_file(path, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, diagnostics);
    if (!store) return NULL;
    store->sweep = sweep;
    hl_status status = open_for_writing(store, first, last, diagnostics);
    if (status == HL_OK) return store;
    if (status == HL_NO_MEMORY)
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; close other programs");
    hl_store_close(store);
    return NULL;
}

hl_store *hl_store_read(const char *path, hl_diagnostics *diagnostics)
{
    hl_place place = {path, 0, 0};
    if (access(path, R_OK) != 0) {
        hl_diagnostics_add(diagnostics, HL_ERROR, &place, "the store cannot be read; is it there?");
        return NULL;
    }
    /* readable and writable: a killed writer's last batch may have to be taken back first */
    hl_store *store = open_file(path, SQLITE_OPEN_READWRITE, diagnostics);
    if (!store) return NULL;
    sqlite3_busy_timeout(store->db, 2000);
    int tables = number_of(store->db, "SELECT count(*) FROM sqlite_master");
    if (tables < 0)
        store_failed(store, diagnostics);
    else if (is_store(store, diagnostics)) {
        if (store_read_spans(store)) return store;
        store_failed(store, diagnostics);
    }
    hl_store_close(store);
    return NULL;
}

/* ----------------------------------------------------------------- batch -- */

bool store_begin(hl_store *store)
{
    return store_execute(store->db, "BEGIN IMMEDIATE");
}

void store_roll_back(hl_store *store)
{
    if (!sqlite3_get_autocommit(store->db)) store_execute(store->db, "ROLLBACK");
}

static bool step_once(sqlite3_stmt *statement)
{
    bool good = sqlite3_step(statement) == SQLITE_DONE;
    sqlite3_reset(statement);
    return good;
}

bool store_commit(hl_store *store, const span *moved)
{
    const size_t n[] = {
        moved->first,           moved->next,           moved->counts.solved, moved->counts.infeasible,
        moved->counts.ran_away, moved->counts.refused, moved->counts.broken};
    for (int i = 0; i < 7; i++) sqlite3_bind_int64(store->move, i + 1, (sqlite3_int64)n[i]);
    return step_once(store->move) && store_execute(store->db, "COMMIT");
}

static void bind_values(hl_store *store, size_t point, const double figures[])
{
    const hl_sweep *sweep = store->sweep;
    sqlite3_stmt *row = store->insert;
    int at = 5;
    for (size_t i = 0; i < sweep->n_axes; i++, at++) {
        if (sweep->axes[i].n_entries)
            sqlite3_bind_int64(row, at, (sqlite3_int64)plan_entry(sweep, point, i));
        else
            sqlite3_bind_double(row, at, plan_range_value(sweep, point, i));
    }
    for (size_t i = 0; i < sweep->n_columns; i++, at++)
        sqlite3_bind_double(row, at, figures[i]); /* NaN: NULL */
}

static void count(hl_store_counts *counts, row_status status, bool broken)
{
    counts->solved += status == ROW_SOLVED;
    counts->infeasible += status == ROW_INFEASIBLE;
    counts->ran_away += status == ROW_RAN_AWAY;
    counts->refused += status == ROW_REFUSED;
    counts->broken += broken;
}

static bool remove_dropped(hl_store *store)
{
    for (size_t i = 0; i < store->keep->n_dropped; i++) {
        sqlite3_bind_int64(store->remove, 1, (sqlite3_int64)store->keep->dropped[i]);
        if (!step_once(store->remove)) return false;
    }
    return true;
}

bool store_offer(hl_store *store, size_t point, row_status status, const char *reason, const double figures[],
                 span *to)
{
    char broken[400];
    bool stays, breaks = status == ROW_SOLVED && plan_broken(store->sweep, figures, broken, sizeof broken);
    count(&to->counts, status, breaks);
    if (keeper_offer(store->keep, point, status == ROW_SOLVED && !breaks, figures, &stays) != HL_OK)
        return false;
    if (!stays) return true;
    sqlite3_stmt *row = store->insert;
    sqlite3_bind_int64(row, 1, (sqlite3_int64)point);
    sqlite3_bind_int(row, 2, status);
    if (status != ROW_SOLVED)
        sqlite3_bind_text(row, 3, reason, -1, SQLITE_STATIC);
    else
        sqlite3_bind_null(row, 3);
    if (breaks)
        sqlite3_bind_text(row, 4, broken, -1, SQLITE_STATIC);
    else
        sqlite3_bind_null(row, 4);
    bind_values(store, point, figures);
    return remove_dropped(store) && step_once(row);
}

/* ---------------------------------------------------------------- counts -- */

hl_status hl_store_count(hl_store *store, hl_store_counts *counts, hl_diagnostics *diagnostics)
{
    memset(counts, 0, sizeof *counts);
    for (size_t i = 0; i < store->n_spans; i++) {
        const span *s = &store->spans[i];
        counts->points += s->last - s->first;
        counts->done += s->next - s->first;
        counts->solved += s->counts.solved;
        counts->infeasible += s->counts.infeasible;
        counts->ran_away += s->counts.ran_away;
        counts->refused += s->counts.refused;
        counts->broken += s->counts.broken;
    }
    int rows = number_of(store->db, "SELECT count(*) FROM point");
    if (rows < 0) return store_failed(store, diagnostics);
    counts->rows = (size_t)rows;
    return HL_OK;
}

static bool hand_row(sqlite3_stmt *row, size_t columns, hl_row hand, void *context)
{
    const char *names[AXES_MAX + COLUMNS_MAX + 8], *values[AXES_MAX + COLUMNS_MAX + 8];
    static const int room = 32;
    char numbers[AXES_MAX + COLUMNS_MAX + 8][32];
    bool is_text[AXES_MAX + COLUMNS_MAX + 8];
    for (size_t i = 0; i < columns; i++) {
        int type = sqlite3_column_type(row, (int)i);
        names[i] = sqlite3_column_name(row, (int)i);
        is_text[i] = type == SQLITE_TEXT;
        values[i] = type == SQLITE_NULL ? NULL : numbers[i];
        if (type == SQLITE_TEXT)
            values[i] = (const char *)sqlite3_column_text(row, (int)i);
        else if (type == SQLITE_INTEGER)
            snprintf(numbers[i], room, "%lld", (long long)sqlite3_column_int64(row, (int)i));
        else if (type == SQLITE_FLOAT)
            hl_number_print(sqlite3_column_double(row, (int)i), numbers[i], room);
    }
    return hand(context, columns, names, values, is_text);
}

hl_status hl_store_rows(hl_store *store, size_t most, hl_row hand, void *context, hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    sqlite3_stmt *row = NULL;
    if (sqlite3_prepare_v2(store->db, "SELECT * FROM result ORDER BY point LIMIT ?", -1, &row, NULL) !=
        SQLITE_OK)
        return store_failed(store, diagnostics);
    sqlite3_bind_int64(row, 1, most > 0 && most < (size_t)1 << 62 ? (sqlite3_int64)most : -1);
    size_t columns = (size_t)sqlite3_column_count(row);
    int step = SQLITE_DONE;
    if (columns <= AXES_MAX + COLUMNS_MAX + 8)
        while ((step = sqlite3_step(row)) == SQLITE_ROW)
            if (!hand_row(row, columns, hand, context)) break;
    hl_status status = step == SQLITE_ROW || step == SQLITE_DONE ? HL_OK : store_failed(store, diagnostics);
    sqlite3_finalize(row);
    return status;
}
