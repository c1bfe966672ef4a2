/* run_away.c - which part leads a run-away, and in what words that is said.
 *
 * A part leads by its share in the feedback gain (gain.c), that is by the slope of its loss and what the box
 * answers to it, not by its temperature: the hottest part may well be one whose loss does not grow. */
#include "solve/run_away.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "solve/round.h"
#include "solve/saturation.h"

/* A rise grows by 1 / (1 - gain) through feedback: from a half on most of it comes of that. Below, it is the
 * watts themselves that are too many. */
static const double most_of_it = 0.5;

bool feedback_leads(double gain)
{
    return gain >= most_of_it;
}

run_away run_away_of(double gain, int leader)
{
    bool known = !isnan(gain) && !(feedback_leads(gain) && leader < 0);
    return (run_away){known ? gain : NAN, known && feedback_leads(gain) ? leader : -1};
}

/* "; most of it comes from flyback.transformer, 386 W at 55 degC" */
static void greatest_loss(const hl_workspace *work, char text[], size_t size)
{
    size_t most = 0, n = work->design->n_items;
    for (size_t i = 1; i < n; i++)
        if (item_watts(work, i) > item_watts(work, most)) most = i;
    text[0] = '\0';
    if (n > 0 && item_watts(work, most) > 0)
        snprintf(text, size, "; most of the heat comes from %.60s, %.3g W at %.4g degC",
                 work->design->items[most].shown.name, item_watts(work, most),
                 work->items[most].booked_at - 273.15);
}

static void cause_text(const hl_workspace *work, run_away found, double load, char text[], size_t size)
{
    double ambient = work->surroundings.temperature - 273.15;
    char most[160];
    if (found.leader >= 0) {
        snprintf(
            text, size,
            "thermal run-away led by %s: at load factor %.3g and %.4g degC ambient its losses grow faster "
            "than the heat is carried away; lower the load or the ambient, carry its heat better, or check "
            "its data",
            hl_network_node_name(work->design->network, found.leader), load, ambient);
        return;
    }
    greatest_loss(work, most, sizeof most);
    if (isnan(found.gain))
        snprintf(text, size,
                 "thermal run-away: at load factor %.3g and %.4g degC ambient losses outgrow all figures, so "
                 "which part leads cannot be told%s; lower the load or the ambient, or check the parts' data",
                 load, ambient, most);
    else
        snprintf(text, size,
                 "too hot: at load factor %.3g and %.4g degC ambient it gets hotter than any part survives "
                 "(%.0f degC) by its watts alone, no loss grows fast enough with temperature to run away "
                 "(thermal feedback gain %.2g)%s; lower the load, carry the heat better, or check the "
                 "parts' data",
                 load, ambient, DESTROYED - 273.15, found.gain, most);
}

void run_away_text(const hl_workspace *work, run_away found, double load, char text[], size_t size)
{
    cause_text(work, found, load, text, size);
    size_t used = strlen(text);
    saturation_text(work, text + used, size - used);
}

double run_away_taken(const hl_workspace *work)
{
    const hl_design *design = work->design;
    double sum = 0;
    for (size_t i = 0; i < design->n_stages; i++)
        for (size_t p = 0; p < design->stages[i].n_ports; p++)
            sum += work->stages[i].voltage * work->settings[SETTING_LOAD] *
                   work->settings[design->ports[design->stages[i].ports[p]].current_setting];
    return sum;
}

int run_away_outgrown(const hl_workspace *work)
{
    int worst = -1;
    double most = fmax(run_away_taken(work), 1e-3);
    for (size_t i = 0; i < work->design->n_items; i++) {
        const hl_loss *loss = &work->items[i].loss;
        if (!(item_watts(work, i) > most && loss->slope * 50.0 > work->items[i].watts)) continue;
        most = item_watts(work, i);
        worst = (int)i;
    }
    return worst;
}
