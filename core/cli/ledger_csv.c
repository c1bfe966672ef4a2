/* ledger_csv.c - a solved point as rows for a spreadsheet. */
#include "cli/ledger_csv.h"

#include <math.h>
#include <string.h>

#include "cli/csv_text.h"

static const double kelvin = 273.15;

static void number(FILE *to, double value)
{
    fputc(',', to);
    if (isfinite(value)) fprintf(to, "%.10g", value);
}

static void print_limit(FILE *to, const hl_workspace *workspace, size_t item)
{
    hl_headroom all[2 * HL_LIMITS_MAX];
    size_t n = hl_result_headroom(workspace, item, all, 2 * HL_LIMITS_MAX), most = 0;
    for (size_t k = 1; k < n; k++)
        if (all[k].used > all[most].used) most = k;
    fputc(',', to);
    if (n) csv_text(to, all[most].limit.name);
    number(to, n ? all[most].used : NAN);
}

void ledger_csv(FILE *to, const hl_design *design, const hl_workspace *workspace)
{
    fputs("part,count,loss_w,temperature_c,limit,limit_used", to);
    for (int m = 0; m < HL_MECHANISMS; m++) fprintf(to, ",\"%s_w\"", hl_mechanism_name((hl_mechanism)m));
    fputc('\n', to);
    for (size_t i = 0; i < hl_design_items(design); i++) {
        const hl_item *item = hl_design_item(design, i);
        csv_text(to, item->name);
        number(to, item->count);
        number(to, hl_result_item_loss(workspace, i));
        number(to, hl_result_item_temperature(workspace, i) - kelvin);
        print_limit(to, workspace, i);
        for (int m = 0; m < HL_MECHANISMS; m++) number(to, hl_result_loss(workspace, i, (hl_mechanism)m));
        fputc('\n', to);
    }
    for (size_t s = 0; s < hl_design_stages(design); s++) {
        const char *name;
        double own = hl_result_own(workspace, s, &name);
        if (own == 0) continue;
        char label[160];
        snprintf(label, sizeof label, "%s (%s)", hl_design_stage_name(design, s), name);
        csv_text(to, label);
        fputs(",", to);
        number(to, own);
        for (int m = -3; m < HL_MECHANISMS; m++) fputc(',', to);
        fputc('\n', to);
    }
}
