/* window_field.h - the field of windings in the window of a core, of currents given as sheets.
 *
 * The window is a rectangle, `width` along the layers (y, from its middle) and `depth` across them (x, from
 * the inner leg). Layers, the gap and the magnetic tension of the core walls are sheets of current: a wall
 * along which the core takes the tension T carries -T. Then H along every wall is nil, the currents sum to
 * zero, and the vector potential is a cosine series in y, with one Green function per order:
 *   A_n(x) = mu0 K_n cosh(k x<) cosh(k (depth - x>)) / (k sinh(k depth)),  k = 2 pi n / width
 *   H_y = -dA/dx / mu0 (at a sheet the mean of both sides), H_x = dA/dy / mu0
 * source: E. Roth, Revue generale de l'electricite 23, 1928 (from memory); K. J. Binns, P. J. Lawrenson, C.
 * W. Trowbridge, The Analytical and Numerical Solution of Electric and Magnetic Fields, 1992, ch. 3 */
#ifndef WINDOW_FIELD_H
#define WINDOW_FIELD_H

#include <math.h>

enum { WINDOW_ORDERS = 48 };

typedef struct window_size {
    double width, depth; /* m */
} window_size;

/* A sheet along y, centred, of `breadth`, carrying 1 A in all. */
typedef struct window_sheet {
    double x, breadth;
} window_sheet;

typedef struct window_vector {
    double along, across; /* H_y, H_x, 1/m per ampere */
} window_vector;

/* cosh(a) cosh(b) / sinh(c) and sinh(a) cosh(b) / sinh(c) without overflow, a + b <= c */
static inline double window_cosh_cosh(double a, double b, double c)
{
    return 0.5 * exp(a + b - c) * (1.0 + exp(-2.0 * a)) * (1.0 + exp(-2.0 * b)) / -expm1(-2.0 * c);
}

static inline double window_sinh_cosh(double a, double b, double c)
{
    return 0.5 * exp(a + b - c) * -expm1(-2.0 * a) * (1.0 + exp(-2.0 * b)) / -expm1(-2.0 * c);
}

static inline double window_order(const window_size *w, int n)
{
    return 6.28318530717958648 * n / w->width;
}

/* Amplitude of order n of a sheet of 1 A, 1/m. */
static inline double window_amplitude(const window_size *w, double breadth, int n)
{
    double q = 0.5 * window_order(w, n) * breadth;
    return 2.0 / w->width * (q > 1e-9 ? sin(q) / q : 1.0);
}

static inline window_vector window_sheet_field(const window_size *w, const window_sheet *s, double x,
                                               double y)
{
    double below = x > s->x ? 1.0 : x < s->x ? 0.0 : 0.5; /* share of the sheet below x */
    window_vector h = {below / w->width, 0.0};
    for (int n = 1; n <= WINDOW_ORDERS; n++) {
        double k = window_order(w, n), c = k * w->depth;
        if (k * fabs(x - s->x) > 36.0) break;
        double low = k * fmin(x, s->x), high = k * (w->depth - fmax(x, s->x));
        double after = window_sinh_cosh(high, low, c), before = window_sinh_cosh(low, high, c);
        double size = window_amplitude(w, s->breadth, n);
        h.along += size * (below * after - (1.0 - below) * before) * cos(k * y);
        h.across -= size * window_cosh_cosh(low, high, c) * sin(k * y);
    }
    return h;
}

/* 1 A spread evenly over both yokes: H rises linearly both ways. */
static inline window_vector window_yoke_field(const window_size *w, double x, double y)
{
    double scale = 1.0 / (w->depth * w->width);
    return (window_vector){scale * x, scale * y};
}

/* 1 A of tension taken by the core, spread evenly along all four walls. */
static inline window_vector window_wall_field(const window_size *w, double x, double y)
{
    double around = 2.0 * (w->width + w->depth);
    window_sheet leg = {0.0, w->width}, outer = {w->depth, w->width};
    window_vector a = window_sheet_field(w, &leg, x, y), b = window_sheet_field(w, &outer, x, y);
    window_vector yoke = window_yoke_field(w, x, y);
    double side = w->width / around, yokes = 2.0 * w->depth / around;
    return (window_vector){side * (a.along + b.along) + yokes * yoke.along,
                           side * (a.across + b.across) + yokes * yoke.across};
}

#endif
