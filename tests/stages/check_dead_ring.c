/* check_dead_ring.c - what a node loses that rings out, against the circuit followed in time. */
#include "../../plugins/stages/dead_ring.h"

#include "lottery.h"
#include "story.h"

/* A switch of C(u) = c (1 + u / v)^-m. */
typedef struct junction {
    double c, v, m;
} junction;

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)temperature;
    const junction *j = state;
    double x = 1 + voltage / j->v;
    double q = (pow(x, 1 - j->m) - 1) / (1 - j->m);
    terminal->output_charge = j->c * j->v * q;
    terminal->output_energy = j->c * j->v * j->v * ((pow(x, 2 - j->m) - 1) / (2 - j->m) - q);
}

static const hl_device device = {.struct_size = sizeof device, .present = present};

typedef struct circuit {
    const junction *part;
    double others, rest, l, r;
} circuit;

/* L i' = rest - u - R i,  C(u) u' = i,  W' = R i^2; from[]: u, i, W. */
static void rates(const circuit *n, const double from[3], double rate[3])
{
    const junction *j = n->part;
    double c = n->others + j->c * pow(1 + fmax(from[0], 0.0) / j->v, -j->m);
    rate[0] = from[1] / c;
    rate[1] = (n->rest - from[0] - n->r * from[1]) / n->l;
    rate[2] = n->r * from[1] * from[1];
}

/* Classical Runge-Kutta of fourth order. source: Abramowitz and Stegun (1964), 25.5.10 */
static void step(const circuit *n, double h, double x[3])
{
    static const double place[] = {0.5, 0.5, 1.0};
    double k[4][3], at[3];
    rates(n, x, k[0]);
    for (int s = 0; s < 3; s++) {
        for (int d = 0; d < 3; d++) at[d] = x[d] + place[s] * h * k[s][d];
        rates(n, at, k[s + 1]);
    }
    for (int d = 0; d < 3; d++) x[d] += h / 6 * (k[0][d] + 2 * k[1][d] + 2 * k[2][d] + k[3][d]);
}

/* J of heat until the ring has died out; a body path without a drop holds the node at zero volts and gives
 * the current back to the source. */
static double followed(const circuit *n, double from, bool *held)
{
    double x[3] = {from, 0, 0}, h = 0.02 * sqrt(n->l * (n->others + 0.05 * n->part->c));
    double gone = 16 * n->l / n->r, t = 0;
    *held = false;
    while (t < gone) {
        step(n, h, x);
        t += h;
        if (x[0] > 0 || x[1] >= 0) continue;
        *held = true;
        x[0] = 0;
        while (x[1] < 0) { /* straight while it is held, but for R */
            x[2] += h * n->r * x[1] * x[1];
            x[1] += h * (n->rest - n->r * x[1]) / n->l;
            t += h;
        }
        x[1] = 0;
    }
    return x[2];
}

START_TEST(the_heat_is_that_of_the_circuit_in_time)
{
    lottery luck = lottery_open("dead ring");
    int rang = 0, touched = 0;
    for (int run = 0; run < 40; run++) {
        junction j = {lottery_scale(&luck, 1e-10, 3e-9), lottery_scale(&luck, 1, 30),
                      lottery_between(&luck, 0.2, 0.9)};
        circuit n = {
            .part = &j, .rest = lottery_between(&luck, 20, 370), .l = lottery_scale(&luck, 1e-4, 1e-3)};
        double from = n.rest + lottery_between(&luck, 20, 180);
        n.others = lottery_scale(&luck, 1e-11, 2e-10);
        n.r = sqrt(n.l / (n.others + 0.1 * j.c)) / lottery_between(&luck, 100, 300);
        const hl_slot_view slot = {.count = 1, .device = &device, .state = &j};
        bool held;
        double heat = followed(&n, from, &held), booked = dead_ring_loss(&slot, n.others, from, n.rest);
        if (held) { /* what is given back loses a little on the way, in proportion to R: none is meant */
            n.r *= 0.5;
            double less = followed(&n, from, &held);
            ck_assert_msg(booked < less && less < heat, "run %d: %g J of %g and %g", run, booked, heat, less);
            ck_near(booked, 2 * less - heat, 0.02, 0);
            touched++;
        } else { /* a ring that just fails to come to zero has lost a little in its first half wave */
            ck_near(booked, heat, booked < heat ? 0.03 : 1e-4, 0);
            rang += fabs(booked - heat) < 1e-4 * heat;
        }
    }
    ck_assert_msg(rang > 20 && touched > 3, "%d rang, %d touched", rang, touched);
}
END_TEST

/* Of a constant capacitance both are known by hand; parts side by side count each. */
START_TEST(a_constant_capacitance_loses_its_square)
{
    const hl_slot_view none = {.count = 0};
    ck_near(dead_ring_loss(&none, 1e-10, 440, 325), 0.5e-10 * 115 * 115, 1e-12, 0);
    ck_near(dead_ring_loss(&none, 1e-10, 240, 100), 0.5e-10 * 100 * 100, 1e-12, 0); /* held at nothing */
    ck_assert(dead_ring_loss(&none, 0, 440, 325) == 0 && dead_ring_loss(&none, 1e-10, 325, 325) == 0);
    ck_assert(dead_ring_loss(&none, (double)NAN, 440, 325) == 0);
    const junction j = {1e-9, 5, 0.5};
    const hl_slot_view one = {.count = 1, .device = &device, .state = &j},
                       two = {.count = 2, .device = &device, .state = &j};
    ck_near(dead_ring_loss(&two, 0, 440, 325), 2 * dead_ring_loss(&one, 0, 440, 325), 1e-12, 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_heat_is_that_of_the_circuit_in_time);
    tcase_add_test(tests, a_constant_capacitance_loses_its_square);
}

int main(void)
{
    return story_main("dead ring", fill);
}
