/* check_contrast.c - the report's colours: whatever is read stands out enough, in light and in dark.
 * source: W3C, Web Content Accessibility Guidelines 2.1, relative luminance; success criteria 1.4.3
 * (text 4.5) and 1.4.11 (graphics 3). */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "story.h"

enum { NAMES_MAX = 40 };

typedef struct palette {
    size_t n;
    char name[NAMES_MAX][20];
    double luminance[NAMES_MAX];
} palette;

static char *style_text(void)
{
    FILE *file = fopen(HL_PROJECT_SOURCE "/scripts/heatledger/report/style.lua", "r");
    ck_assert_ptr_nonnull(file);
    char *text = calloc(1, 1 << 16);
    ck_assert_ptr_nonnull(text);
    ck_assert_uint_gt(fread(text, 1, (1 << 16) - 1, file), 1000);
    fclose(file);
    return text;
}

static double channel(unsigned value)
{
    double share = value / 255.0;
    return share <= 0.03928 ? share / 12.92 : pow((share + 0.055) / 1.055, 2.4);
}

static double luminance_of(unsigned r, unsigned g, unsigned b)
{
    return 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
}

/* #rgb or #rrggbb */
static double read_colour(const char *text)
{
    unsigned r, g, b;
    size_t n = strspn(text, "0123456789abcdef");
    ck_assert_msg(n == 3 || n == 6, "no colour: #%.8s", text);
    ck_assert_int_eq(sscanf(text, n == 3 ? "%1x%1x%1x" : "%2x%2x%2x", &r, &g, &b), 3);
    if (n == 3) return luminance_of(17 * r, 17 * g, 17 * b);
    return luminance_of(r, g, b);
}

static size_t index_of(const palette *p, const char *name, size_t length)
{
    for (size_t i = 0; i < p->n; i++)
        if (strlen(p->name[i]) == length && !strncmp(p->name[i], name, length)) return i;
    return SIZE_MAX;
}

/* Add the colours of a rule ":root{--name:#hex;...}", or change those there are. */
static void read_palette(const char *rule, palette *p)
{
    const char *end = strchr(rule, '}');
    ck_assert_ptr_nonnull(end);
    for (const char *at = strstr(rule, "--"); at && at < end; at = strstr(at + 2, "--")) {
        size_t length = strcspn(at + 2, ":");
        size_t i = index_of(p, at + 2, length);
        if (i == SIZE_MAX) {
            i = p->n++;
            ck_assert_uint_lt(i, NAMES_MAX);
            snprintf(p->name[i], sizeof p->name[i], "%.*s", (int)length, at + 2);
        }
        ck_assert_int_eq(at[2 + length + 1], '#');
        p->luminance[i] = read_colour(at + 2 + length + 2);
    }
}

static double contrast(const palette *p, const char *a, const char *b)
{
    size_t i = index_of(p, a, strlen(a)), k = index_of(p, b, strlen(b));
    ck_assert_msg(i != SIZE_MAX && k != SIZE_MAX, "no colour --%s or --%s", a, b);
    double high = fmax(p->luminance[i], p->luminance[k]), low = fmin(p->luminance[i], p->luminance[k]);
    return (high + 0.05) / (low + 0.05);
}

static const char *const texts[] = {"ink", "soft", "link", "bad", "out", "lost", NULL};
static const char *const grounds[] = {"paper", "panel", NULL};
static const char *const fills[] = {"m1", "m2", "m3", "m4", "m5", "m6", NULL}; /* of bars, on their track */
static const char *const lines[] = {"stream",   "out",      "lost",     "series-0", "series-1",
                                    "series-2", "series-3", "series-4", "series-5", NULL};
/* Rules between rows and behind bars, which carry nothing that is not said in text. */
static const char *const silent[] = {"rule", "track", NULL};

static void all_pairs(const palette *p, const char *what, const char *const front[], const char *const back[],
                      double least)
{
    for (size_t i = 0; front[i]; i++)
        for (size_t k = 0; back[k]; k++) {
            double found = contrast(p, front[i], back[k]);
            ck_assert_msg(found >= least, "%s: %s on %s has %.2f, not %.1f", what, front[i], back[k], found,
                          least);
        }
}

static bool is_among(const char *const list[], const char *name, size_t length)
{
    for (size_t i = 0; list[i]; i++)
        if (strlen(list[i]) == length && !strncmp(list[i], name, length)) return true;
    return false;
}

/* The formula's own example values: white on black is 21, #767676 on white is 4.54 (WCAG's usual border
 * case). */
START_TEST(the_formula_gives_its_known_values)
{
    ck_near((read_colour("fff") + 0.05) / (read_colour("000000") + 0.05), 21, 1e-12, 0);
    ck_near((read_colour("fff") + 0.05) / (read_colour("767676") + 0.05), 4.54, 0, 5e-3);
}
END_TEST

START_TEST(everything_read_stands_out_in_light_and_dark)
{
    char *style = style_text();
    const char *rule = strstr(style, ":root{"), *dark = strstr(style, "prefers-color-scheme:dark){:root{");
    ck_assert(rule && dark);
    static const char *const track[] = {"track", NULL}, *const paper[] = {"paper", NULL};
    palette p = {0};
    read_palette(rule, &p);
    for (int k = 0; k < 2; k++) {
        const char *what = k ? "dark" : "light";
        if (k) read_palette(strstr(dark, ":root{"), &p);
        all_pairs(&p, what, texts, grounds, 4.5);
        all_pairs(&p, what, fills, track, 3);
        all_pairs(&p, what, fills, grounds, 3); /* the legend's */
        all_pairs(&p, what, lines, paper, 3);
    }
    free(style);
}
END_TEST

/* A new colour must be given a place above: each that is used is one of those that were held against another.
 */
START_TEST(no_colour_is_left_out)
{
    char *style = style_text();
    for (const char *at = style; (at = strstr(at, "var(--")) != NULL; at += 6) {
        size_t n = strcspn(at + 6, ")");
        bool known = is_among(texts, at + 6, n) || is_among(grounds, at + 6, n) ||
                     is_among(fills, at + 6, n) || is_among(lines, at + 6, n) || is_among(silent, at + 6, n);
        ck_assert_msg(known, "nobody looked at var(--%.*s)", (int)n, at + 6);
    }
    ck_assert_msg(!strstr(style, "opacity"), "a colour that shines through was looked at by nobody");
    free(style);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_formula_gives_its_known_values);
    tcase_add_test(tests, everything_read_stands_out_in_light_and_dark);
    tcase_add_test(tests, no_colour_is_left_out);
}

int main(void)
{
    return story_main("contrast", fill);
}
