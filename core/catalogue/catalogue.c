/* catalogue.c - the parts of any number of files, by name. */
#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "catalogue/number.h"
#include "catalogue/part.h"
#include "catalogue/source.h"
#include "heatledger/catalogue.h"
#include "heatledger/quantity.h"
#include "quantity/excerpt.h"
#include "quantity/float_state.h"

struct hl_catalogue {
    const hl_host *host;
    arena *memory;
    hl_part **parts;    /* in name order */
    const char **names; /* of the same, NULL-ended */
    size_t n, room;
    rule_set *rules;
};

static const char format_word[] = "parts/1";

hl_catalogue *hl_catalogue_create(const hl_host *host)
{
    hl_catalogue *made = calloc(1, sizeof *made);
    if (!made) return NULL;
    made->host = host;
    made->memory = arena_create();
    made->names = calloc(1, sizeof *made->names);
    if (made->memory && made->names) return made;
    hl_catalogue_destroy(made);
    return NULL;
}

void hl_catalogue_destroy(hl_catalogue *catalogue)
{
    if (!catalogue) return;
    arena_destroy(catalogue->memory);
    free(catalogue->parts);
    free(catalogue->names);
    free(catalogue);
}

/* Index of `name`, or where it would stand; *found tells which. */
static size_t place_of(const hl_catalogue *catalogue, const char *name, bool *found)
{
    size_t low = 0, high = catalogue->n;
    *found = false;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        int order = strcmp(catalogue->parts[middle]->name, name);
        if (order == 0) {
            *found = true;
            return middle;
        }
        if (order < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static bool reserve(hl_catalogue *catalogue)
{
    if (catalogue->n < catalogue->room) return true;
    size_t room = catalogue->room ? 2 * catalogue->room : 32;
    hl_part **parts = realloc(catalogue->parts, room * sizeof *parts);
    if (parts) catalogue->parts = parts;
    const char **names = realloc(catalogue->names, (room + 1) * sizeof *names);
    if (names) catalogue->names = names;
    if (!parts || !names) return false;
    catalogue->room = room;
    return true;
}

static bool insert(hl_catalogue *catalogue, hl_part *part)
{
    if (!reserve(catalogue)) return false;
    bool found;
    size_t at = place_of(catalogue, part->name, &found), after = catalogue->n - at;
    memmove(&catalogue->parts[at + 1], &catalogue->parts[at], after * sizeof *catalogue->parts);
    memmove(&catalogue->names[at + 1], &catalogue->names[at], (after + 1) * sizeof *catalogue->names);
    catalogue->parts[at] = part;
    catalogue->names[at] = part->name;
    catalogue->n++;
    return true;
}

static bool already_there(hl_catalogue *catalogue, value_reader *reader, const node *name)
{
    if (name->kind != NODE_SCALAR) return false;
    bool found;
    size_t at = place_of(catalogue, name->text, &found);
    if (!found) return false;
    hl_place first = catalogue->parts[at]->place;
    value_complain(reader, name, catalogue->parts[at]->name, "a part of this name stands already at %s:%d:%d",
                   first.file, first.line, first.column);
    return true;
}

/* A fault in the file makes the last part before it doubtful too: it may lack what follows the fault. */
static bool is_doubtful(const node *parts, const node *key)
{
    return !parts->closed && (!key->next->closed || !key->next->next);
}

static void read_parts(hl_catalogue *catalogue, value_reader *reader, node *parts)
{
    if (parts->kind == NODE_BROKEN || (parts->kind != NODE_MAPPING && !parts->closed)) return;
    if (parts->kind != NODE_MAPPING) {
        const char *advice = parts->length ? "" : ", indented beneath it";
        if (parts->kind == NODE_SEQUENCE) advice = ", without a dash before the names";
        value_complain(reader, parts, "parts", "wants a mapping from part names to parts%s", advice);
        return;
    }
    size_t before = hl_diagnostics_errors(reader->diagnostics);
    hl_status status = document_refuse_twins(reader->scratch, reader->file, parts, reader->diagnostics);
    reader->starved = status == HL_NO_MEMORY;
    if (status == HL_BAD_INPUT) reader->complaints += 1 + hl_diagnostics_errors(reader->diagnostics) - before;
    bool spilt = false; /* a part is empty, and what follows was meant to be indented beneath it */
    for (const node *key = parts->first; key && key->next; key = key->next->next) {
        if (reader->starved || reader->complaints > COMPLAINTS_MAX) return;
        const node *value = key->next;
        spilt = value->kind == NODE_SCALAR && (spilt || !value->length);
        if ((spilt && value->length) || is_doubtful(parts, key) || already_there(catalogue, reader, key))
            continue;
        hl_part *part = part_read(reader, catalogue->host, catalogue->rules, key, key->next);
        if (part && !insert(catalogue, part)) reader->starved = true;
    }
}

static void check_format(value_reader *reader, const node *from)
{
    if (from->kind == NODE_BROKEN) return;
    if (from->kind == NODE_SCALAR && strcmp(from->text, format_word) == 0) return;
    value_complain(reader, from, "heatledger", "this version reads part files marked '%s' only", format_word);
}

static void read_root(hl_catalogue *catalogue, value_reader *reader, node *root)
{
    bool whole = root && root->closed;
    static const char *const words[] = {"parts", "heatledger", NULL};
    const node *found[2] = {NULL, NULL};
    if (!root) {
        hl_place place = {reader->file, 1, 1};
        hl_diagnostics_add(reader->diagnostics, HL_ERROR, &place,
                           "empty; a part file begins with 'heatledger: parts/1', then 'parts:'");
        reader->complaints++;
        return;
    }
    if (root->kind != NODE_MAPPING) {
        if (whole) value_complain(reader, root, "", "a part file begins with 'parts:'");
        return;
    }
    if (!whole && root->last) root->last->closed = false;
    bool known = fields_read(reader, "", root, words, found);
    if (found[1]) check_format(reader, found[1]);
    if (found[0])
        read_parts(catalogue, reader, (node *)found[0]);
    else if (whole && known)
        value_complain(reader, root, "", "'parts:' is missing");
}

/* A file, unlike a text that a program hands over, may outlive this version: it says what it is. */
static void read_marked_root(hl_catalogue *catalogue, value_reader *reader, node *root)
{
    static const char *const word[] = {"heatledger", NULL}; /* or one that is told to be misspelt */
    bool marked = !root || root->kind != NODE_MAPPING || !root->closed;
    for (const node *key = marked ? NULL : root->first; key && key->next; key = key->next->next)
        marked = marked || (key->kind == NODE_SCALAR && hl_nearest_word(key->text, word));
    if (!marked)
        value_complain(reader, root, "", "it does not say what it is; begin the file with 'heatledger: %s'",
                       format_word);
    read_root(catalogue, reader, root);
}

static hl_status no_memory(const char *name, hl_diagnostics *diagnostics)
{
    hl_place place = {name, 0, 0};
    hl_diagnostics_add(diagnostics, HL_ERROR, &place, "memory ran out; close other programs");
    return HL_NO_MEMORY;
}

typedef void read_tree(hl_catalogue *catalogue, value_reader *reader, node *root);

static void read_rule_tree(hl_catalogue *catalogue, value_reader *reader, node *root)
{
    node empty = {.kind = NODE_SCALAR, .line = 1, .column = 1, .text = ""};
    rules_read(reader, catalogue->host, root ? root : &empty, &catalogue->rules);
}

static hl_status read_as(hl_catalogue *catalogue, read_tree *read, const char *name, const char *text,
                         size_t length, hl_diagnostics *diagnostics)
{
    arena *memory = arena_create();
    const char *file = arena_copy(catalogue->memory, name ? name : "");
    node *root = NULL;
    hl_status status = HL_NO_MEMORY;
    value_reader reader = {.memory = catalogue->memory,
                           .scratch = memory,
                           .file = file,
                           .diagnostics = diagnostics,
                           .origin = HL_ORIGIN_STATED};
    if (memory && file) {
        status = document_read(memory, file, text ? text : "", text ? length : 0, &root, diagnostics);
        bool whole = status == HL_OK || (root && read != read_rule_tree);
        if (status != HL_NO_MEMORY && whole) read(catalogue, &reader, root);
    }
    arena_destroy(memory);
    if (status == HL_NO_MEMORY || reader.starved) return no_memory(name, diagnostics);
    return status == HL_OK && reader.complaints == 0 ? HL_OK : HL_BAD_INPUT;
}

static hl_status read_file_as(hl_catalogue *catalogue, read_tree *read, const char *path,
                              hl_diagnostics *diagnostics)
{
    char *text = NULL;
    size_t length = 0;
    hl_status status = source_read(path, DOCUMENT_BYTES_MAX, &text, &length, diagnostics);
    if (status == HL_OK) status = read_as(catalogue, read, path, text, length, diagnostics);
    free(text);
    return status;
}

hl_status hl_catalogue_read_text(hl_catalogue *catalogue, const char *name, const char *text, size_t length,
                                 hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    return read_as(catalogue, read_root, name, text, length, diagnostics);
}

hl_status hl_catalogue_read_file(hl_catalogue *catalogue, const char *path, hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    return read_file_as(catalogue, read_marked_root, path, diagnostics);
}

hl_status hl_catalogue_read_rules_text(hl_catalogue *catalogue, const char *name, const char *text,
                                       size_t length, hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    return read_as(catalogue, read_rule_tree, name, text, length, diagnostics);
}

hl_status hl_catalogue_read_rules(hl_catalogue *catalogue, const char *path, hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    return read_file_as(catalogue, read_rule_tree, path, diagnostics);
}

static int is_rule_file(const struct dirent *entry)
{
    size_t n = strlen(entry->d_name);
    return entry->d_name[0] != '.' && n > 5 && strcmp(entry->d_name + n - 5, ".yaml") == 0;
}

hl_status hl_catalogue_read_rules_folder(hl_catalogue *catalogue, const char *folder,
                                         hl_diagnostics *diagnostics)
{
    struct dirent **entries = NULL;
    int n = scandir(folder, &entries, is_rule_file, alphasort);
    hl_status worst = HL_OK;
    if (n < 0) {
        hl_place place = {folder, 0, 0};
        hl_diagnostics_add(diagnostics, HL_ERROR, &place, "cannot be read: %s", strerror(errno));
        return HL_NO_FILE;
    }
    for (int i = 0; i < n; i++) {
        char path[PATH_MAX];
        int written = snprintf(path, sizeof path, "%s/%s", folder, entries[i]->d_name);
        hl_status status = HL_NO_FILE;
        if (written > 0 && (size_t)written < sizeof path)
            status = hl_catalogue_read_rules(catalogue, path, diagnostics);
        if (worst == HL_OK) worst = status;
        free(entries[i]);
    }
    free(entries);
    return worst;
}

const hl_parameter *hl_catalogue_fact(const hl_catalogue *catalogue, const hl_model *model, size_t index)
{
    for (const rule_set *set = catalogue->rules; set; set = set->next) {
        if (!rules_serve(set, model)) continue;
        if (index < set->n_facts) return &set->facts[index].parameter;
        index -= set->n_facts;
    }
    return NULL;
}

size_t hl_catalogue_parts(const hl_catalogue *catalogue)
{
    return catalogue->n;
}

const hl_part *hl_catalogue_part(const hl_catalogue *catalogue, size_t index)
{
    return index < catalogue->n ? catalogue->parts[index] : NULL;
}

const hl_part *hl_catalogue_find(const hl_catalogue *catalogue, const char *name)
{
    bool found = false;
    size_t at = name ? place_of(catalogue, name, &found) : 0;
    return found ? catalogue->parts[at] : NULL;
}

const char *hl_catalogue_nearest(const hl_catalogue *catalogue, const char *name)
{
    return hl_nearest_word(name, catalogue->names);
}
