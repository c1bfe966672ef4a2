/* row_table.c - rows of a store as an aligned table within eighty columns. */
#include "cli/row_table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ROWS_MAX = 32, COLUMNS_MAX = 24, NAME_MAX_TEXT = 80, CELL = 24, PAGE = 80, PIECE = 13, LINES_MAX = 8 };

typedef struct row {
    double rank; /* low is good */
    char cell[COLUMNS_MAX][CELL];
    bool is_text[COLUMNS_MAX];
} row;

struct row_table {
    const char *by;
    bool highest;
    size_t most, n, columns;
    char name[COLUMNS_MAX][NAME_MAX_TEXT];
    row rows[ROWS_MAX];
};

row_table *row_table_create(size_t most, const char *by, bool highest)
{
    row_table *made = calloc(1, sizeof *made);
    if (!made) return NULL;
    made->most = most < ROWS_MAX ? most : ROWS_MAX;
    made->by = by;
    made->highest = highest;
    return made;
}

void row_table_destroy(row_table *table)
{
    free(table);
}

static void fill_row(row *made, const row_table *table, const char *const names[], const char *const values[],
                     const bool is_text[])
{
    made->rank = 0;
    for (size_t c = 0; c < table->columns; c++) {
        made->is_text[c] = is_text[c];
        if (!values[c])
            snprintf(made->cell[c], CELL, "-");
        else if (is_text[c] || !strcmp(names[c], "point"))
            snprintf(made->cell[c], CELL, "%s", values[c]);
        else
            snprintf(made->cell[c], CELL, "%.4g", atof(values[c]));
        if (!table->by || strcmp(names[c], table->by) != 0) continue;
        double value = values[c] ? atof(values[c]) : NAN;
        made->rank = isnan(value) ? HUGE_VAL : table->highest ? -value : value;
    }
}

bool row_table_add(void *context, size_t columns, const char *const names[], const char *const values[],
                   const bool is_text[])
{
    row_table *table = context;
    if (!table->columns) {
        table->columns = columns < COLUMNS_MAX ? columns : COLUMNS_MAX;
        for (size_t c = 0; c < table->columns; c++) snprintf(table->name[c], NAME_MAX_TEXT, "%s", names[c]);
    }
    row made;
    fill_row(&made, table, names, values, is_text);
    size_t at = table->n;
    while (at > 0 && made.rank < table->rows[at - 1].rank) at--; /* equal ones in the order of points */
    if (at >= table->most) return table->by != NULL;
    if (table->n < table->most) table->n++;
    memmove(&table->rows[at + 1], &table->rows[at], (table->n - at - 1) * sizeof made);
    table->rows[at] = made;
    return true;
}

/* ----------------------------------------------------------------- print -- */

typedef struct head {
    char line[LINES_MAX][PIECE + CELL];
    size_t lines, width;
} head;

/* Letters up to the next place where a name may break: after a dot, or after an underscore unless only a unit
 * of one letter follows. */
static size_t piece_of(const char *name)
{
    size_t n = strcspn(name, "._");
    if (!name[n]) return n;
    size_t rest = strlen(name + n + 1);
    return rest <= 1 ? n + 1 + rest : n + 1;
}

/* A name in lines of at most PIECE letters where it may break. */
static void break_name(const char *name, head *made)
{
    memset(made, 0, sizeof *made);
    made->lines = 1;
    while (*name) {
        size_t piece = piece_of(name);
        char *line = made->line[made->lines - 1];
        if (*line && strlen(line) + piece > PIECE && made->lines < LINES_MAX)
            line = made->line[made->lines++];
        size_t used = strlen(line), room = sizeof made->line[0] - 1 - used;
        memcpy(line + used, name, piece < room ? piece : room);
        name += piece;
    }
    for (size_t l = 0; l < made->lines; l++)
        if (strlen(made->line[l]) > made->width) made->width = strlen(made->line[l]);
}

/* Columns that say how a point went stand last, and find room first. */
static bool is_outcome(const char *name)
{
    return !strcmp(name, "status") || !strcmp(name, "reason") || !strcmp(name, "broken");
}

/* Nothing to say: every row was solved, has no reason, and breaks no limit. */
static bool is_idle(const row_table *table, size_t c)
{
    const char *usual = !strcmp(table->name[c], "status") ? "solved" : "-";
    for (size_t r = 0; r < table->n; r++)
        if (strcmp(table->rows[r].cell[c], usual) != 0) return false;
    return true;
}

typedef struct layout {
    head heads[COLUMNS_MAX];
    size_t shown[COLUMNS_MAX], n, used, lines, left_out;
} layout;

static void take(const row_table *table, size_t c, bool outcome, layout *page)
{
    head *h = &page->heads[c];
    if (is_outcome(table->name[c]) != outcome || (outcome && is_idle(table, c))) return;
    break_name(table->name[c], h);
    for (size_t r = 0; r < table->n; r++)
        if (strlen(table->rows[r].cell[c]) > h->width) h->width = strlen(table->rows[r].cell[c]);
    if (page->used + h->width + (page->n ? 2 : 0) > PAGE) {
        page->left_out++;
        return;
    }
    page->used += h->width + (page->n ? 2 : 0);
    page->shown[page->n++] = c;
    if (h->lines > page->lines) page->lines = h->lines;
}

static layout lay_out(const row_table *table)
{
    layout page;
    memset(&page, 0, sizeof page);
    for (size_t c = 0; c < table->columns; c++) take(table, c, true, &page);
    size_t outcomes = page.n, last[COLUMNS_MAX];
    memcpy(last, page.shown, sizeof last);
    for (size_t c = 0; c < table->columns; c++) take(table, c, false, &page);
    memmove(page.shown, page.shown + outcomes, (page.n - outcomes) * sizeof *page.shown);
    memcpy(page.shown + page.n - outcomes, last, outcomes * sizeof *last);
    return page;
}

/* One line without spaces at its end. */
static void print_line(FILE *to, const row_table *table, const layout *page, const char *const cells[])
{
    char line[2 * PAGE];
    size_t used = 0, end = 0;
    for (size_t k = 0; k < page->n; k++) {
        size_t c = page->shown[k];
        bool left = table->rows[0].is_text[c] || is_outcome(table->name[c]);
        used += (size_t)snprintf(line + used, sizeof line - used, left ? "%s%-*s" : "%s%*s", k ? "  " : "",
                                 (int)page->heads[c].width, cells[k]);
        if (*cells[k]) end = left ? used - page->heads[c].width + strlen(cells[k]) : used;
    }
    fprintf(to, "%.*s\n", (int)end, line);
}

void row_table_print(const row_table *table, FILE *to)
{
    layout page = lay_out(table);
    const char *cells[COLUMNS_MAX];
    for (size_t k = 0; k < COLUMNS_MAX; k++) cells[k] = "";
    if (!table->n || !page.n) return;
    for (size_t l = 0; l < page.lines; l++) {
        for (size_t k = 0; k < page.n; k++) {
            const head *h = &page.heads[page.shown[k]];
            size_t above = page.lines - h->lines;
            cells[k] = l < above ? "" : h->line[l - above];
        }
        print_line(to, table, &page, cells);
    }
    for (size_t r = 0; r < table->n; r++) {
        for (size_t k = 0; k < page.n; k++) cells[k] = table->rows[r].cell[page.shown[k]];
        print_line(to, table, &page, cells);
    }
    if (page.left_out)
        fprintf(to, "%zu more column%s; --csv prints all\n", page.left_out, page.left_out == 1 ? "" : "s");
}
