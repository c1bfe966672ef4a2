/* pattern.c - where the entries of the Newton matrix lie: compressed columns, rows rising. */
#include "thermal/pattern.h"

#include "thermal/network.h"

#include <stdlib.h>

typedef struct entry {
    int column, row;
} entry;

static int by_column(const void *left, const void *right)
{
    const entry *a = left, *b = right;
    if (a->column != b->column) return a->column < b->column ? -1 : 1;
    return (a->row > b->row) - (a->row < b->row);
}

/* Every diagonal and both sides of every link, sorted, each once; returns how many. */
static size_t collect(const hl_network *network, entry *list)
{
    size_t n = 0, kept = 0;
    for (size_t i = 0; i < network->n_nodes; i++) list[n++] = (entry){(int)i, (int)i};
    for (size_t k = 0; k < network->n_links; k++) {
        const hl_link *link = &network->links[k];
        if (link->a < 0 || link->b < 0) continue;
        list[n++] = (entry){link->a, link->b};
        list[n++] = (entry){link->b, link->a};
    }
    if (n == 0) return 0;
    qsort(list, n, sizeof *list, by_column);
    for (size_t i = 1; i < n; i++)
        if (by_column(&list[kept], &list[i]) != 0) list[++kept] = list[i];
    return kept + 1;
}

bool pattern_build(hl_network_work *work)
{
    const hl_network *network = work->network;
    size_t n = network->n_nodes;
    entry *list = malloc((n + 2 * network->n_links + 1) * sizeof *list);
    if (!list) return false;
    size_t entries = collect(network, list);
    work->entries = (int)entries;
    work->column = calloc(n + 1, sizeof *work->column);
    work->row = malloc((entries + 1) * sizeof *work->row);
    work->diagonal = malloc((n + 1) * sizeof *work->diagonal);
    bool good = work->column && work->row && work->diagonal;
    for (size_t i = 0; good && i < entries; i++) {
        work->row[i] = list[i].row;
        work->column[list[i].column + 1] = (int)i + 1;
        if (list[i].row == list[i].column) work->diagonal[list[i].row] = (int)i;
    }
    free(list);
    return good;
}

int pattern_place(const hl_network_work *work, int row, int column)
{
    if (row == work->n || column == work->n) return work->entries;
    int low = work->column[column], high = work->column[column + 1] - 1;
    while (low < high) {
        int middle = low + (high - low) / 2;
        if (work->row[middle] < row)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}
