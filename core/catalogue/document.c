/* document.c - YAML events to a tree, with every trick of YAML refused that a table of values does not need:
 * anchors, aliases (so nothing can explode), tags, keys that are not words, several documents. */
#include "catalogue/document.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <yaml.h>

#include "catalogue/document_fault.h"
#include "quantity/excerpt.h"

typedef struct builder {
    yaml_parser_t parser;
    arena *memory;
    const char *file;
    const char *input;
    size_t length;
    hl_diagnostics *diagnostics;
    node *root;
    node *open[DOCUMENT_DEPTH_MAX];
    size_t depth, nodes;
    int documents;
    bool quoted;                  /* the last scalar stood in quotes, */
    yaml_mark_t begin_at, end_at; /* from here to there */
    int told_line;                /* of the last complaint, 0: none */
    bool wrong;                   /* something was reported; the rest is still read */
    bool stopped;                 /* reading any further makes no sense */
    bool starved;
} builder;

static hl_place place_of(const builder *b, yaml_mark_t mark)
{
    return (hl_place){b->file, (int)mark.line + 1, (int)mark.column + 1};
}

static void complain(builder *b, yaml_mark_t mark, const char *sentence)
{
    hl_place place = place_of(b, mark);
    hl_diagnostics_add(b->diagnostics, HL_ERROR, &place, "%s", sentence);
    b->told_line = place.line;
    b->wrong = true;
}

static void stop(builder *b, yaml_mark_t mark, const char *sentence)
{
    complain(b, mark, sentence);
    b->stopped = true;
}

/* Line and column of a byte, for faults below the level at which the parser counts. */
static yaml_mark_t mark_of_byte(const builder *b, size_t offset)
{
    yaml_mark_t mark = {.index = offset};
    for (size_t i = 0; i < offset && i < b->length; i++) {
        unsigned char c = (unsigned char)b->input[i];
        if (c == '\n') {
            mark.line++;
            mark.column = 0;
        } else if ((c & 0xC0) != 0x80) {
            mark.column++;
        }
    }
    return mark;
}

/* A fault in a line of which something was told already is left to that. */
static void report_fault(builder *b)
{
    const yaml_parser_t *p = &b->parser;
    char sentence[400];
    hl_place place = {b->file, 0, 0};
    if (p->error == YAML_READER_ERROR) {
        place = place_of(b, mark_of_byte(b, p->problem_offset));
        snprintf(sentence, sizeof sentence, "not text: %s; save the file as UTF-8",
                 p->problem ? p->problem : "unreadable");
    } else {
        document_fault fault = {p, b->input, b->length, b->quoted, b->begin_at, b->end_at};
        document_fault_tell(&fault, &place, sentence, sizeof sentence);
    }
    if (place.line != b->told_line) hl_diagnostics_add(b->diagnostics, HL_ERROR, &place, "%s", sentence);
    b->wrong = b->stopped = true;
}

static node *add_node(builder *b, node_kind kind, yaml_mark_t mark)
{
    if (++b->nodes > DOCUMENT_NODES_MAX) {
        stop(b, mark, "more than 200000 values in one file; split it");
        return NULL;
    }
    node *made = arena_take(b->memory, sizeof *made);
    if (!made) {
        b->starved = b->stopped = true;
        return NULL;
    }
    *made = (node){.kind = kind, .line = (int)mark.line + 1, .column = (int)mark.column + 1};
    node *parent = b->depth ? b->open[b->depth - 1] : NULL;
    if (!parent) {
        if (!b->root) b->root = made;
        return made;
    }
    if (parent->last)
        parent->last->next = made;
    else
        parent->first = made;
    parent->last = made;
    parent->n++;
    return made;
}

static bool is_key_next(const builder *b)
{
    const node *parent = b->depth ? b->open[b->depth - 1] : NULL;
    return parent && parent->kind == NODE_MAPPING && parent->n % 2 == 0;
}

static void refuse_decoration(builder *b, yaml_mark_t mark, const yaml_char_t *anchor, const yaml_char_t *tag)
{
    if (anchor) complain(b, mark, "anchors (&) are not used here; write the value out");
    if (tag) complain(b, mark, "tags (!) are not used here; write the plain value");
}

static void begin(builder *b, node_kind kind, yaml_mark_t mark, const yaml_char_t *anchor,
                  const yaml_char_t *tag)
{
    refuse_decoration(b, mark, anchor, tag);
    if (is_key_next(b)) {
        stop(b, mark, "a key must be one word; a list or mapping stands here");
        return;
    }
    if (b->depth == DOCUMENT_DEPTH_MAX) {
        stop(b, mark, "nested more than 8 deep; a part file needs 6");
        return;
    }
    node *made = add_node(b, kind, mark);
    if (made) b->open[b->depth++] = made;
}

static void end(builder *b)
{
    if (b->depth) b->open[--b->depth]->closed = true;
}

static void scalar(builder *b, const yaml_event_t *event)
{
    static const char hard_space[] = "\xC2\xA0";
    const char *text = (const char *)event->data.scalar.value;
    refuse_decoration(b, event->start_mark, event->data.scalar.anchor, event->data.scalar.tag);
    if (is_key_next(b) && strncmp(text, hard_space, 2) == 0) {
        stop(b, event->start_mark,
             "blanks that are no plain spaces begin this line (pasted text?); type it anew, with spaces");
        return;
    }
    bool follows =
        b->end_at.line == event->start_mark.line && b->end_at.column + 1 == event->start_mark.column;
    b->quoted = event->data.scalar.style == YAML_SINGLE_QUOTED_SCALAR_STYLE ||
                event->data.scalar.style == YAML_DOUBLE_QUOTED_SCALAR_STYLE;
    b->begin_at = event->start_mark;
    b->end_at = event->end_mark;
    node *made = add_node(b, NODE_SCALAR, event->start_mark);
    if (!made) return;
    made->closed = true;
    made->tight = follows;
    made->plain = event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE;
    made->length = event->data.scalar.length;
    made->text = arena_text(b->memory, text, made->length);
    if (!made->text) b->starved = b->stopped = true;
}

static void alias(builder *b, const yaml_event_t *event)
{
    complain(b, event->start_mark, "aliases (*) are not used here; write the value out");
    node *made = add_node(b, NODE_BROKEN, event->start_mark);
    if (made) made->closed = true;
}

/* One event; false at the end of the stream. */
static bool take(builder *b, const yaml_event_t *event)
{
    switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
        if (++b->documents > 1)
            stop(b, event->start_mark, "a second document begins here; keep one per file");
        break;
    case YAML_MAPPING_START_EVENT:
        begin(b, NODE_MAPPING, event->start_mark, event->data.mapping_start.anchor,
              event->data.mapping_start.tag);
        break;
    case YAML_SEQUENCE_START_EVENT:
        begin(b, NODE_SEQUENCE, event->start_mark, event->data.sequence_start.anchor,
              event->data.sequence_start.tag);
        break;
    case YAML_MAPPING_END_EVENT:
    case YAML_SEQUENCE_END_EVENT:
        end(b);
        break;
    case YAML_SCALAR_EVENT:
        scalar(b, event);
        break;
    case YAML_ALIAS_EVENT:
        alias(b, event);
        break;
    default:
        break;
    }
    return event->type != YAML_STREAM_END_EVENT;
}

static void read_events(builder *b)
{
    bool more = true;
    while (more && !b->stopped) {
        yaml_event_t event;
        if (!yaml_parser_parse(&b->parser, &event)) {
            b->starved = b->parser.error == YAML_MEMORY_ERROR;
            if (!b->starved) report_fault(b);
            return;
        }
        more = take(b, &event);
        yaml_event_delete(&event);
    }
}

hl_status document_read(arena *memory, const char *file, const char *text, size_t length, node **root,
                        hl_diagnostics *diagnostics)
{
    hl_place whole = {file, 0, 0};
    *root = NULL;
    if (length > DOCUMENT_BYTES_MAX) {
        hl_diagnostics_add(diagnostics, HL_ERROR, &whole, "larger than 8 MiB; split it");
        return HL_BAD_INPUT;
    }
    builder b = {.memory = memory, .file = file, .input = text, .length = length, .diagnostics = diagnostics};
    if (!yaml_parser_initialize(&b.parser)) return HL_NO_MEMORY;
    yaml_parser_set_input_string(&b.parser, (const unsigned char *)text, length);
    read_events(&b);
    yaml_parser_delete(&b.parser);
    *root = b.root;
    if (b.stopped && b.root) b.root->closed = false;
    if (b.starved) return HL_NO_MEMORY;
    return b.wrong ? HL_BAD_INPUT : HL_OK;
}

static int order_keys(const void *a, const void *b)
{
    const node *first = *(node *const *)a, *second = *(node *const *)b;
    size_t n = first->length < second->length ? first->length : second->length;
    int order = n ? memcmp(first->text, second->text, n) : 0;
    if (order == 0) order = (first->length > second->length) - (first->length < second->length);
    if (order == 0) order = (first->line > second->line) - (first->line < second->line);
    if (order == 0) order = (first->column > second->column) - (first->column < second->column);
    return order;
}

static bool same_key(const node *a, const node *b)
{
    return a->length == b->length && memcmp(a->text, b->text, a->length) == 0;
}

hl_status document_refuse_twins(arena *memory, const char *file, node *mapping, hl_diagnostics *diagnostics)
{
    node **keys = arena_array(memory, mapping->n / 2 + 1, sizeof *keys);
    if (!keys) return HL_NO_MEMORY;
    size_t n = 0;
    for (node *key = mapping->first; key && key->next; key = key->next->next)
        if (key->kind == NODE_SCALAR) keys[n++] = key;
    qsort(keys, n, sizeof *keys, order_keys);
    hl_status status = HL_OK;
    for (size_t i = 1, first = 0; i < n; i++) {
        if (!same_key(keys[first], keys[i])) {
            first = i;
            continue;
        }
        hl_place place = {file, keys[i]->line, keys[i]->column};
        hl_diagnostics_add(diagnostics, HL_ERROR, &place,
                           "'%s' stands here a second time; keep one of it and the first, at line %d",
                           keys[i]->text, keys[first]->line);
        keys[i]->kind = NODE_BROKEN;
        status = HL_BAD_INPUT;
    }
    return status;
}
