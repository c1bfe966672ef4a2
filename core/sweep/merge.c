/* merge.c - several stores of one plan become one. */
#include "quantity/float_state.h"
#include "sweep/store.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

typedef struct piece {
    span range;
    size_t store; /* that holds it */
} piece;

typedef struct merge {
    hl_store **parts;
    size_t n;
    piece *pieces; /* rising */
    size_t n_pieces;
    size_t points, axes, columns; /* of the plan; columns of table point */
    hl_store to;
    hl_diagnostics *diagnostics;
} merge;

/* ----------------------------------------------------------------- check -- */

static bool same_plan(const merge *m)
{
    char first[64], other[64];
    store_plan_text(m->parts[0]->db, "hash", first, sizeof first);
    for (size_t i = 1; i < m->n; i++) {
        store_plan_text(m->parts[i]->db, "hash", other, sizeof other);
        if (!strcmp(first, other)) continue;
        hl_place place = {m->parts[i]->path, 0, 0};
        hl_diagnostics_add(
            m->diagnostics, HL_ERROR, &place,
            "the store holds plan %s, but '%s' holds %s; only stores of one plan can be joined", other,
            m->parts[0]->path, first);
        return false;
    }
    return true;
}

static int by_first(const void *a, const void *b)
{
    const piece *x = a, *y = b;
    return x->range.first < y->range.first ? -1 : x->range.first > y->range.first;
}

static bool collect_pieces(merge *m)
{
    size_t n = 0;
    for (size_t i = 0; i < m->n; i++) n += m->parts[i]->n_spans;
    m->pieces = calloc(2 * n + 1, sizeof *m->pieces); /* and room for the gaps between them */
    if (!m->pieces) return false;
    for (size_t i = 0; i < m->n; i++)
        for (size_t k = 0; k < m->parts[i]->n_spans; k++)
            m->pieces[m->n_pieces++] = (piece){m->parts[i]->spans[k], i};
    qsort(m->pieces, m->n_pieces, sizeof *m->pieces, by_first);
    return true;
}

static bool no_overlap(const merge *m)
{
    for (size_t i = 1; i < m->n_pieces; i++) {
        const piece *a = &m->pieces[i - 1], *b = &m->pieces[i];
        if (b->range.first >= a->range.last) continue;
        hl_place place = {m->parts[b->store]->path, 0, 0};
        hl_diagnostics_add(m->diagnostics, HL_ERROR, &place,
                           "points from %zu on are in '%s' too; name each shard once", b->range.first,
                           m->parts[a->store]->path);
        return false;
    }
    return true;
}

static void say_missing(const merge *m, size_t first, size_t last, const char *path)
{
    hl_place place = {path, 0, 0};
    hl_diagnostics_add(m->diagnostics, HL_ERROR, &place,
                       "points %zu to %zu are missing; finish that shard, or join with --incomplete", first,
                       last);
}

/* Ranges no store has become pieces of their own, with nothing done. */
static void fill_gaps(merge *m)
{
    size_t n = m->n_pieces, at = 0, made = 0;
    for (size_t i = 0; i <= n; i++) {
        size_t next = i < n ? m->pieces[i].range.first : m->points;
        if (next > at) m->pieces[n + made++] = (piece){{at, next, at, {0}}, SIZE_MAX};
        if (i < n) at = m->pieces[i].range.last;
    }
    m->n_pieces += made;
    qsort(m->pieces, m->n_pieces, sizeof *m->pieces, by_first);
}

static bool all_is_there(const merge *m)
{
    bool good = true;
    for (size_t i = 0; i < m->n_pieces; i++) {
        const piece *p = &m->pieces[i];
        if (p->range.next == p->range.last) continue;
        say_missing(m, p->range.next, p->range.last, p->store == SIZE_MAX ? NULL : m->parts[p->store]->path);
        good = false;
    }
    return good;
}

/* ------------------------------------------------------------------ copy -- */

/* Run the statements that made the first store's tables and view. */
static bool copy_schema(merge *m)
{
    sqlite3_stmt *row = NULL;
    bool good = sqlite3_prepare_v2(m->parts[0]->db, "SELECT sql FROM sqlite_master WHERE sql IS NOT NULL", -1,
                                   &row, NULL) == SQLITE_OK;
    char mark[64];
    sqlite3_snprintf(sizeof mark, mark, "PRAGMA application_id = %d; PRAGMA user_version = %d;", STORE_MARK,
                     STORE_FORMAT);
    good = good && store_execute(m->to.db, mark);
    while (good && sqlite3_step(row) == SQLITE_ROW)
        good = store_execute(m->to.db, (const char *)sqlite3_column_text(row, 0));
    sqlite3_finalize(row);
    return good;
}

static bool copy_row(sqlite3_stmt *from, sqlite3_stmt *to)
{
    for (int i = 0; i < sqlite3_column_count(from); i++)
        sqlite3_bind_value(to, i + 1, sqlite3_column_value(from, i));
    bool good = sqlite3_step(to) == SQLITE_DONE;
    sqlite3_reset(to);
    return good;
}

static bool copy_table(merge *m, const char *select, const char *insert)
{
    sqlite3_stmt *from = NULL, *to = NULL;
    bool good = sqlite3_prepare_v2(m->parts[0]->db, select, -1, &from, NULL) == SQLITE_OK &&
                sqlite3_prepare_v2(m->to.db, insert, -1, &to, NULL) == SQLITE_OK;
    while (good && sqlite3_step(from) == SQLITE_ROW) good = copy_row(from, to);
    sqlite3_finalize(from);
    sqlite3_finalize(to);
    return good;
}

static bool copy_spans(merge *m)
{
    sqlite3_stmt *to = NULL;
    bool good = sqlite3_prepare_v2(m->to.db, "INSERT INTO span VALUES (?, ?, ?, ?, ?, ?, ?, ?)", -1, &to,
                                   NULL) == SQLITE_OK;
    for (size_t i = 0; good && i < m->n_pieces; i++) {
        const span *s = &m->pieces[i].range;
        const size_t n[] = {
            s->first,           s->last,           s->next,         s->counts.solved, s->counts.infeasible,
            s->counts.ran_away, s->counts.refused, s->counts.broken};
        for (int k = 0; k < 8; k++) sqlite3_bind_int64(to, k + 1, (sqlite3_int64)n[k]);
        good = sqlite3_step(to) == SQLITE_DONE;
        sqlite3_reset(to);
    }
    sqlite3_finalize(to);
    return good;
}

static bool remove_dropped(merge *m)
{
    for (size_t i = 0; i < m->to.keep->n_dropped; i++) {
        sqlite3_bind_int64(m->to.remove, 1, (sqlite3_int64)m->to.keep->dropped[i]);
        if (sqlite3_step(m->to.remove) != SQLITE_DONE) return false;
        sqlite3_reset(m->to.remove);
    }
    return true;
}

static bool offer(merge *m, sqlite3_stmt *from)
{
    double figures[COLUMNS_MAX];
    size_t n = m->columns - 4 - m->axes;
    for (size_t i = 0; i < n; i++) {
        int at = 4 + (int)(m->axes + i);
        figures[i] = sqlite3_column_type(from, at) == SQLITE_NULL ? NAN : sqlite3_column_double(from, at);
    }
    bool good = sqlite3_column_int(from, 1) == ROW_SOLVED && sqlite3_column_type(from, 3) == SQLITE_NULL,
         stays;
    if (keeper_offer(m->to.keep, (size_t)sqlite3_column_int64(from, 0), good, figures, &stays) != HL_OK)
        return false;
    return !stays || (remove_dropped(m) && copy_row(from, m->to.insert));
}

/* The rows of one piece; kept rows of stores that keep a choice compete once more. */
static bool copy_piece(merge *m, const piece *p)
{
    sqlite3_stmt *from = NULL;
    bool good = sqlite3_prepare_v2(m->parts[p->store]->db,
                                   "SELECT * FROM point WHERE point >= ? AND point < ? ORDER BY point", -1,
                                   &from, NULL) == SQLITE_OK;
    good = good && (size_t)sqlite3_column_count(from) == m->columns;
    if (good) {
        sqlite3_bind_int64(from, 1, (sqlite3_int64)p->range.first);
        sqlite3_bind_int64(from, 2, (sqlite3_int64)p->range.last);
    }
    while (good && sqlite3_step(from) == SQLITE_ROW) good = offer(m, from);
    sqlite3_finalize(from);
    return good;
}

static bool copy_points(merge *m)
{
    char *insert = schema_insert(m->columns);
    bool good = insert && sqlite3_prepare_v2(m->to.db, insert, -1, &m->to.insert, NULL) == SQLITE_OK &&
                sqlite3_prepare_v2(m->to.db, "DELETE FROM point WHERE point = ?", -1, &m->to.remove, NULL) ==
                    SQLITE_OK;
    sqlite3_free(insert);
    for (size_t i = 0; good && i < m->n_pieces; i++)
        if (m->pieces[i].store != SIZE_MAX) good = copy_piece(m, &m->pieces[i]);
    return good;
}

/* ------------------------------------------------------------------- plan -- */

static size_t plan_number(sqlite3 *db, const char *key)
{
    char text[32];
    return store_plan_text(db, key, text, sizeof text) ? (size_t)strtoull(text, NULL, 10) : 0;
}

/* What the plan keeps, as schema.c wrote it. */
static bool read_keep(merge *m)
{
    sqlite3 *db = m->parts[0]->db;
    char text[HL_AIMS_MAX * 16];
    aim aims[HL_AIMS_MAX] = {{0}};
    size_t n = 0, figures = m->columns - 4 - m->axes;
    store_plan_text(db, "aims", text, sizeof text);
    for (char *at = text; *at && n < HL_AIMS_MAX; n++) {
        bool highest = *at == '+';
        aims[n] = (aim){(size_t)strtoull(at + 1, &at, 10), highest};
        if (aims[n].column >= figures) return false;
        while (*at == ' ') at++;
    }
    size_t keep = plan_number(db, "keep");
    if (keep > HL_KEEP_FAILURES || (keep == HL_KEEP_BEST && n != 1)) return false;
    m->to.keep = keeper_create((hl_keep)keep, plan_number(db, "keep_most"), n, aims);
    return m->to.keep != NULL;
}

static bool read_plan(merge *m)
{
    sqlite3_stmt *row = NULL;
    sqlite3 *db = m->parts[0]->db;
    m->points = plan_number(db, "points");
    m->axes = plan_number(db, "axes");
    if (sqlite3_prepare_v2(db, "SELECT * FROM point LIMIT 0", -1, &row, NULL) == SQLITE_OK)
        m->columns = (size_t)sqlite3_column_count(row);
    sqlite3_finalize(row);
    bool good = m->axes <= AXES_MAX && m->columns >= 4 + m->axes && m->columns - 4 - m->axes <= COLUMNS_MAX;
    if (good && read_keep(m)) return true;
    hl_place place = {m->parts[0]->path, 0, 0};
    hl_diagnostics_add(m->diagnostics, HL_ERROR, &place, "the store's plan cannot be read; it is damaged");
    return false;
}

/* ------------------------------------------------------------------ write -- */

static bool sync_file(const char *path)
{
    int file = open(path, O_RDONLY | O_CLOEXEC);
    bool good = file >= 0 && fsync(file) == 0;
    if (file >= 0) close(file);
    return good;
}

static bool write_all(merge *m)
{
    return store_execute(m->to.db, "PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; BEGIN") &&
           copy_schema(m) && copy_table(m, "SELECT * FROM plan", "INSERT INTO plan VALUES (?, ?)") &&
           copy_table(m, "SELECT * FROM axis", "INSERT INTO axis VALUES (?, ?, ?, ?)") &&
           copy_table(m, "SELECT * FROM entry", "INSERT INTO entry VALUES (?, ?, ?)") && copy_spans(m) &&
           copy_points(m) && store_execute(m->to.db, "COMMIT");
}

static void close_target(merge *m)
{
    sqlite3_finalize(m->to.insert);
    sqlite3_finalize(m->to.remove);
    sqlite3_close(m->to.db);
    m->to.insert = m->to.remove = NULL;
    m->to.db = NULL;
}

static hl_status write_store(merge *m, const char *path)
{
    char *beside = sqlite3_mprintf("%s.unfinished", path);
    hl_status status = HL_NO_MEMORY;
    if (beside) {
        m->to.path = beside;
        unlink(beside);
        if (sqlite3_open_v2(beside, &m->to.db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL) !=
                SQLITE_OK ||
            !write_all(m))
            status = store_failed(&m->to, m->diagnostics);
        else
            status = HL_OK;
        close_target(m);
        if (status == HL_OK && (!sync_file(beside) || rename(beside, path) != 0)) {
            hl_place place = {path, 0, 0};
            hl_diagnostics_add(m->diagnostics, HL_ERROR, &place, "cannot be written: %s", strerror(errno));
            status = HL_NO_FILE;
        }
        if (status != HL_OK) unlink(beside);
    }
    sqlite3_free(beside);
    return status;
}

static bool open_parts(merge *m, const char *const paths[])
{
    m->parts = calloc(m->n + 1, sizeof *m->parts);
    if (!m->parts) return false;
    for (size_t i = 0; i < m->n; i++)
        if (!(m->parts[i] = hl_store_read(paths[i], m->diagnostics))) return false;
    return true;
}

hl_status hl_store_merge(const char *path, size_t n, const char *const parts[], bool incomplete,
                         hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    merge m = {.n = n, .diagnostics = diagnostics};
    hl_place place = {path, 0, 0};
    hl_status status = HL_BAD_INPUT;
    if (n < 1)
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "no store to join is named");
    else if (access(path, F_OK) == 0)
        hl_diagnostics_add(diagnostics, HL_ERROR, &place,
                           "is there already; name a new file for the joined store");
    else if (open_parts(&m, parts) && same_plan(&m) && read_plan(&m) && collect_pieces(&m) &&
             no_overlap(&m)) {
        fill_gaps(&m);
        if (incomplete || all_is_there(&m)) status = write_store(&m, path);
    }
    for (size_t i = 0; m.parts && i < n; i++) hl_store_close(m.parts[i]);
    keeper_destroy(m.to.keep);
    free(m.parts);
    free(m.pieces);
    return status;
}
