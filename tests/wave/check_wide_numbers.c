/* check_wide_numbers.c - the laws of core/wave against the same in wider numbers, to a few roundings: a
 * coefficient of a series, or a border between two formulas, that is off spoils digits long before a figure.
 *
 * The reference is the definition, not the formula here: moments of e^(z u) as Taylor's series with all its
 * terms, or as (e^z - 1) / z where that keeps its digits. */
#include <complex.h>
#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "heatledger/plugin.h"
#include "lottery.h"
#include "story.h"
#include "wave/lanes_power.h"

typedef long double wide;
typedef long double complex wide_complex;

/* Whether long double tells more than double here: memcheck works both out alike. */
static bool wide_is_wider(void)
{
    volatile wide one = 1, least = 2 * LDBL_EPSILON;
    return one + least > one;
}

static void ck_close(double said, wide expected, double room, const char *what, int number, double at)
{
    double off = (double)fabsl((wide)said - expected);
    ck_assert_msg(off <= room, "%s, draw %d, at %.17g: %.17g is off by %.3g, room %.3g", what, number, at,
                  said, off, room);
}

/* ----------------------------------------------------------------- lanes -- */

START_TEST(turns_and_powers_of_four)
{
    double room = wide_is_wider() ? 1 : 4;
    lottery luck = lottery_open("turns_and_powers_of_four");
    for (int k = 0; k < 4000; k++) {
        double most = k % 4 == 0 ? 0.786 : k % 4 == 1 ? 7 : k % 4 == 2 ? 400 : 9.9e4;
        double y = lottery_between(&luck, -most, most), x = fmax(-599, fmin(y, 599));
        double v = lottery_scale(&luck, 1e-9, 1e9), near_one = lottery_between(&luck, 0.7, 1.42);
        double p = lottery_between(&luck, 0.5, 3);
        lanes angle = {y, 1, -1, 0}, cosine, sine, grown, logarithm, power, exponent = {x, x, x, x};
        lanes value = {v, near_one, 1, 1};
        lanes_cos_sin(&angle, &cosine, &sine);
        ck_close(cosine[0], cosl(y), 2.5e-16 * room, "cosine", k, y);
        ck_close(sine[0], sinl(y), 2.5e-16 * room, "sine", k, y);
        lanes_exponential(&exponent, &grown);
        ck_close(grown[0], expl(x), 4e-16 * room * exp(x), "exponential", k, x);
        lanes_logarithm(&value, &logarithm);
        ck_close(logarithm[0], logl(v), 2.5e-16 * room * fmax(1, fabs(log(v))), "logarithm", k, v);
        ck_close(logarithm[1], logl(near_one), 2.5e-16 * room * fabs(log(near_one)), "logarithm", k,
                 near_one);
        lanes_power(&value, p, &power);
        ck_close(power[0], powl(v, p), 1e-15 * room * (1 + p * fabs(log(v))) * pow(v, p), "power", k, v);
    }
}
END_TEST

START_TEST(powers_are_held)
{
    lanes value = {1e-300, 1e300, 1e-200, 1e200}, power;
    lanes_power(&value, 3, &power);
    for (int i = 0; i < LANES; i++)
        ck_close(power[i], expl(i % 2 ? 600 : -600), 1e-12 * exp(i % 2 ? 600 : -600), "held", i, value[i]);
}
END_TEST

/* ---------------------------------------------------------------- pieces -- */

/* Integral of u^order e^(z u), u from 0 to 1. */
static wide_complex moment(wide_complex z, int order)
{
    if (cabsl(z) > 6) {
        wide_complex zeroth = (cexpl(z) - 1) / z;
        return order ? (cexpl(z) - zeroth) / z : zeroth;
    }
    wide_complex sum = 0, power = 1;
    for (int n = 0; n < 60; n++) {
        sum += power / (n + 1 + order);
        power *= z / (n + 1);
    }
    return sum;
}

typedef struct wide_piece {
    wide T, p0, p1;    /* s; value of the line at its start, and its rise */
    wide_complex a, z; /* the ringing is Re(a e^(z u)), u from 0 to 1 */
} wide_piece;

static wide_piece widened(const hl_segment *s)
{
    wide T = s->duration;
    return (wide_piece){T, s->offset, s->slope * T, (wide)s->cosine - I * (wide)s->sine,
                        -(wide)s->decay * T + I * ((wide)s->omega * T)};
}

static wide mean_of(const wide_piece *p)
{
    return p->p0 + p->p1 / 2 + creall(p->a * moment(p->z, 0));
}

static wide square_of(const wide_piece *p)
{
    wide straight = p->p0 * p->p0 + p->p0 * p->p1 + p->p1 * p->p1 / 3;
    wide mixed = creall(p->a * (p->p0 * moment(p->z, 0) + p->p1 * moment(p->z, 1)));
    wide ringing = creall(p->a * p->a * moment(2 * p->z, 0)) +
                   creall(p->a * conjl(p->a)) * creall(moment(2 * creall(p->z), 0));
    return straight + 2 * mixed + ringing / 2;
}

/* 2/P times the integral of the value times e^(-j k w t). */
static wide_complex harmonic_of(const wide_piece *p, wide begin, wide period, int k)
{
    wide turn = 2 * acosl(-1) * k / period;
    wide_complex y = -I * turn * p->T;
    wide_complex sum = p->p0 * moment(y, 0) + p->p1 * moment(y, 1);
    sum += (p->a * moment(p->z + y, 0) + conjl(p->a) * moment(conjl(p->z) + y, 0)) / 2;
    return 2 / period * p->T * cexpl(-I * turn * begin) * sum;
}

enum { PIECES = 5, HARMONICS = 43, HARMONICS_ALONE = 450 };

/* Lines, and ringings from a millionth to many turns, damped and growing; |z| of all sizes, for each has a
 * formula of its own. */
static void draw(lottery *luck, hl_segment s[PIECES])
{
    double reach = lottery_scale(luck, 1e-5, 30);
    for (int i = 0; i < PIECES; i++) {
        double T = lottery_between(luck, 0.1, 1), turn = lottery_between(luck, 0, 6.2831853);
        double size = lottery_between(luck, 0.7, 1) * reach;
        s[i] = (hl_segment){.duration = T,
                            .offset = lottery_between(luck, -2, 2),
                            .slope = lottery_between(luck, -2, 2),
                            .decay = fmax(size * cos(turn), -2) / T,
                            .omega = size * fabs(sin(turn)) / T,
                            .cosine = lottery_between(luck, -2, 2),
                            .sine = lottery_between(luck, -2, 2)};
        if (i == 4) s[i].cosine = s[i].sine = 0;
    }
}

static double size_of(const hl_segment s[PIECES])
{
    double most = 0;
    for (int i = 0; i < PIECES; i++)
        most = fmax(most, fabs(s[i].offset) + fabs(s[i].slope) * s[i].duration +
                              hypot(s[i].cosine, s[i].sine) * fmax(1, exp(-s[i].decay * s[i].duration)));
    return most;
}

START_TEST(means_in_wider_numbers)
{
    double room = wide_is_wider() ? 1 : 10;
    lottery luck = lottery_open("means_in_wider_numbers");
    for (int k = 0; k < 3000; k++) {
        hl_segment s[PIECES];
        hl_wave wave = {PIECES, s};
        draw(&luck, s);
        wide mean = 0, square = 0, period = 0;
        for (int i = 0; i < PIECES; i++) {
            wide_piece p = widened(&s[i]);
            mean += p.T * mean_of(&p);
            square += p.T * square_of(&p);
            period += p.T;
        }
        double size = size_of(s), z = fabs(s[0].omega * s[0].duration);
        ck_close(hl_wave_average(&wave), mean / period, 8e-16 * room * size, "average", k, z);
        ck_close(hl_wave_mean_square(&wave), square / period, 8e-16 * room * size * size, "mean square", k,
                 z);
    }
}
END_TEST

static void ck_harmonics(const hl_segment s[PIECES], int n, double room, int number)
{
    static double cosine[HARMONICS_ALONE], sine[HARMONICS_ALONE];
    hl_wave wave = {PIECES, (hl_segment *)s};
    wide period = 0;
    for (int i = 0; i < PIECES; i++) period += s[i].duration;
    hl_wave_fourier(&wave, (size_t)n, cosine, sine);
    for (int k = 1; k <= n; k += n > HARMONICS ? 7 : 1) {
        wide_complex sum = 0;
        wide begin = 0;
        for (int i = 0; i < PIECES; i++) {
            wide_piece p = widened(&s[i]);
            sum += harmonic_of(&p, begin, period, k);
            begin += p.T;
        }
        ck_close(cosine[k - 1], creall(sum), room, "cosine amplitude", number, k);
        ck_close(sine[k - 1], -cimagl(sum), room, "sine amplitude", number, k);
    }
}

/* By corners, and piece by piece where there are more harmonics than those serve.  A tenth of a
 * harmonic between a ringing and the one it nearly meets costs a digit. */
START_TEST(harmonics_in_wider_numbers)
{
    /* Steps there are none, and its bends add up to nought to the bit. */
    static const hl_segment pulse[PIECES] = {{.duration = 0.25, .slope = 4},
                                             {.duration = 0.25, .offset = 1, .slope = -4},
                                             {.duration = 0.25},
                                             {.duration = 0.25},
                                             {.duration = 0.5}};
    double room = wide_is_wider() ? 1 : 10;
    lottery luck = lottery_open("harmonics_in_wider_numbers");
    for (int k = 0; k < 300; k++) {
        hl_segment s[PIECES];
        draw(&luck, s);
        if (k == 0) memcpy(s, pulse, sizeof s);
        if (k % 3 == 1) s[1].duration *= 1e-2, s[2].duration *= 1e-3; /* short, as edges are */
        double size = size_of(s);
        ck_harmonics(s, HARMONICS, 1e-14 * room * size, k);
        if (k % 4 == 0) ck_harmonics(s, HARMONICS_ALONE, 1e-14 * room * size, k);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, turns_and_powers_of_four);
    tcase_add_test(tests, powers_are_held);
    tcase_add_test(tests, means_in_wider_numbers);
    tcase_add_test(tests, harmonics_in_wider_numbers);
}

int main(void)
{
    return story_main("wide numbers", fill);
}
