/* check_node_ring.c - the ring of a switch node against the circuit followed in time, and its mean against a
 * sum over turns. */
#include "../../plugins/stages/node_ring.h"

#include "lottery.h"
#include "story.h"

/* L i' = A - u, C u' = i from u = 0, held at U while i > 0 there; from the top of the first half wave, or of
 * the hold, the voltage about its rest fades. Classical Runge-Kutta of fourth order, whose error is below
 * 1e-9 here. source: Abramowitz and Stegun (1964), 25.5.10 */
typedef struct circuit {
    double a, whole, l, c;
} circuit;

static void step(const circuit *n, double h, double *u, double *i)
{
    double ku[4], ki[4], at_u = *u, at_i = *i;
    static const double place[] = {0.5, 0.5, 1.0};
    for (int k = 0; k < 4; k++) {
        ku[k] = at_i / n->c;
        ki[k] = (n->a - at_u) / n->l;
        if (k < 3) at_u = *u + place[k] * h * ku[k], at_i = *i + place[k] * h * ki[k];
    }
    *u += h / 6 * (ku[0] + 2 * ku[1] + 2 * ku[2] + ku[3]);
    *i += h / 6 * (ki[0] + 2 * ki[1] + 2 * ki[2] + ki[3]);
}

/* Until `t`; returns the node's voltage, and since when the current has come to zero a first time (< 0: not
 * yet). */
static double follow(const circuit *n, double t, double *since)
{
    enum { STEPS = 2000 };
    double h = t / STEPS, u = 0, i = 0;
    bool held = false;
    *since = -1;
    for (int k = 0; k < STEPS && *since < 0; k++) {
        double before = i;
        if (held)
            i += h * (n->a - n->whole) / n->l;
        else
            step(n, h, &u, &i);
        if (u >= n->whole && i > 0) held = true, u = n->whole;
        if (k && i <= 0) *since = t - h * (k + before / (before - i));
    }
    return u;
}

START_TEST(the_first_half_wave_is_that_of_the_circuit)
{
    lottery luck = lottery_open("node ring");
    int held = 0, fallen = 0;
    for (int run = 0; run < 300; run++) {
        circuit n = {.whole = lottery_between(&luck, 5, 400), .l = lottery_scale(&luck, 1e-6, 1e-3)};
        n.a = n.whole * lottery_between(&luck, 0.05, 0.98);
        n.c = lottery_scale(&luck, 1e-11, 1e-8);
        double t = lottery_between(&luck, 0.02, 5) * sqrt(n.l * n.c), since, u = follow(&n, t, &since);
        node_ring ring = node_ring_after(n.whole, n.a, n.l, n.c * n.whole, t);
        if (since < 0) {
            ck_near(ring.left, n.whole - u, 0, 1e-3 * n.whole); /* a hold begins within a step */
            ck_assert(ring.died == 0);
            held += u == n.whole;
            continue;
        }
        /* the energy left above what remains for ever, and where it stands if the turns are known */
        double b = fmin(n.a, n.whole - n.a), on = since / sqrt(n.l * n.c);
        double fade = exp(-on / (2 * node_ring_quality));
        ck_near(ring.died, (b / n.a) * (b / n.a) * (1 - fade * fade), 2e-3, 1e-3);
        if (on < 0.3) ck_near(ring.left, n.whole - n.a - b * fade * cos(on), 0, 2e-3 * n.whole);
        fallen++;
    }
    ck_assert(held > 20 && fallen > 40);
}
END_TEST

/* E over a tenth of the turns of (U - A - B fade cos)^2, by a sum over the normal distribution. */
START_TEST(what_is_left_is_a_mean_over_unsure_turns)
{
    lottery luck = lottery_open("unsure turns");
    for (int run = 0; run < 200; run++) {
        double whole = 100, a = lottery_between(&luck, 2, 49), l = 1e-5, c = 1e-9, sum = 0, weight = 0;
        double on = lottery_scale(&luck, 0.01, 60), t = (3.14159265358979324 + on) * sqrt(l * c);
        double fade = exp(-on / (2 * node_ring_quality));
        for (double z = -8; z <= 8; z += 1.0 / 64) {
            double left = whole - a - a * fade * cos(on * (1 + node_ring_unsure * z)), w = exp(-0.5 * z * z);
            sum += w * left * left, weight += w;
        }
        ck_near(node_ring_after(whole, a, l, c * whole, t).left, sqrt(sum / weight), 1e-9, 0);
    }
}
END_TEST

/* Hard at once, at rest in the end, and nothing jumps between, also where the other rail is just touched. */
START_TEST(nothing_jumps_from_hard_to_rest)
{
    double whole = 24, l = 1e-5, c = 6e-10, root = sqrt(l * c);
    for (double a = 2; a < 23; a += 1.9) {
        node_ring last = node_ring_after(whole, a, l, c * whole, 0);
        ck_assert(last.left == whole && last.died == 0);
        for (double turn = 0; turn < 40; turn += 1e-3) {
            node_ring now = node_ring_after(whole, a, l, c * whole, turn * root);
            ck_assert_msg(fabs(now.left - last.left) < 0.03 && fabs(now.died - last.died) < 1e-3,
                          "%g V, %g rad: %g after %g V", a, turn, now.left, last.left);
            ck_assert(now.left <= whole && now.died >= last.died - 1e-12 && now.died <= 1);
            last = now;
        }
        last = node_ring_after(whole, a, l, c * whole, 400 * root);
        ck_near(last.left, whole - a, 1e-6, 0);
        ck_near(last.died, a < 12 ? 1 : (whole - a) * (whole - a) / (a * a), 1e-6, 0);
    }
    node_ring at_half[2] = {node_ring_after(whole, 12 - 1e-9, l, c * whole, 3 * root),
                            node_ring_after(whole, 12 + 1e-9, l, c * whole, 3 * root)};
    ck_near(at_half[0].left, at_half[1].left, 0, 1e-6);
}
END_TEST

/* A fading ring has lost C B^2 / 2, from the charge that swings it. */
START_TEST(what_is_lost_is_the_energy_of_the_ring)
{
    node_ring ring = node_ring_after(24, 5, 1e-5, 15e-9, 1e-3);
    ck_near(node_ring_loss(&ring, 24, 5, 15e-9), 0.5 * 15e-9 / 24 * 25, 1e-9, 0);
    ck_assert(node_ring_loss(&ring, 24, 5, 0) == 0 && node_ring_loss(&ring, 24, 5, (double)NAN) == 0);
    ring = node_ring_after(24, 5, 1e-5, 0, 1e-3); /* nothing to ring with: at rest */
    ck_assert(ring.left == 19 && ring.died == 1);
    ring = node_ring_after(24, 0, 1e-5, 15e-9, 1e-3);
    ck_assert(ring.left == 24 && ring.died == 0);
    ring = node_ring_after(24, 24, 1e-5, 15e-9, 1e-3); /* rests at the other rail */
    ck_assert(ring.left == 0 && ring.died == 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_first_half_wave_is_that_of_the_circuit);
    tcase_add_test(tests, what_is_left_is_a_mean_over_unsure_turns);
    tcase_add_test(tests, nothing_jumps_from_hard_to_rest);
    tcase_add_test(tests, what_is_lost_is_the_energy_of_the_ring);
}

int main(void)
{
    return story_main("node ring", fill);
}
