/* keep.c - the best by a heap, the Pareto set by comparing with all in it. */
#include "sweep/keep.h"

#include <math.h>
#include <stdlib.h>

keeper *keeper_create(hl_keep keep, size_t most, size_t n_aims, const aim aims[])
{
    keeper *k = calloc(1, sizeof *k);
    if (!k) return NULL;
    k->keep = keep;
    k->most = most;
    k->n_aims = n_aims;
    for (size_t i = 0; i < n_aims; i++) k->aims[i] = aims[i];
    return k;
}

void keeper_destroy(keeper *k)
{
    if (!k) return;
    free(k->rows);
    free(k->dropped);
    free(k);
}

/* Room for one more row, and for as many dropped ones as there are rows. */
static bool make_room(keeper *k)
{
    if (k->n + 1 > k->room) {
        size_t room = k->room ? 2 * k->room : 64;
        kept_row *rows = realloc(k->rows, room * sizeof *rows);
        if (!rows) return false;
        k->rows = rows;
        k->room = room;
    }
    if (k->n + 1 <= k->room_dropped) return true;
    size_t *dropped = realloc(k->dropped, k->room * sizeof *dropped);
    if (!dropped) return false;
    k->dropped = dropped;
    k->room_dropped = k->room;
    return true;
}

/* ------------------------------------------------------------------ best -- */

/* Equal rows: the earlier point is the better one. */
static bool worse(const kept_row *a, const kept_row *b)
{
    return a->aim[0] > b->aim[0] || (a->aim[0] == b->aim[0] && a->point > b->point);
}

static void swap(kept_row *a, kept_row *b)
{
    kept_row kept = *a;
    *a = *b;
    *b = kept;
}

static void sift_up(keeper *k, size_t i)
{
    for (; i > 0 && worse(&k->rows[i], &k->rows[(i - 1) / 2]); i = (i - 1) / 2)
        swap(&k->rows[i], &k->rows[(i - 1) / 2]);
}

static void sift_down(keeper *k)
{
    for (size_t i = 0;;) {
        size_t worst = i, left = 2 * i + 1;
        for (size_t child = left; child < left + 2 && child < k->n; child++)
            if (worse(&k->rows[child], &k->rows[worst])) worst = child;
        if (worst == i) return;
        swap(&k->rows[i], &k->rows[worst]);
        i = worst;
    }
}

static bool offer_best(keeper *k, const kept_row *row)
{
    if (k->n < k->most) {
        k->rows[k->n++] = *row;
        sift_up(k, k->n - 1);
        return true;
    }
    if (!worse(&k->rows[0], row)) return false;
    k->dropped[k->n_dropped++] = k->rows[0].point;
    k->rows[0] = *row;
    sift_down(k);
    return true;
}

/* ---------------------------------------------------------------- pareto -- */

/* a is as good as b everywhere and better somewhere. */
static bool beats(const keeper *k, const kept_row *a, const kept_row *b)
{
    bool better = false;
    for (size_t i = 0; i < k->n_aims; i++) {
        if (a->aim[i] > b->aim[i]) return false;
        better = better || a->aim[i] < b->aim[i];
    }
    return better;
}

static bool offer_pareto(keeper *k, const kept_row *row)
{
    for (size_t i = 0; i < k->n; i++)
        if (beats(k, &k->rows[i], row)) {
            swap(&k->rows[0], &k->rows[i]); /* who beats one beats its neighbours: ask it first */
            return false;
        }
    size_t n = 0;
    for (size_t i = 0; i < k->n; i++) {
        if (beats(k, row, &k->rows[i]))
            k->dropped[k->n_dropped++] = k->rows[i].point;
        else
            k->rows[n++] = k->rows[i];
    }
    k->rows[n] = *row;
    k->n = n + 1;
    return true;
}

/* ----------------------------------------------------------------- offer -- */

static bool aims_of(const keeper *k, const double figures[], kept_row *row)
{
    for (size_t i = 0; i < k->n_aims; i++) {
        double x = figures[k->aims[i].column];
        if (isnan(x)) return false;
        row->aim[i] = k->aims[i].highest ? -x : x;
    }
    return true;
}

/* The first failures: rows come in any order when stores are joined, so the last of them makes room. */
static bool offer_failure(keeper *k, kept_row *row)
{
    row->aim[0] = 0; /* all alike: the earlier point wins */
    return offer_best(k, row);
}

hl_status keeper_offer(keeper *k, size_t point, bool good, const double figures[], bool *stays)
{
    kept_row row = {.point = point};
    k->n_dropped = 0;
    *stays = k->keep == HL_KEEP_ALL;
    if (k->keep == HL_KEEP_ALL || good == (k->keep == HL_KEEP_FAILURES)) return HL_OK;
    if (!aims_of(k, figures, &row)) return HL_OK;
    if (!make_room(k)) return HL_NO_MEMORY;
    *stays = k->keep == HL_KEEP_BEST     ? offer_best(k, &row)
             : k->keep == HL_KEEP_PARETO ? offer_pareto(k, &row)
                                         : offer_failure(k, &row);
    return HL_OK;
}
