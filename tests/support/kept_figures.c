/* kept_figures.c - sheets of figures, records of them, and what moved from one to the other. */
#include "kept_figures.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "story.h"

enum { NAME = 64, SAMPLES = 512, LONG = 64, FIGURES = 800, TRIES = 4, TOLD = 12, LINE = 65536, GROUP = 128 };

/* Solutions agree with what they converge to within 1e-11, and rounding of another compiler adds less to any
 * figure that a hair of 1e-13 moves by less than 1e-7: so this is wide enough, and nothing decided is that
 * small. */
static const double tolerance = 1e-9, hair_width = 1e-13, edge = 1e-7;

typedef struct sheet_figure {
    char name[NAME];
    size_t samples;
    double sample[SAMPLES], scale[SAMPLES];
} sheet_figure;

struct figure_sheet {
    size_t n;
    sheet_figure figure[FIGURES];
};

typedef struct kept_line {
    char *group, *text; /* what follows the group */
    bool seen;
} kept_line;

struct kept_figures {
    char path[1024];
    bool writes;
    FILE *out;
    size_t lines, room, next;
    kept_line *line;
    size_t compared, moved;
    char told[8192];
    figure_sheet sheet[TRIES];
};

/* ------------------------------------------------------------------ sheet -- */

static sheet_figure *figure_of(figure_sheet *sheet, const char *name)
{
    for (size_t i = 0; i < sheet->n; i++)
        if (!strcmp(sheet->figure[i].name, name)) return &sheet->figure[i];
    return NULL;
}

void figure_sheet_put(figure_sheet *sheet, const char *name, double figure)
{
    figure_sheet_put_of(sheet, name, figure, 0.0);
}

void figure_sheet_put_of(figure_sheet *sheet, const char *name, double figure, double scale)
{
    char word[NAME];
    size_t n = strlen(name);
    ck_assert_msg(n < NAME, "figure '%s': its name is too long", name);
    for (size_t i = 0; i <= n; i++) word[i] = isspace((unsigned char)name[i]) ? '_' : name[i];
    sheet_figure *f = figure_of(sheet, word);
    if (!f) {
        ck_assert_msg(sheet->n < FIGURES, "too many figures on a line");
        f = &sheet->figure[sheet->n++];
        memcpy(f->name, word, sizeof word);
        f->samples = 0;
    }
    ck_assert_msg(f->samples < SAMPLES, "figure '%s': too many samples", word);
    f->sample[f->samples] = figure;
    f->scale[f->samples++] = scale;
}

double figure_hair_beside(figure_hair *hair, double input)
{
    if (!hair->off) return input;
    return input * (lottery_below(&hair->luck, 2) ? 1.0 + hair_width : 1.0 - hair_width);
}

unsigned long long figure_seed(const char *text, size_t number)
{
    unsigned long long hash = 14695981039346656037u; /* FNV-1a, 64 bit */
    for (; *text; text++) hash = (hash ^ (unsigned char)*text) * 1099511628211u;
    return (hash ^ number) * 1099511628211u;
}

/* Of its scale: less is nothing, and what is near that is left out. */
static const double nothing = 1e-8;

static char sign_of(double figure, double scale)
{
    if (isnan(figure)) return 'n';
    if (fabs(figure) <= nothing * scale) return '0';
    return figure > 0.0 ? '+' : figure < 0.0 ? '-' : '0';
}

/* Signs of all samples; '~' where the other sheets say otherwise. */
static void signs_of(const kept_figures *book, const sheet_figure *f, size_t tries, char signs[])
{
    for (size_t k = 0; k < f->samples; k++) {
        double at = f->sample[k];
        signs[k] = sign_of(at, f->scale[k]);
        if (tries > 1 && fabs(at) > 0.5 * nothing * f->scale[k] && fabs(at) < 2.0 * nothing * f->scale[k])
            signs[k] = '~';
        for (size_t i = 1; i < tries; i++) {
            const sheet_figure *other = figure_of((figure_sheet *)&book->sheet[i], f->name);
            double there = other && k < other->samples ? other->sample[k] : (double)NAN;
            double room =
                fmax(edge * fabs(at), tolerance * f->scale[k]); /* what may move: no hair moves more */
            bool same = isnan(at) ? isnan(there) : fabs(there - at) <= room;
            if (!same) signs[k] = '~';
        }
    }
    signs[f->samples] = '\0';
}

/* Geometric mean of the sizes of those samples that are neither zero nor left out. */
static double size_of(const sheet_figure *f, const char *signs)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t k = 0; k < f->samples; k++)
        if ((signs[k] == '+' || signs[k] == '-') && isfinite(f->sample[k]))
            sum += log(fabs(f->sample[k])), n++;
    return n ? exp(sum / (double)n) : 0.0;
}

/* What the size may move by, as a share of it: of each sample's scale, where that is the greater. */
static double room_of(const sheet_figure *f, const char *signs)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t k = 0; k < f->samples; k++)
        if ((signs[k] == '+' || signs[k] == '-') && isfinite(f->sample[k]))
            sum += fmax(1.0, f->scale[k] / fabs(f->sample[k])), n++;
    return n ? tolerance * sum / (double)n : 0.0;
}

/* A long row of signs is written after ':' in letters of three each; what fills the last one is '+'. */
static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_.",
                  kinds[] = "+0-~";

static void pack_signs(const char *signs, char packed[])
{
    size_t n = strlen(signs), at = 0;
    if (n <= LONG || strchr(signs, 'n')) {
        strcpy(packed, signs);
        return;
    }
    packed[at++] = ':';
    for (size_t k = 0; k < n; k += 3) {
        size_t three = 0;
        for (size_t i = k; i < k + 3; i++)
            three = 4 * three + (i < n ? (size_t)(strchr(kinds, signs[i]) - kinds) : 0);
        packed[at++] = letters[three];
    }
    packed[at] = '\0';
}

static void unpack_signs(const char *packed, size_t samples, char signs[])
{
    if (packed[0] != ':' || strlen(packed + 1) != (samples + 2) / 3) {
        snprintf(signs, SAMPLES + 1, "%s", packed);
        return;
    }
    for (size_t k = 0; k < samples; k++) {
        const char *letter = strchr(letters, packed[1 + k / 3]);
        size_t three = letter ? (size_t)(letter - letters) : 0;
        signs[k] = kinds[three >> (4 - 2 * (k % 3)) & 3];
    }
    signs[samples] = '\0';
}

static bool all(const char *signs, char sign)
{
    return signs[strspn(signs, (char[]){sign, '\0'})] == '\0';
}

/* --------------------------------------------------------------- compare -- */

__attribute__((format(printf, 2, 3))) static void tell(kept_figures *book, const char *format, ...)
{
    size_t used = strlen(book->told);
    va_list list;
    if (book->moved++ >= TOLD) return;
    va_start(list, format);
    vsnprintf(book->told + used, sizeof book->told - used, format, list);
    va_end(list);
}

static void compare_figure(kept_figures *book, const char *group, sheet_figure *f, const char *was,
                           const char *kept)
{
    char is[SAMPLES + 1], were[SAMPLES + 1];
    memset(were, '+', f->samples);
    were[f->samples] = '\0';
    if (kept) unpack_signs(kept, f->samples, were);
    kept = were;
    signs_of(book, f, 1, is);
    book->compared++;
    if (strlen(kept) == f->samples)
        for (size_t k = 0; k < f->samples; k++)
            if (kept[k] == '~') is[k] = '~';
    double before = strtod(was, NULL), now = size_of(f, is);
    if (strcmp(is, kept) != 0)
        tell(book, "  %s: %s was %s with signs %s, is %.13g with signs %s\n", group, f->name, was, kept, now,
             is);
    else if (!(fabs(now - before) <= room_of(f, is) * fabs(before)))
        tell(book, "  %s: %s was %s, is %.13g (%+.3g %%)\n", group, f->name, was, now,
             100.0 * (now / before - 1.0));
    f->samples = 0; /* done */
}

/* The kept text: NAME=SIZE or NAME=SIZE/SIGNS, one after another. */
static void compare_text(kept_figures *book, const char *group, const char *text)
{
    static char copy[LINE];
    char *rest = NULL;
    figure_sheet *sheet = &book->sheet[0];
    snprintf(copy, sizeof copy, "%s", text);
    for (char *word = strtok_r(copy, " \n", &rest); word; word = strtok_r(NULL, " \n", &rest)) {
        char *was = strchr(word, '='), *kept = was ? strchr(was, '/') : NULL;
        if (!was) continue;
        *was++ = '\0';
        if (kept) *kept++ = '\0';
        sheet_figure *f = figure_of(sheet, word);
        bool left_out = *was == '~';
        if (left_out && f) f->samples = 0;
        if (left_out) continue;
        if (!f || !f->samples)
            tell(book, "  %s: %s was %s, is no more\n", group, word, was);
        else
            compare_figure(book, group, f, was, kept);
    }
    for (size_t i = 0; i < sheet->n; i++) {
        char is[SAMPLES + 1];
        sheet_figure *f = &sheet->figure[i];
        signs_of(book, f, 1, is);
        if (!all(is, '0')) tell(book, "  %s: %s is new, %.13g\n", group, f->name, size_of(f, is));
    }
}

static kept_line *line_of(kept_figures *book, const char *group)
{
    for (size_t i = 0; i < book->lines; i++) {
        kept_line *line = &book->line[(book->next + i) % book->lines];
        if (strcmp(line->group, group) != 0) continue;
        book->next = (book->next + i + 1) % book->lines;
        return line;
    }
    return NULL;
}

/* ----------------------------------------------------------------- record -- */

/* Is a figure put as often with inputs a hair beside?  Otherwise its kind of answer stands on a knife-edge.
 */
static bool stands(const kept_figures *book, const sheet_figure *f)
{
    for (size_t i = 0; i < TRIES; i++) {
        const sheet_figure *other = figure_of((figure_sheet *)&book->sheet[i], f->name);
        if (!other || other->samples != f->samples) return false;
    }
    return true;
}

static void write_figure(kept_figures *book, const sheet_figure *f)
{
    char signs[SAMPLES + 1], packed[SAMPLES + 1];
    if (!stands(book, f)) {
        fprintf(book->out, " %s=~", f->name);
        return;
    }
    signs_of(book, f, TRIES, signs);
    if (all(signs, '0')) return;
    fprintf(book->out, " %s=%.13g", f->name, size_of(f, signs));
    pack_signs(signs, packed);
    if (!all(signs, '+')) fprintf(book->out, "/%s", packed);
}

static void write_line(kept_figures *book, const char *group)
{
    fputs(group, book->out);
    for (size_t i = 0; i < TRIES; i++)
        for (size_t k = 0; k < book->sheet[i].n; k++) {
            bool written = false;
            for (size_t j = 0; j < i; j++)
                written |= figure_of(&book->sheet[j], book->sheet[i].figure[k].name) != NULL;
            if (!written) write_figure(book, &book->sheet[i].figure[k]);
        }
    fputc('\n', book->out);
}

static void read_record(kept_figures *book)
{
    static char text[LINE];
    FILE *file = fopen(book->path, "r");
    ck_assert_msg(file != NULL, "%s is missing; HEATLEDGER_KEEP_FIGURES=1 writes it", book->path);
    while (fgets(text, sizeof text, file)) {
        if (text[0] == '#' || text[0] == '\n') continue;
        if (book->lines == book->room) {
            book->room = 2 * book->room + 64;
            book->line = realloc(book->line, book->room * sizeof *book->line);
            ck_assert_ptr_nonnull(book->line);
        }
        size_t end = strcspn(text, " \n");
        kept_line *line = &book->line[book->lines++];
        *line = (kept_line){.group = strdup(text), .text = strdup(text + end)};
        ck_assert(line->group && line->text);
        line->group[end] = '\0';
    }
    fclose(file);
}

kept_figures *kept_figures_open(const char *name, const char *what)
{
    kept_figures *book = calloc(1, sizeof *book);
    const char *wish = getenv("HEATLEDGER_KEEP_FIGURES");
    ck_assert_ptr_nonnull(book);
    snprintf(book->path, sizeof book->path, "%s/figures/%s.txt", HL_TEST_SOURCE, name);
    book->writes = wish && *wish && strcmp(wish, "0") != 0;
    if (!book->writes) {
        read_record(book);
        return book;
    }
    book->out = fopen(book->path, "w");
    ck_assert_msg(book->out != NULL, "%s cannot be written", book->path);
    fprintf(book->out,
            "# %s\n"
            "# What was computed when it was last decided on: no evidence that it is right, only that "
            "nothing moved\n"
            "# unasked.  SI units and kelvin.  A figure is the geometric mean of several; signs follow where "
            "not all\n"
            "# are positive, with ~ for one that is left out, on a knife-edge, and 0 for one that is none.\n"
            "# Written by scripts/dev/figures; when to, and who looks at the difference: DEVELOPERS.md.\n",
            what);
    return book;
}

/* Of the lines that are drawn and numbered (NAME,NUMBER) every third is enough for a sanitizer. */
static bool left_to_others(const kept_figures *book, const char *group)
{
    const char *number = STORY_SANITIZED && !book->writes ? strrchr(group, ',') : NULL;
    return number && isdigit((unsigned char)number[1]) && strtol(number + 1, NULL, 10) % 3 != 0;
}

void kept_figures_line(kept_figures *book, const char *group,
                       void (*compute)(void *context, figure_hair *hair, figure_sheet *sheet), void *context)
{
    if (left_to_others(book, group)) {
        kept_line *left = line_of(book, group);
        if (left) left->seen = true;
        return;
    }
    for (size_t i = 0; i < (book->writes ? TRIES : 1); i++) {
        figure_hair hair = {.off = i > 0, .luck = {.state = figure_seed(group, i)}};
        book->sheet[i].n = 0;
        compute(context, &hair, &book->sheet[i]);
    }
    if (book->writes) {
        write_line(book, group);
        return;
    }
    kept_line *line = line_of(book, group);
    if (!line) {
        tell(book, "  %s: is new\n", group);
        return;
    }
    line->seen = true;
    compare_text(book, group, line->text);
}

void kept_figures_close(kept_figures *book)
{
    static char told[sizeof book->told];
    if (book->out) ck_assert_msg(fclose(book->out) == 0, "%s could not be written", book->path);
    for (size_t i = 0; i < book->lines; i++) {
        if (!book->line[i].seen) tell(book, "  %s: is no more\n", book->line[i].group);
        free(book->line[i].group);
        free(book->line[i].text);
    }
    free(book->line);
    size_t moved = book->moved, compared = book->compared;
    bool writes = book->writes;
    char path[sizeof book->path];
    memcpy(told, book->told, sizeof told);
    memcpy(path, book->path, sizeof path);
    free(book);
    if (moved)
        ck_abort_msg(
            "%zu figures moved from what %s keeps:\n%s%s"
            "If that is meant, scripts/dev/figures keeps the new ones; say in the commit why they moved.",
            moved, path, told, moved > TOLD ? "  ...\n" : "");
    ck_assert_msg(writes || compared > 0, "%s keeps no figure", path);
}

void kept_figures_numbered(const char *name, const char *what, const char *stem, size_t n,
                           void (*compute)(void *context, figure_hair *hair, figure_sheet *sheet))
{
    kept_figures *book = kept_figures_open(name, what);
    for (size_t k = 0; k < n; k++) {
        char group[GROUP];
        snprintf(group, sizeof group, "%s,%zu", stem, k);
        kept_figures_line(book, group, compute, &k);
    }
    kept_figures_close(book);
}
