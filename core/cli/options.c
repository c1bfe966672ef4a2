/* options.c - a command's options as a table. */
#include "cli/options.h"

#include <getopt.h>
#include <stdio.h>
#include <string.h>

#include "heatledger/quantity.h"

enum {
    OPTIONS_MAX = 32,
    SHARED_SET = 0x100,
    SHARED_PLUGINS,
    SHARED_TRUST,
    SHARED_QUIET,
    SHARED_NETWORK,
    SHARED_BANDS
};

typedef struct reading {
    const char *command;
    session_options *shared;
    const own_option *own;
    size_t n_own;
    bool scripted;
} reading;

static bool keep(const reading *r, const char *list[], size_t *n, size_t room, const char *text)
{
    if (*n < room) {
        list[(*n)++] = text;
        return true;
    }
    fprintf(stderr, "heatledger %s: more than %zu of one kind at '%s'; give fewer\n", r->command, room, text);
    return false;
}

static bool take_own(const reading *r, const own_option *own, const char *text)
{
    if (own->kind == OWN_FLAG) {
        *(bool *)own->target = true;
        if (r->shared && !strcmp(own->name, "quiet")) r->shared->quiet = true;
        return true;
    }
    if (own->kind == OWN_TEXT) {
        *(const char **)own->target = text;
        return true;
    }
    option_list *list = own->target;
    return keep(r, list->text, &list->n, OPTION_LIST_MAX, text);
}

static bool take(const reading *r, int code, const char *text)
{
    session_options *shared = r->shared;
    switch (code) {
    case SHARED_SET:
        return keep(r, shared->set, &shared->n_set, SESSION_LIST_MAX, text);
    case SHARED_PLUGINS:
        return keep(r, shared->plugins, &shared->n_plugins, SESSION_LIST_MAX, text);
    case SHARED_NETWORK:
        shared->network = text;
        return true;
    case SHARED_BANDS:
        shared->bands = text;
        return true;
    case SHARED_TRUST:
        shared->trusted = true;
        return true;
    case SHARED_QUIET:
        shared->quiet = true;
        return true;
    default:
        return code > 0 && code <= (int)r->n_own && take_own(r, &r->own[code - 1], text);
    }
}

static bool is_own(const reading *r, const char *name)
{
    for (size_t i = 0; i < r->n_own; i++)
        if (r->own[i].kind != OWN_REST && !strcmp(r->own[i].name, name)) return true;
    return false;
}

/* getopt's table: the shared options, then the command's own with its index + 1 as code. */
static void fill(const reading *r, struct option table[])
{
    size_t n = 0;
    if (r->shared) {
        table[n++] = (struct option){"plugins", required_argument, NULL, SHARED_PLUGINS};
        if (!is_own(r, "quiet")) table[n++] = (struct option){"quiet", no_argument, NULL, SHARED_QUIET};
    }
    if (r->scripted) {
        table[n++] = (struct option){"set", required_argument, NULL, SHARED_SET};
        table[n++] = (struct option){"trust", no_argument, NULL, SHARED_TRUST};
        table[n++] = (struct option){"network", required_argument, NULL, SHARED_NETWORK};
        table[n++] = (struct option){"bands", required_argument, NULL, SHARED_BANDS};
    }
    for (size_t i = 0; i < r->n_own && n < OPTIONS_MAX - 1; i++) {
        if (r->own[i].kind == OWN_REST) continue;
        int argument = r->own[i].kind == OWN_FLAG ? no_argument : required_argument;
        table[n++] = (struct option){r->own[i].name, argument, NULL, (int)i + 1};
    }
    table[n] = (struct option){NULL, 0, NULL, 0};
}

/* What getopt stopped at: an option nobody knows, one without its value, or one shortened too far. */
static bool refuse(const reading *r, const struct option table[], const char *word, int code)
{
    const char *names[OPTIONS_MAX + 1];
    size_t n = 0;
    for (; table[n].name; n++) names[n] = table[n].name;
    names[n] = NULL;
    if (code == ':') {
        fprintf(stderr, "heatledger %s: '%s' wants a value after it; `heatledger %s --help` tells more\n",
                r->command, word, r->command);
        return false;
    }
    char name[64];
    snprintf(name, sizeof name, "%.*s", (int)strcspn(word, "="), word);
    if (code == '?' && strchr(word, '=') && optopt) {
        fprintf(stderr, "heatledger %s: '%s' takes no value; leave '%s' out\n", r->command, name,
                strchr(word, '='));
        return false;
    }
    const char *near = !strncmp(name, "--", 2) ? hl_nearest_word(name + 2, names) : NULL;
    fprintf(stderr, "heatledger %s: no option '%s'", r->command, name);
    if (near) fprintf(stderr, "; did you mean '--%s'?", near);
    fprintf(stderr, "%s`heatledger %s --help` lists them\n", near ? " " : "; ", r->command);
    return false;
}

static bool take_words(const reading *r, int argc, char **argv)
{
    int at = optind;
    if (r->scripted) {
        if (at >= argc) {
            fprintf(stderr, "heatledger %s: name a script; `heatledger %s --help` tells more\n", r->command,
                    r->command);
            return false;
        }
        r->shared->script = argv[at++];
    }
    const own_option *rest = NULL;
    for (size_t i = 0; i < r->n_own; i++)
        if (r->own[i].kind == OWN_REST) rest = &r->own[i];
    for (; at < argc; at++) {
        if (!rest) {
            fprintf(stderr, "heatledger %s: '%s' is one word too many; `heatledger %s --help` tells more\n",
                    r->command, argv[at], r->command);
            return false;
        }
        if (!take_own(r, rest, argv[at])) return false;
    }
    return true;
}

static bool chosen(const reading *r, const char *flag)
{
    for (size_t i = 0; i < r->n_own; i++)
        if (r->own[i].kind == OWN_FLAG && !strcmp(r->own[i].name, flag)) return *(bool *)r->own[i].target;
    return false;
}

/* One output has one form. */
static bool one_form(const reading *r)
{
    if (!chosen(r, "json") || !chosen(r, "csv")) return true;
    fprintf(stderr, "heatledger %s: --json and --csv exclude each other; give one\n", r->command);
    return false;
}

static bool read_all(reading *r, int argc, char **argv)
{
    struct option table[OPTIONS_MAX];
    while (r->own[r->n_own].target) r->n_own++;
    fill(r, table);
    if (r->shared) memset(r->shared, 0, sizeof *r->shared);
    for (int code; (code = getopt_long(argc, argv, ":", table, NULL)) != -1;) {
        if (code == '?' || code == ':') return refuse(r, table, argv[optind - 1], code);
        if (!take(r, code, optarg)) return false;
    }
    return take_words(r, argc, argv) && one_form(r);
}

bool options_read(const char *command, int argc, char **argv, session_options *shared, const own_option own[])
{
    reading r = {command, shared, own, 0, true};
    return read_all(&r, argc, argv);
}

bool options_read_words(const char *command, int argc, char **argv, session_options *shared,
                        const own_option own[])
{
    reading r = {command, shared, own, 0, false};
    return read_all(&r, argc, argv);
}
