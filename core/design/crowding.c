/* crowding.c - parts that stand where something else is, or where nothing holds them. */
#include "design/crowding.h"

#include <math.h>

#include "thermal/enclosure.h"

static const double told = 0.05e-3; /* m: what a ruler cannot tell */
static const double far_off = 1e-3; /* m from its board; nearer is leads and feet, as in field_seat.c */
enum { OVERLAPS_TOLD = 8 };

/* mm that two bodies share along each axis; false: less than `told` along one of them. */
static bool share(const hl_body *a, const hl_body *b, double shared[3])
{
    for (int k = 0; k < 3; k++) {
        double length = fmin(a->high[k], b->high[k]) - fmax(a->low[k], b->low[k]);
        if (!(length > told)) return false;
        shared[k] = 1e3 * length;
    }
    return true;
}

/* Of two lines of a script, the later one is the one that was just written. */
static const placed_part *later(const placed_part *a, const placed_part *b)
{
    return a->place->line > b->place->line ? a : b;
}

static size_t tell_overlaps(const hl_draft *draft, size_t n, const placed_part parts[],
                            hl_diagnostics *diagnostics)
{
    hl_severity severity = draft->box.by_field ? HL_ERROR : HL_WARNING;
    size_t found = 0;
    double s[3];
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++) {
            const placed_part *a = &parts[i], *b = &parts[j];
            if (!a->placed || !b->placed || !share(&a->body, &b->body, s)) continue;
            if (found++ >= OVERLAPS_TOLD) continue;
            hl_diagnostics_add(diagnostics, severity, later(a, b)->place,
                               "%s and %s overlap by %.2g x %.2g x %.2g mm; move one, or check at and size",
                               a->name, b->name, s[0], s[1], s[2]);
        }
    if (found > OVERLAPS_TOLD)
        hl_diagnostics_add(diagnostics, severity, &draft->box_place, "%zu more pairs of parts overlap",
                           found - OVERLAPS_TOLD);
    return found;
}

static void tell_walls(const hl_box *box, const placed_part *part, hl_diagnostics *diagnostics)
{
    for (int face = 0; face < HL_FACES; face++) {
        int axis = face / 2;
        double into = face % 2 ? part->body.high[axis] - (box->size[axis] - box->wall)
                               : box->wall - part->body.low[axis];
        if (into > told)
            hl_diagnostics_add(diagnostics, HL_WARNING, part->place,
                               "%s reaches %.2g mm into the wall at %s; move it, or check at and size",
                               part->name, 1e3 * into, hl_face_name((hl_face)face));
    }
}

static void tell_board(const hl_board *board, const placed_part *part, hl_diagnostics *diagnostics)
{
    int axis = board_normal(board);
    const hl_body *body = &part->body;
    double middle = 0.5 * (body->low[axis] + body->high[axis]);
    double board_middle = 0.5 * (board->low[axis] + board->high[axis]);
    bool above = middle > board_middle;
    double off = above ? body->low[axis] - board->high[axis] : board->low[axis] - body->high[axis];
    if (!(fabs(off) > far_off)) return;
    hl_diagnostics_add(diagnostics, HL_WARNING, part->place,
                       "%s is %.2g mm %s board '%s' that it is on; move it, or give it no board", part->name,
                       1e3 * fabs(off),
                       off < 0 ? "inside"
                       : above ? "above"
                               : "below",
                       board->name);
}

bool crowding_tell(const hl_draft *draft, size_t n, const placed_part parts[], hl_diagnostics *diagnostics)
{
    size_t overlaps = tell_overlaps(draft, n, parts, diagnostics);
    for (size_t i = 0; i < n && !draft->box.by_field; i++) {
        if (!parts[i].placed) continue;
        tell_walls(&draft->box, &parts[i], diagnostics);
        if (parts[i].body.board >= 0)
            tell_board(&LIST_AT(draft->boards, draft_board, parts[i].body.board)->board, &parts[i],
                       diagnostics);
    }
    return overlaps && draft->box.by_field;
}
