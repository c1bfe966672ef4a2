/* round_row.h - a row of round wires, solved exactly in two dimensions.
 *
 * Wires of radius R stand in a row along y, `pitch` apart, all with the same current. The potential around
 * the wire at the origin, in cos(m theta) (for a field across the row: sin), is a_m r^m + b_m r^-m with
 *   b_m = a_m R^2m rho_m,  rho_m = -I_(m+1)(z) / I_(m-1)(z),  z = (1 + j) R / delta       (the wire's answer)
 *   a_l = a_l,outer + sum_m K_lm b_m                                                     (all other wires)
 *   K_lm = +-(-1)^m (-1)^((m+l)/2) 2 zeta(m+l) binomial(m+l-1, l) / pitch^(m+l), m + l even, else 0
 * with + for cos and - for sin. The current itself excites the even orders, a_l,outer = (mu0 I / 2 pi)
 * 2 zeta(l) (-1)^(l/2) / (l pitch^l), a uniform field only m = 1 and so the odd ones. So the two losses add
 * without a mixed term, as in layer_winding.h, and a winding is rows in the mean field of each other. What is
 * left of a neighbouring row's structure falls as exp(-2 pi layer pitch / pitch); for rows aligned over each
 * other (the worse case) it is taken to first order, rows j layers apart adding to K the derivatives of
 *   sum over n of 1 / (X - i n pitch) = (pi / pitch) coth(pi X / pitch),  X = j layer pitch,
 * weighted by how many neighbours the layers have and by the ratio of their fields. Against all rows solved
 * together: within 3.3 % for pitch 1.1 to 3.1 d, layer pitch 1.1 d and more, d / delta up to 8.
 * Loss of order m: (omega pi m / mu0) |a_m|^2 R^2m (-Im rho_m) per length.
 * source: Lord Rayleigh, Phil. Mag. 34 (1892), pp. 481-502 (lattice sums); J. Lammeraner, M. Stafl, Eddy
 * Currents, 1966, ch. 4 (one wire); closed form for this row derived here, docs/theory/windings.md eq. 6-11
 */
#ifndef ROUND_ROW_H
#define ROUND_ROW_H

#include <math.h>

#include "bessel_ratio.h"
#include "layer_winding.h"

enum { ROW_ORDERS = 4, ROW_RATIOS = 2 * ROW_ORDERS + 1, ROW_NEIGHBOURS = 3, ROW_IMAGES = 60 };

/* 2 zeta(2 k), k = 1 .. ROW_RATIOS. source: Abramowitz and Stegun, 1964, table 23.3 */
static const double row_twice_zeta[ROW_RATIOS] = {
    3.28986813369645287, 2.16464646742227638, 2.03468612396888102, 2.00815471239588670, 2.00198915025563700,
    2.00049217310661003, 2.00012249627011740, 2.00003056451881730, 2.00000763458652999,
};

static inline double row_binomial(int n, int k)
{
    double result = 1.0;
    for (int i = 1; i <= k; i++) result = result * (n - k + i) / i;
    return result;
}

/* K_lm R^(m+l), sine = false */
static inline double row_coupling(int l, int m, double radius_over_pitch)
{
    int half = (m + l) / 2;
    double sign = ((m + half) & 1) ? -1.0 : 1.0;
    return sign * row_twice_zeta[half - 1] * row_binomial(m + l - 1, l) * pow(radius_over_pitch, m + l);
}

typedef struct row_coupling_matrix {
    double k[ROW_ORDERS][ROW_ORDERS];
} row_coupling_matrix;

/* What does not depend on frequency. */
typedef struct round_row {
    double radius_over_pitch, layer_over_pitch;
    row_coupling_matrix odd;    /* K between orders 1, 3, 5, ..., field along the row */
    row_coupling_matrix across; /* the same, field across */
    row_coupling_matrix even;   /* between 2, 4, 6, ... */
    double current[ROW_ORDERS]; /* a_l R^l of the neighbours' current, in mu0 I / 2 pi */
} round_row;

/* Layers in a portion with zero field at its start: share of neighbours a layer has at distance j, weighted
 * by its field and theirs. The permeable leg mirrors: "layer 0" has the field -1/2. */
static inline void row_neighbour_shares(int layers, int distance, double *field, double *current)
{
    double product = 0.0, square = 0.0, count = 0.0;
    for (int p = 1; p <= layers; p++) {
        double own = p - 0.5, below = own - distance, above = p + distance <= layers ? own + distance : 0.0;
        product += own * (below + above);
        square += 2.0 * own * own;
        count += 1.0 + (p + distance <= layers);
    }
    *field = product / square;
    *current = count / (2.0 * layers);
}

/* sum[n] = n-th derivative of coth(u), u > 0, less the constant 1 at n = 0: 2 (-2)^n sum k^n e^(-2 k u) */
static inline void row_image_sums(double u, int n, double sum[])
{
    for (int i = 0; i < n; i++) sum[i] = 0.0;
    double decay = exp(-2.0 * u), image = 1.0;
    for (int k = 1; k <= ROW_IMAGES && image > 1e-30; k++) {
        image *= decay;
        double term = 2.0 * image;
        for (int i = 0; i < n; i++, term *= -2.0 * k) sum[i] += term;
    }
}

/* Rows at +-X: their multipoles and their currents, both sides together. */
static inline void row_add_neighbours(round_row *row, int layers, double layer_pitch_over_pitch)
{
    double turn = 3.14159265358979324 * row->radius_over_pitch, sum[2 * ROW_ORDERS * 2];
    for (int j = 1; j <= ROW_NEIGHBOURS; j++) {
        double field, current, factorial[2 * ROW_ORDERS + 1] = {1.0};
        row_neighbour_shares(layers, j, &field, &current);
        row_image_sums(3.14159265358979324 * layer_pitch_over_pitch * j, 4 * ROW_ORDERS, sum);
        for (int i = 1; i <= 2 * ROW_ORDERS; i++) factorial[i] = factorial[i - 1] * i;
        for (int i = 0; i < ROW_ORDERS; i++) {
            int l = 2 * i + 1;
            for (int k = 0; k < ROW_ORDERS; k++) {
                int m = 2 * k + 1;
                row->odd.k[i][k] +=
                    2.0 * field * pow(turn, l + m) * sum[l + m - 1] / factorial[l] / factorial[m - 1];
                row->even.k[i][k] -=
                    2.0 * current * pow(turn, l + m + 2) * sum[l + m + 1] / factorial[l + 1] / factorial[m];
            }
            row->current[i] -= 2.0 * current * pow(turn, l + 1) * sum[l] / factorial[l + 1];
        }
    }
}

static inline void round_row_prepare(round_row *row, double radius_over_pitch, double layer_pitch_over_pitch,
                                     int layers)
{
    row->radius_over_pitch = radius_over_pitch;
    row->layer_over_pitch = layer_pitch_over_pitch;
    for (int i = 0; i < ROW_ORDERS; i++) {
        int l = 2 * i + 2;
        double sign = (l / 2) & 1 ? -1.0 : 1.0;
        row->current[i] = sign * row_twice_zeta[l / 2 - 1] / l * pow(radius_over_pitch, l);
        for (int k = 0; k < ROW_ORDERS; k++) {
            row->odd.k[i][k] = row_coupling(2 * i + 1, 2 * k + 1, radius_over_pitch);
            row->across.k[i][k] = -row->odd.k[i][k];
            row->even.k[i][k] = row_coupling(2 * i + 2, 2 * k + 2, radius_over_pitch);
        }
    }
    row_add_neighbours(row, layers, layer_pitch_over_pitch);
}

/* What the missing neighbour of the outermost layer leaves: its wires face those below, where the field of
 * the row exceeds its mean 1/2 by half of coth - 1. Added to the mean square field of m layers. */
static inline double row_edge_field(double layers, double layer_pitch_over_pitch)
{
    double excess = 1.0 / expm1(2.0 * 3.14159265358979324 * layer_pitch_over_pitch);
    return fmax(2.0 - 1.0 / layers, 0.0) * excess;
}

/* Solve a = outer + K diag(rho) a by elimination: the matrix is near unity, no pivots needed. */
static inline void row_solve(const row_coupling_matrix *coupling, const double complex rho[],
                             double complex a[])
{
    double complex matrix[ROW_ORDERS][ROW_ORDERS];
    for (int i = 0; i < ROW_ORDERS; i++)
        for (int k = 0; k < ROW_ORDERS; k++) matrix[i][k] = (i == k ? 1.0 : 0.0) - coupling->k[i][k] * rho[k];
    for (int i = 0; i < ROW_ORDERS; i++)
        for (int j = i + 1; j < ROW_ORDERS; j++) {
            double complex factor = matrix[j][i] / matrix[i][i];
            for (int k = i; k < ROW_ORDERS; k++) matrix[j][k] -= factor * matrix[i][k];
            a[j] -= factor * a[i];
        }
    for (int i = ROW_ORDERS - 1; i >= 0; i--) {
        for (int k = i + 1; k < ROW_ORDERS; k++) a[i] -= matrix[i][k] * a[k];
        a[i] /= matrix[i][i];
    }
}

/* sum of m |a_m R^m|^2 (-Im rho_m) */
static inline double row_loss(int first, const double complex rho[], const double complex a[])
{
    double sum = 0.0;
    for (int i = 0; i < ROW_ORDERS; i++) {
        double size = creal(a[i]) * creal(a[i]) + cimag(a[i]) * cimag(a[i]);
        sum -= (first + 2 * i) * size * cimag(rho[i]);
    }
    return sum;
}

/* Re(z I0 / 2 I1) - 1; from the series w^4 / 192 - ... below, where the difference would lose digits
 * (w = R sqrt 2 / delta, source: Terman's table is of this function) */
static inline double isolated_skin_excess(double radius_over_depth, double complex first_ratio)
{
    double complex z = (1.0 + I) * radius_over_depth;
    double w = radius_over_depth * radius_over_depth * radius_over_depth * radius_over_depth;
    if (radius_over_depth < 0.1) return w / 48.0;
    return creal(z / (2.0 * first_ratio)) - 1.0;
}

/* factors of a wire in its row; fields in units of I / pitch */
static inline ac_factor round_row_factor(const round_row *row, double radius_over_depth)
{
    double complex ratio[ROW_RATIOS], odd[ROW_ORDERS], even[ROW_ORDERS], a[ROW_ORDERS] = {1.0};
    bessel_ratios((1.0 + I) * radius_over_depth, ROW_RATIOS, ratio);
    for (int i = 0; i < ROW_ORDERS; i++) {
        odd[i] = -ratio[2 * i] * ratio[2 * i + 1];
        even[i] = -ratio[2 * i + 1] * ratio[2 * i + 2];
    }
    double depth = radius_over_depth * radius_over_depth, turn = row->radius_over_pitch;
    double scale = 4.0 * 9.8696044010893586 * depth * turn * turn;
    ac_factor f;
    row_solve(&row->odd, odd, a);
    f.field = scale * row_loss(1, odd, a);
    for (int i = 0; i < ROW_ORDERS; i++) a[i] = i == 0;
    row_solve(&row->across, odd, a);
    f.across = scale * row_loss(1, odd, a);
    for (int i = 0; i < ROW_ORDERS; i++) a[i] = row->current[i];
    row_solve(&row->even, even, a);
    f.own_excess = isolated_skin_excess(radius_over_depth, ratio[0]) + depth * row_loss(2, even, a);
    return f;
}

#endif
