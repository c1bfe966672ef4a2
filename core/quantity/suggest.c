/* suggest.c - the unit somebody probably meant: spelled out, in the wrong case, or mistyped. */
#include "quantity/suggest.h"

#include <stdio.h>
#include <string.h>

enum { LENGTH_MAX = 16 };

/* clang-format off */
static const struct { const char *written, *meant; } spelled[] = {
    {"ohms", "ohm"}, {"R", "ohm"}, {"volt", "V"}, {"volts", "V"}, {"amp", "A"}, {"amps", "A"},
    {"ampere", "A"}, {"amperes", "A"}, {"watt", "W"}, {"watts", "W"}, {"joule", "J"}, {"joules", "J"},
    {"sec", "s"}, {"second", "s"}, {"seconds", "s"}, {"minute", "min"}, {"minutes", "min"}, {"hour", "h"},
    {"hours", "h"}, {"hr", "h"}, {"hrs", "h"}, {"C", "degC"}, {"celsius", "degC"}, {"deg", "degC"},
    {"deg C", "degC"}, {"\xC2\xB0 C", "degC"}, {"kelvin", "K"}, {"inch", "in"}, {"inches", "in"},
    {"mils", "mil"}, {"percent", "%"}, {"farad", "F"}, {"henry", "H"}, {"tesla", "T"}, {"hertz", "Hz"},
    {"gram", "g"}, {"grams", "g"}, {"metre", "m"}, {"meter", "m"}, {"micron", "um"}, {"microns", "um"},
    {"C/W", "degC/W"}, {"cc", "cm^3"}, {"sqmm", "mm^2"},
};

static const char *const prefixes[] = {"", "k", "M", "m", "u", "n", "p", "G", "T", "f", "c"};
/* clang-format on */

enum { SPELLED = sizeof spelled / sizeof *spelled, PREFIXES = sizeof prefixes / sizeof *prefixes };

static bool is_wanted(const char *text, const unit *wanted)
{
    unit read;
    return unit_parse(text, strlen(text), &read, NULL, NULL) &&
           dimension_equal(read.dimension, wanted->dimension);
}

static bool spelled_out(const char *text, size_t length, const unit *wanted, char *near, size_t size)
{
    for (size_t i = 0; i < SPELLED; i++) {
        size_t n = strlen(spelled[i].written);
        if (n != length || word_edits(text, length, spelled[i].written, n) != 0) continue;
        if (!is_wanted(spelled[i].meant, wanted)) continue;
        snprintf(near, size, "%s", spelled[i].meant);
        return true;
    }
    return false;
}

/* Letters at the front that differ, so that of mohm and Mohm the one with the written prefix is nearer. */
static size_t differing(const char *a, size_t n, const char *b, size_t m)
{
    size_t slips = 0;
    for (size_t i = 0; i < n && i < m; i++) slips += a[i] != b[i];
    return slips;
}

typedef struct best {
    size_t cost;
    char text[24];
} best;

/* One candidate: an edit weighs more than any number of case slips. */
static void consider(best *found, const char *text, size_t length, bool typed, const char *candidate)
{
    size_t n = strlen(candidate), edits = word_edits(text, length, candidate, n);
    size_t allowed = typed ? (length > n ? length : n) / 3 : 0;
    if (edits > allowed) return;
    size_t cost = 100 * edits + differing(text, length, candidate, n);
    if (cost >= found->cost) return;
    found->cost = cost;
    snprintf(found->text, sizeof found->text, "%s", candidate);
}

bool suggest_unit(const char *text, size_t length, const unit *wanted, bool typed, char *near, size_t size)
{
    if (length == 0 || length > LENGTH_MAX) return false;
    if (spelled_out(text, length, wanted, near, size)) return true;
    best found = {.cost = (size_t)-1};
    for (size_t i = 0; unit_symbol(i); i++) {
        for (size_t k = 0; k < PREFIXES; k++) {
            char candidate[24];
            snprintf(candidate, sizeof candidate, "%s%s", prefixes[k], unit_symbol(i));
            bool slow = strcmp(candidate, "mHz") == 0; /* nobody here means a millihertz */
            if (!slow && is_wanted(candidate, wanted)) consider(&found, text, length, typed, candidate);
        }
    }
    if (found.cost == (size_t)-1) return false;
    snprintf(near, size, "%s", found.text);
    return true;
}
