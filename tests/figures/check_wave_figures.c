/* check_wave_figures.c - every figure of a wave and of a curve, over drawn ones, is the one of before: to
 * 1e-9 of the wave's size (to the power asked for).  What rounding may leave of closed forms of a few dozen
 * terms is 1e-13 of it, and where one gives way to another or to a quadrature both agree to 1e-11. */
#include <math.h>

#include "heatledger/plugin.h"
#include "kept_figures.h"
#include "lottery.h"
#include "story.h"

enum { PIECES_MAX = 12, HARMONICS = 43, STRIDE = 48 };

static const double pi = 3.14159265358979323846;

/* ---------------------------------------------------------------- pieces -- */

typedef enum piece_kind {
    IDLE,
    LEVEL,
    RAMP,
    RINGING,
    DAMPED,
    GROWING,
    DECAY,
    RISE,
    ALONE,
    SHORT,
    SHORT_LEVEL,
    CROSSING,
    HARDLY_DAMPED,
    HARDLY_TURNING,
    LONG_RINGING,
    ENDLESS_RINGING,
    STEEP_DECAY,
    STEADY,
    FAST_ALONE,
    STEADY_DECAY,
    PIECE_KINDS
} piece_kind;

static const char *const piece_name[PIECE_KINDS] = {"idle",
                                                    "level",
                                                    "ramp",
                                                    "ringing",
                                                    "damped",
                                                    "growing",
                                                    "decay",
                                                    "rise",
                                                    "ringing_alone",
                                                    "short",
                                                    "short_on_a_level",
                                                    "short_through_zero",
                                                    "hardly_damped",
                                                    "hardly_turning",
                                                    "long_ringing",
                                                    "endless_ringing",
                                                    "steep_decay",
                                                    "steady",
                                                    "fast_alone",
                                                    "steady_decay"};

static void ring(lottery *luck, hl_segment *s, double turn, double decay, double size)
{
    double phase = lottery_between(luck, 0, 2 * pi);
    s->omega = turn / s->duration;
    s->decay = decay / s->duration;
    s->cosine = size * cos(phase);
    s->sine = size * sin(phase);
}

/* Turns and decays are over the piece's own duration. */
static hl_segment piece(lottery *luck, piece_kind kind)
{
    hl_segment s = {.duration = lottery_between(luck, 0.1, 1)};
    double size = lottery_between(luck, 1, 5);
    if (kind == IDLE) return s;
    s.offset = lottery_between(luck, -3, 3);
    if (kind == LEVEL) return s;
    s.slope = lottery_between(luck, -4, 4);
    switch (kind) {
    case RINGING:
        ring(luck, &s, lottery_between(luck, 1, 12), 0, size);
        break;
    case DAMPED:
        ring(luck, &s, lottery_between(luck, 1, 20), lottery_between(luck, 0.1, 5), size);
        break;
    case GROWING:
        ring(luck, &s, lottery_between(luck, 1, 12), -lottery_between(luck, 0.1, 3), size);
        break;
    case DECAY:
        ring(luck, &s, 0, lottery_between(luck, 0.5, 6), size);
        break;
    case RISE:
        ring(luck, &s, 0, -lottery_between(luck, 0.5, 3), size);
        break;
    case ALONE:
        s.offset = s.slope = 0;
        ring(luck, &s, lottery_between(luck, 2, 30), lottery_between(luck, -0.5, 3), size);
        break;
    case SHORT:
        s.duration *= 1e-3;
        ring(luck, &s, lottery_between(luck, 0.1, 0.8), lottery_between(luck, -0.3, 0.5), size);
        break;
    case SHORT_LEVEL:
        s.duration *= 1e-2;
        ring(luck, &s, lottery_between(luck, 0.1, 0.5), lottery_between(luck, 0, 0.5), 0.3 * fabs(s.offset));
        break;
    case CROSSING:
        s.duration *= 1e-2;
        ring(luck, &s, lottery_between(luck, 0.3, 0.9), 0.1, size);
        s.offset = -s.cosine - 0.5 * s.sine * s.omega * s.duration;
        s.slope = 0;
        break;
    case HARDLY_DAMPED:
        ring(luck, &s, lottery_between(luck, 1, 9), lottery_between(luck, -1e-9, 1e-9), size);
        break;
    case HARDLY_TURNING:
        ring(luck, &s, 1e-9, lottery_between(luck, -0.1, 0.1), size);
        break;
    case LONG_RINGING:
        ring(luck, &s, lottery_between(luck, 60, 300), lottery_between(luck, -1, 8), size);
        break;
    case ENDLESS_RINGING:
        ring(luck, &s, lottery_between(luck, 2e4, 6e4), lottery_between(luck, -1, 3), size);
        break;
    case STEEP_DECAY:
        ring(luck, &s, lottery_below(luck, 2) ? 3 : 0, lottery_between(luck, 20, 90), size);
        break;
    case STEADY:
        s.slope *= 0.1;
        ring(luck, &s, lottery_between(luck, 0.1, 5), lottery_between(luck, -1, 3), 0.2 * fabs(s.offset));
        break;
    case FAST_ALONE:
        s.offset = s.slope = 0;
        ring(luck, &s, lottery_between(luck, 2, 12), lottery_between(luck, 3, 12), size);
        break;
    case STEADY_DECAY:
        s.slope = 0;
        ring(luck, &s, 0, lottery_between(luck, 6, 40), 0.3 * fabs(s.offset));
        break;
    default: /* a ramp */
        break;
    }
    return s;
}

/* Every member a hair beside, each its own way. */
static void move(figure_hair *hair, hl_segment *s)
{
    double *const members[] = {&s->duration, &s->offset, &s->slope, &s->decay,
                               &s->omega,    &s->cosine, &s->sine};
    for (size_t i = 0; i < sizeof members / sizeof *members; i++)
        *members[i] = figure_hair_beside(hair, *members[i]);
}

/* The mirror image of n segments behind them. */
static void mirror(hl_segment *s, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        s[n + i] = s[i];
        s[n + i].offset = -s[i].offset, s[n + i].slope = -s[i].slope;
        s[n + i].cosine = -s[i].cosine, s[n + i].sine = -s[i].sine;
    }
}

/* About the greatest value of a wave. */
static double size_of(const hl_wave *wave)
{
    double size = 1;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        double growth = fmax(1, exp(-s->decay * s->duration));
        size =
            fmax(size, fabs(s->offset) + fabs(s->slope) * s->duration + growth * hypot(s->cosine, s->sine));
    }
    return size;
}

/* --------------------------------------------------------------- figures -- */

static const double exponents[] = {0.5, 1, 1.37, 2, 2.61, 3};

static void say_harmonics(figure_sheet *sheet, const double cosine[], const double sine[], double size)
{
    for (int k = 0; k < HARMONICS; k++) {
        figure_sheet_put_of(sheet, "cosine", cosine[k], size);
        figure_sheet_put_of(sheet, "sine", sine[k], size);
    }
}

static void say_wave(figure_sheet *sheet, const hl_wave *wave)
{
    double cosine[HARMONICS], sine[HARMONICS], highest, lowest, period = hl_wave_period(wave);
    double size = size_of(wave);
    figure_sheet_put(sheet, "period", period);
    figure_sheet_put_of(sheet, "average", hl_wave_average(wave), size);
    figure_sheet_put(sheet, "rms", hl_wave_rms(wave));
    figure_sheet_put(sheet, "mean_square", hl_wave_mean_square(wave));
    hl_wave_peaks(wave, &highest, &lowest);
    figure_sheet_put_of(sheet, "highest", highest, size);
    figure_sheet_put_of(sheet, "lowest", lowest, size);
    figure_sheet_put_of(sheet, "swing", hl_wave_integral_swing(wave), size * period);
    for (size_t i = 0; i < sizeof exponents / sizeof *exponents; i++)
        figure_sheet_put_of(sheet, "power_mean", hl_wave_power_mean(wave, exponents[i]),
                            1e-2 * pow(size, exponents[i]));
    for (int i = 0; i <= 4; i++)
        figure_sheet_put_of(sheet, "value", hl_wave_at(wave, period * (0.03 + 0.23 * i)), size);
    hl_wave_fourier(wave, HARMONICS, cosine, sine);
    say_harmonics(sheet, cosine, sine, size);
}

/* ----------------------------------------------------------------- waves -- */

typedef struct draw {
    int kind, number;
} draw;

static lottery luck_of(const draw *d)
{
    lottery luck = {.state = 1000003u * (unsigned)(d->kind + 1) + 7919u * (unsigned)d->number};
    lottery_next(&luck);
    return luck;
}

/* One piece, and half as much time of nothing where the number is odd: the piece is then no whole period. */
static void one_piece(void *context, figure_hair *hair, figure_sheet *sheet)
{
    const draw *d = context;
    lottery luck = luck_of(d);
    hl_segment s[2] = {piece(&luck, (piece_kind)d->kind)};
    hl_wave wave = {1 + (size_t)(d->number & 1), s};
    move(hair, &s[0]);
    s[1].duration = 0.5 * s[0].duration;
    say_wave(sheet, &wave);
}

START_TEST(pieces_keep_their_figures)
{
    char group[64];
    kept_figures *book = kept_figures_open("wave_pieces", "waves of one piece of every kind");
    for (int kind = 0; kind < PIECE_KINDS; kind++)
        for (int number = 0; number < 4; number++) {
            draw d = {kind, number};
            snprintf(group, sizeof group, "%s,%d", piece_name[kind], number);
            kept_figures_line(book, group, one_piece, &d);
        }
    kept_figures_close(book);
}
END_TEST

/* Up to five pieces of any kind; every third wave has its mirror image behind it, every third one ringing
 * that meets a harmonic. */
static size_t draw_wave(lottery *luck, int number, figure_hair *hair, hl_segment s[PIECES_MAX])
{
    size_t n = 2 + lottery_below(luck, 4);
    double period = 0;
    for (size_t i = 0; i < n; i++) {
        s[i] = piece(luck, (piece_kind)lottery_below(luck, PIECE_KINDS - 1));
        period += s[i].duration;
    }
    if (number % 3 == 2) {
        s[0].cosine = 1.5;
        s[0].omega = 2 * pi / period * (double)(1 + lottery_below(luck, 9));
        s[0].decay = number % 2 ? 0 : 1e-8;
    }
    for (size_t i = 0; i < n; i++) move(hair, &s[i]);
    if (number % 3 != 1) return n;
    mirror(s, n);
    return 2 * n;
}

static void whole_wave(void *context, figure_hair *hair, figure_sheet *sheet)
{
    const draw *d = context;
    lottery luck = luck_of(d);
    hl_segment s[PIECES_MAX];
    hl_wave wave = {draw_wave(&luck, d->number, hair, s), s};
    say_wave(sheet, &wave);
}

START_TEST(waves_keep_their_figures)
{
    char group[64];
    kept_figures *book = kept_figures_open("waves", "waves of several pieces");
    for (int number = 0; number < 60; number++) {
        draw d = {PIECE_KINDS, number};
        snprintf(group, sizeof group, "wave,%d", number);
        kept_figures_line(book, group, whole_wave, &d);
    }
    kept_figures_close(book);
}
END_TEST

/* -------------------------------------------------------------- windings -- */

enum { WINDINGS = 5, HALVES = 4 };

static hl_segment winding_piece(lottery *luck, double duration, double period, bool meets)
{
    hl_segment s = {.duration = duration, .offset = lottery_between(luck, -3, 3)};
    if (lottery_below(luck, 3)) s.slope = lottery_between(luck, -3, 3) / duration;
    if (!lottery_below(luck, 2)) return s;
    bool fast = lottery_below(luck, 2);
    s.omega = (meets ? 6 * pi : fast ? 21.7 : 6.9) / period;
    s.decay = (meets ? 0 : fast ? 0.3 : 2) / period;
    s.cosine = lottery_between(luck, -3, 3);
    s.sine = lottery_between(luck, -3, 3);
    return s;
}

/* Windings of one converter: cuts at the same times, few kinds of ringing; the third is the second half a
 * period later, the fourth begins as the first does and is mirrored, the fifth rings with a harmonic. */
static void draw_windings(lottery *luck, figure_hair *hair, hl_segment s[WINDINGS][2 * HALVES])
{
    double duration[HALVES], period = 0;
    for (int i = 0; i < HALVES; i++)
        period += 2 * (duration[i] = figure_hair_beside(hair, lottery_between(luck, 0.02, 0.5)));
    for (int v = 0; v < WINDINGS; v++)
        for (int i = 0; i < 2 * HALVES; i++)
            s[v][i] = winding_piece(luck, duration[i % HALVES], period, v == WINDINGS - 1);
    for (int v = 0; v < WINDINGS; v++)
        for (int i = 0; i < 2 * HALVES; i++) {
            s[v][i].offset = figure_hair_beside(hair, s[v][i].offset);
            s[v][i].cosine = figure_hair_beside(hair, s[v][i].cosine);
        }
    for (int i = 0; i < 2 * HALVES; i++) s[2][(i + HALVES) % (2 * HALVES)] = s[1][i];
    for (int i = 0; i < HALVES; i++) s[3][i] = s[0][i];
    mirror(s[3], HALVES);
}

static void all_windings(void *context, figure_hair *hair, figure_sheet *sheet)
{
    lottery luck = luck_of(context);
    hl_segment s[WINDINGS][2 * HALVES];
    hl_wave wave[WINDINGS];
    const hl_wave *shown[WINDINGS + 1] = {NULL};
    double cosine[(WINDINGS + 1) * STRIDE], sine[(WINDINGS + 1) * STRIDE], square[WINDINGS + 1];
    draw_windings(&luck, hair, s);
    for (int v = 0; v < WINDINGS; v++) {
        wave[v] = (hl_wave){2 * HALVES, s[v]};
        shown[v] = &wave[v];
    }
    hl_waves_fourier(shown, WINDINGS + 1, HARMONICS, STRIDE, cosine, sine);
    hl_waves_mean_square(shown, WINDINGS + 1, square);
    for (int v = 0; v <= WINDINGS; v++) {
        char name[32];
        figure_sheet_put(sheet, "mean_square", square[v]);
        for (int k = 0; k < HARMONICS; k++) {
            snprintf(name, sizeof name, "cosine_of_%d", v);
            figure_sheet_put_of(sheet, name, cosine[v * STRIDE + k], 3);
            snprintf(name, sizeof name, "sine_of_%d", v);
            figure_sheet_put_of(sheet, name, sine[v * STRIDE + k], 3);
        }
    }
}

START_TEST(windings_keep_their_figures)
{
    char group[64];
    kept_figures *book =
        kept_figures_open("windings", "waves of one period, their harmonics worked out at once");
    for (int number = 0; number < 24; number++) {
        draw d = {PIECE_KINDS + 1, number};
        snprintf(group, sizeof group, "windings,%d", number);
        kept_figures_line(book, group, all_windings, &d);
    }
    kept_figures_close(book);
}
END_TEST

/* ---------------------------------------------------------------- curves -- */

static const double kept_x[] = {-1, 0.5, 1, 2.5, 4, 8};
static const double tables[][6] = {
    {1, 2, 2.5, 4, 9, 11},     /* rises */
    {9, 5, 4.9, 1, 0.2, 0.19}, /* falls */
    {1, 3, 3, -2, 4, 4.5},     /* turns, and stands still */
    {0, 0.1, 8, 8.1, 8.2, 30}, /* corners that a free cubic would overshoot */
};

static const double asked[] = {-3, -1, -0.6, 0.2, 0.5, 0.8, 1.9, 2.5, 3.3, 5, 7.7, 8, 12};
enum { ASKED = sizeof asked / sizeof *asked };

typedef struct table_choice {
    size_t points;
    int table;
    bool cubic;
} table_choice;

/* Abscissae stay, for a place just at a point is on one side of it for good. */
static void curve(void *context, figure_hair *hair, figure_sheet *sheet)
{
    const table_choice *choice = context;
    double y[6];
    char name[48];
    for (size_t i = 0; i < 6; i++) y[i] = figure_hair_beside(hair, tables[choice->table][i]);
    hl_curve c = {choice->points, kept_x, y, choice->cubic};
    for (size_t i = 0; i < ASKED; i++) {
        bool outside = false;
        double slope, value = hl_curve_at(&c, asked[i], &slope, &outside);
        figure_sheet_put_of(sheet, "value", value, 1);
        figure_sheet_put_of(sheet, "slope", slope, 1);
        figure_sheet_put(sheet, "outside", outside);
        figure_sheet_put_of(sheet, "value_alone", hl_curve_at(&c, asked[i], NULL, NULL), 1);
    }
    for (size_t i = 0; i < ASKED; i++) {
        double to = asked[(i * 5 + 3) % ASKED];
        snprintf(name, sizeof name, "from_%g_to_%g", asked[i], to);
        figure_sheet_put_of(sheet, name, hl_curve_integral(&c, asked[i], to), 1);
    }
}

START_TEST(curves_keep_their_figures)
{
    char group[64];
    kept_figures *book =
        kept_figures_open("curves", "tables looked up and integrated, inside and beyond their ends");
    for (int table = 0; table < 4; table++)
        for (size_t points = 0; points <= 6; points += points < 3 ? 1 : 3)
            for (int cubic = 0; cubic < 2; cubic++) {
                table_choice choice = {points, table, cubic};
                snprintf(group, sizeof group, "table_%d,%zu_points,%s", table, points,
                         cubic ? "cubic" : "straight");
                kept_figures_line(book, group, curve, &choice);
            }
    kept_figures_close(book);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, pieces_keep_their_figures);
    tcase_add_test(tests, waves_keep_their_figures);
    tcase_add_test(tests, windings_keep_their_figures);
    tcase_add_test(tests, curves_keep_their_figures);
}

int main(void)
{
    return story_main("wave figures", fill);
}
