#include "rule_box.h"

#include <math.h>
#include <string.h>

#include "story.h"

const char *const rule_box_quarter[] = {"board x0 y0", "board x1 y0", "board x0 y1", "board x1 y1"};

static void heat_of(void *context, double time, const double temperature[], double power[], double slope[])
{
    const rule_box *s = context;
    (void)time, (void)temperature;
    memcpy(power, s->watts, s->nodes * sizeof *power);
    memset(slope, 0, s->nodes * sizeof *slope);
}

void rule_box_build(rule_box *s, const hl_box *box, size_t n_boards, const hl_board boards[], size_t n_bodies,
                    const hl_body bodies[], double ambient)
{
    memset(s, 0, sizeof *s);
    hl_diagnostics *messages = hl_diagnostics_create();
    s->network = hl_network_create();
    hl_status status = hl_enclosure_by_rule(s->network, box, n_boards, boards, n_bodies, bodies, messages);
    ck_assert_msg(status == HL_OK, "%s", status == HL_OK ? "" : hl_diagnostics_text(messages, 0));
    ck_assert_int_eq(hl_network_check(s->network, messages), HL_OK);
    hl_diagnostics_destroy(messages);
    s->nodes = hl_network_nodes(s->network);
    ck_assert_uint_le(s->nodes, RULE_BOX_NODES);
    s->work = hl_network_work_create(s->network);
    s->room = (hl_surroundings){ambient, hl_air_pressure(0)};
    for (size_t i = 0; i < s->nodes; i++) s->temperature[i] = ambient;
}

void rule_box_solve(rule_box *s)
{
    ck_assert_int_eq(hl_network_steady(s->work, &s->room, heat_of, s, s->temperature), HL_OK);
}

void rule_box_release(rule_box *s)
{
    hl_network_work_destroy(s->work);
    hl_network_destroy(s->network);
}

double rule_box_heat_out(const rule_box *s)
{
    double flow[1024], out = 0;
    ck_assert_uint_le(hl_network_links(s->network), 1024);
    hl_network_flows(s->network, &s->room, s->temperature, flow);
    for (size_t k = 0; k < hl_network_links(s->network); k++) {
        const hl_link *link = hl_network_link(s->network, (int)k);
        out += link->b == HL_AMBIENT ? flow[k] : link->a == HL_AMBIENT ? -flow[k] : 0;
    }
    return out;
}

double rule_box_conductance(const hl_network *network, const char *a, const char *b)
{
    double sum = 0;
    for (size_t k = 0; k < hl_network_links(network); k++) {
        const hl_link *link = hl_network_link(network, (int)k);
        if (link->law != HL_LAW_FIXED || link->a < 0 || link->b < 0) continue;
        const char *one = hl_network_node_name(network, link->a),
                   *two = hl_network_node_name(network, link->b);
        bool joins = (!strcmp(one, a) && !strcmp(two, b)) || (!strcmp(one, b) && !strcmp(two, a));
        if (joins) sum += link->p[0];
    }
    return sum;
}

hl_box rule_box_plain(void)
{
    return (hl_box){.size = {0.08, 0.05, 0.03},
                    .wall = 0.002,
                    .wall_conductivity = 0.2,
                    .wall_density_heat = 1.4e6,
                    .emissivity_outside = 0.9,
                    .emissivity_inside = 0.9,
                    .fill_conductivity = 0.5,
                    .fill_density_heat = 1.5e6,
                    .up = HL_FACE_Z1};
}

hl_board rule_box_board(void)
{
    return (hl_board){"board", {0.005, 0.005, 0.006}, {0.075, 0.045, 0.0076}, 20, 0.3, 2.1e6};
}

hl_body rule_box_body(const char *name, double x, double y, double size)
{
    return (hl_body){.name = name,
                     .low = {x - size / 2, y - size / 2, 0.0076},
                     .high = {x + size / 2, y + size / 2, 0.0076 + size},
                     .conductivity = 2,
                     .board = 0,
                     .board_resistance = 2,
                     .pad_face = HL_FACES};
}
