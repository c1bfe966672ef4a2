/* llc_tank.h - the linear circuits of the converter between two switching borders.
 *
 * State x = (i_r, i_m, u, v_o): resonant and magnetizing current, resonant capacitor less node voltage, and
 * the voltage behind the rectifier.  While the rectifier conducts (v_m = magnetizing voltage)
 *   L i_r' = -u - R_p i_r - v_m           v_m = n k v_o + R_n (i_r - i_m),  R_n = n^2 (R_s + k esr)
 *   L_m i_m' = v_m                        k = 1/(1 + G esr), G = 1/R of the load
 *   C u' = i_r                            C_o v_o' = k (n (i_r - i_m) - G v_o), or 0 at a stiff output
 * and while it does not, i_r = i_m and L is replaced by L + L_m.  Reverse conduction is the same circuit seen
 * from the other side: the first three states change sign.
 * source: Kirchhoff's laws of the circuit in docs/theory/llc.md, eq. 1 and 2 */
#ifndef LLC_TANK_H
#define LLC_TANK_H

#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#include "llc_group.h"

enum { LLC_IR, LLC_IM, LLC_U, LLC_VO, LLC_STATES };

/* What the circuit is made of, referred as it stands. */
typedef struct llc_tank {
    double input;                                    /* V, whole bus */
    double series, magnetizing;                      /* H */
    double capacitance;                              /* F */
    double ratio;                                    /* primary to one secondary */
    double primary_resistance, secondary_resistance; /* ohm */
    double drop;                                     /* V, constant drops of the conducting rectifiers */
    double node_capacitance;                         /* F, 0: the node flips at once */
    double body_drop;                                /* V, clamp beyond the rails */
    double dead_time;                                /* s, within the half period */
    double output_capacitance;                       /* F, 0: stiff */
    double output_esr;                               /* ohm */
    double load_conductance;                         /* S, with a capacitor output */
} llc_tank;

/* One linear circuit, solved: e^(A t) = sum over both groups of c P + s B.  Matrices by columns, each what
 * one entry of the state gives to all four. */
typedef struct llc_circuit {
    llc_group fast, slow;
    lanes term[4][LLC_STATES]; /* P, B of the fast group, P, B of the slow one */
    lanes rate[LLC_STATES];    /* A, 1/s */
    lanes shift;               /* rest point, where constant drops are */
} llc_circuit;

typedef struct llc_circuits {
    llc_tank tank;
    llc_circuit conducting[2], open[2];             /* [0] node held, [1] node floating */
    double gain;                                    /* k */
    double reflected;                               /* R_n, ohm */
    double divider;                                 /* L_m / (L + L_m) */
    double series_node;                             /* F, C in series with the node capacitance */
    double current_scale, voltage_scale, resonance; /* A, V, rad/s of L and C */
} llc_circuits;

/* Columns times a state. */
WITHIN_LANES void llc_times(const lanes column[LLC_STATES], const lanes *x, lanes *product)
{
    *product = column[0] * (*x)[0] + column[1] * (*x)[1] + column[2] * (*x)[2] + column[3] * (*x)[3];
}

WITHIN_LANES void llc_matrix_product(const lanes a[LLC_STATES], const lanes b[LLC_STATES],
                                     lanes c[LLC_STATES])
{
    for (int j = 0; j < LLC_STATES; j++) llc_times(a, &b[j], &c[j]);
}

/* Whether a pair rings at all: a tank that does not has no resonance to work on. */
static inline bool llc_rings(const llc_group *g)
{
    return g->beta > 0 && g->sigma > 1e-2 * g->beta;
}

/* Split l^4 + p[3] l^3 + ... + p[0] into a fast and a slow quadratic by fixed point; it contracts by
 * (slow/fast)^2.  false: the groups are not apart.  docs/theory/llc.md eq. 4 */
static bool llc_split(const double p[4], llc_group *fast, llc_group *slow)
{
    double sum = 0, product = 0; /* of the slow one: l^2 + sum l + product */
    for (int k = 0; k < 100; k++) {
        double fast_sum = p[3] - sum, fast_product = p[2] - product - fast_sum * sum;
        if (!(fast_product > 0)) return false;
        double next_product = p[0] / fast_product;
        double next_sum = (p[1] - fast_sum * next_product) / fast_product;
        double moved = fabs(next_sum - sum) + fabs(next_product - product) / sqrt(fast_product);
        sum = next_sum, product = next_product;
        if (!(moved > 1e-16 * sqrt(fast_product) + 1e-15 * fabs(sum))) {
            fast_sum = p[3] - sum;
            llc_groups_of((double[]){0.5 * fast_sum, 0.5 * sum},
                          (double[]){p[2] - product - fast_sum * sum, product}, fast, slow);
            return llc_rings(fast) && sum >= 0 && product >= 0;
        }
    }
    return false;
}

/* Projection on the fast subspace: (x A + y)(A^2 + 2 a2 A + beta2), with x, y such that it is one there.
 * docs/theory/llc.md eq. 5 */
WITHIN_LANES bool llc_project(llc_circuit *circuit)
{
    const llc_group *f = &circuit->fast, *s = &circuit->slow;
    double mu = 2.0 * (s->a - f->a), nu = s->beta - f->beta;
    double determinant = nu * nu - 2.0 * f->a * mu * nu + f->beta * mu * mu;
    if (!(fabs(determinant) > 0.25 * f->beta * f->beta)) return false; /* not slow against the ringing */
    double x = -mu / determinant, y = (nu - 2.0 * f->a * mu) / determinant;
    const lanes one[LLC_STATES] = {{1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 1, 0}, {0, 0, 0, 1}};
    lanes quadratic[LLC_STATES], linear[LLC_STATES], ringing[LLC_STATES];
    llc_matrix_product(circuit->rate, circuit->rate, quadratic);
    for (int j = 0; j < LLC_STATES; j++) {
        quadratic[j] += 2.0 * s->a * circuit->rate[j] + s->beta * one[j];
        linear[j] = x * circuit->rate[j] + y * one[j];
    }
    llc_matrix_product(linear, quadratic, circuit->term[0]);
    llc_matrix_product(circuit->rate, circuit->term[0], ringing);
    for (int j = 0; j < LLC_STATES; j++) {
        circuit->term[1][j] = ringing[j] + f->a * circuit->term[0][j];
        circuit->term[2][j] = one[j] - circuit->term[0][j];
    }
    llc_matrix_product(circuit->rate, circuit->term[2], ringing);
    for (int j = 0; j < LLC_STATES; j++) circuit->term[3][j] = ringing[j] + s->a * circuit->term[2][j];
    return true;
}

FOUR_LANES static bool llc_conducting(const llc_circuits *all, double capacitance, llc_circuit *circuit)
{
    const llc_tank *tank = &all->tank;
    double L = tank->series, Lm = tank->magnetizing, C = capacitance, n = tank->ratio;
    double Rp = tank->primary_resistance, Rn = all->reflected, k = all->gain;
    bool stiff = !(tank->output_capacitance > 0);
    double into = stiff ? 0.0 : k * n / tank->output_capacitance;                      /* of i_r - i_m */
    double leak = stiff ? 0.0 : k * tank->load_conductance / tank->output_capacitance; /* of v_o */
    circuit->rate[LLC_IR] = (lanes){-(Rp + Rn) / L, Rn / Lm, 1.0 / C, into};
    circuit->rate[LLC_IM] = (lanes){Rn / L, -Rn / Lm, 0, -into};
    circuit->rate[LLC_U] = (lanes){-1.0 / L, 0, 0, 0};
    circuit->rate[LLC_VO] = (lanes){-n * k / L, n * k / Lm, 0, -leak};
    /* characteristic polynomial, docs/theory/llc.md eq. 4 */
    double K = 1.0 / L + 1.0 / Lm, h = Rn * leak + n * k * into, both = 1.0 / (L * Lm);
    const double p[4] = {h * both / C, leak / (L * C) + Rn * both / C + h * Rp * both,
                         leak * Rp / L + 1.0 / (L * C) + Rn * Rp * both + h * K, leak + Rp / L + Rn * K};
    if (!llc_split(p, &circuit->fast, &circuit->slow) || !llc_project(circuit)) return false;
    /* rest point under a constant drop: v_m = 0 and i_s = G v_o */
    circuit->shift = (lanes){0};
    if (stiff) return true; /* the drop rides on v_o there */
    double vo =
        -tank->drop / (k + tank->load_conductance * (tank->secondary_resistance + k * tank->output_esr));
    circuit->shift[LLC_VO] = vo;
    circuit->shift[LLC_IM] = -tank->load_conductance * vo / n;
    return true;
}

static bool llc_open(const llc_circuits *all, double capacitance, llc_circuit *circuit)
{
    const llc_tank *tank = &all->tank;
    double L = tank->series + tank->magnetizing, C = capacitance, Rp = tank->primary_resistance;
    double leak =
        tank->output_capacitance > 0 ? all->gain * tank->load_conductance / tank->output_capacitance : 0.0;
    memset(circuit->term, 0, sizeof *circuit - offsetof(llc_circuit, term)); /* the rate and shift too */
    circuit->rate[LLC_IR] = (lanes){-Rp / L, -Rp / L, 1.0 / C, 0};
    circuit->rate[LLC_U] = (lanes){-1.0 / L, -1.0 / L, 0, 0};
    circuit->rate[LLC_VO] = (lanes){0, 0, 0, -leak};
    llc_groups_of((double[]){0.5 * Rp / L, leak}, (double[]){1.0 / (L * C), leak * leak}, &circuit->fast,
                  &circuit->slow);
    double a = circuit->fast.a;
    circuit->term[0][LLC_IR] = (lanes){1, 1, 0, 0};
    circuit->term[0][LLC_U] = (lanes){0, 0, 1, 0};
    circuit->term[1][LLC_IR] = (lanes){a - Rp / L, a - Rp / L, 1.0 / C, 0};
    circuit->term[1][LLC_U] = (lanes){-1.0 / L, -1.0 / L, a, 0};
    circuit->term[2][LLC_VO] = (lanes){0, 0, 0, 1};
    return llc_rings(&circuit->fast);
}

/* Solve the circuits of a tank, those of a floating node only where it can float.  false: its resistances or
 * output capacitor leave no fast and slow part. */
static bool llc_prepare(const llc_tank *tank, llc_circuits *all)
{
    all->tank = *tank;
    all->series_node = 0.0;
    bool stiff = !(tank->output_capacitance > 0);
    all->gain = stiff ? 1.0 : 1.0 / (1.0 + tank->load_conductance * tank->output_esr);
    double secondary = tank->secondary_resistance + (stiff ? 0.0 : all->gain * tank->output_esr);
    all->reflected = tank->ratio * tank->ratio * secondary;
    all->divider = tank->magnetizing / (tank->series + tank->magnetizing);
    all->resonance = 1.0 / sqrt(tank->series * tank->capacitance);
    all->voltage_scale = 0.5 * tank->input;
    all->current_scale = all->voltage_scale * sqrt(tank->capacitance / tank->series);
    if (!llc_conducting(all, tank->capacitance, &all->conducting[0])) return false;
    if (!llc_open(all, tank->capacitance, &all->open[0])) return false;
    if (!(tank->node_capacitance > 0)) return true;
    double C = tank->capacitance, Cn = tank->node_capacitance;
    all->series_node = C * Cn / (C + Cn);
    return llc_open(all, all->series_node, &all->open[1]) &&
           llc_conducting(all, all->series_node, &all->conducting[1]);
}

#endif
