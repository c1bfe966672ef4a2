/* document_fault.c - what a text that is no YAML most likely lacks. The parser stops where it can go no
 * further, often a line behind the mistake, and speaks of keys and contexts; from its words and the lines
 * around follows which of the usual mistakes it was. */
#include "catalogue/document_fault.h"

#include <stdio.h>
#include <string.h>

#include "catalogue/colon.h"

/* One line of the text, from its first byte that is no space. */
typedef struct line {
    size_t number, indent; /* from 0 */
    const char *begin, *text;
    size_t length;
} line;

/* What was found: where, and in which words. */
typedef struct finding {
    const document_fault *fault;
    yaml_mark_t at;
    char *sentence;
    size_t size;
} finding;

static const char *const breaks[] = {"\r\n", "\n", "\r", "\xC2\x85", "\xE2\x80\xA8", "\xE2\x80\xA9"};
enum { BREAKS = sizeof breaks / sizeof *breaks };

/* Bytes of the line break at text, or right before it, 0: none. source: YAML 1.1, section 4.1.4 */
static size_t break_at(const char *text, size_t length)
{
    for (size_t i = 0; i < BREAKS; i++) {
        size_t n = strlen(breaks[i]);
        if (n <= length && memcmp(text, breaks[i], n) == 0) return n;
    }
    return 0;
}

static size_t break_before(const char *text, size_t length)
{
    for (size_t i = 0; i < BREAKS; i++) {
        size_t n = strlen(breaks[i]);
        if (n <= length && memcmp(text - n, breaks[i], n) == 0) return n;
    }
    return 0;
}

/* The line that begins at a byte. */
static line line_from(const document_fault *f, size_t number, const char *begin)
{
    static const char mark[] = "\xEF\xBB\xBF"; /* of byte order: no column of its own */
    const char *end = f->text + f->length;
    bool marked = number == 0 && f->length >= 3 && memcmp(f->text, mark, 3) == 0;
    line l = {.number = number, .begin = begin, .text = begin + (marked ? 3 : 0)};
    for (; l.text < end && *l.text == ' '; l.text++) l.indent++;
    while (l.text + l.length < end && !break_at(l.text + l.length, (size_t)(end - l.text) - l.length))
        l.length++;
    while (l.length && (l.text[l.length - 1] == ' ' || l.text[l.length - 1] == '\t')) l.length--;
    return l;
}

static line line_at(const document_fault *f, size_t number)
{
    const char *at = f->text, *end = f->text + f->length;
    for (size_t k = 0; k < number && at < end;) {
        size_t n = break_at(at, (size_t)(end - at));
        at += n ? n : 1;
        k += n > 0;
    }
    return line_from(f, number, at);
}

static bool is_bare(const line *l)
{
    return l->length == 0 || l->text[0] == '#';
}

/* The nearest line above that holds something; false: none. */
static bool line_above(const document_fault *f, const line *here, line *above)
{
    const char *at = here->begin;
    for (size_t number = here->number; number > 0; number--) {
        at -= break_before(at, (size_t)(at - f->text));
        while (at > f->text && !break_before(at, (size_t)(at - f->text))) at--;
        *above = line_from(f, number - 1, at);
        if (!is_bare(above)) return true;
    }
    return false;
}

/* The text of a line before a column, counted in characters from the margin. */
static size_t bytes_before(const line *l, size_t column)
{
    size_t n = 0;
    for (size_t at = l->indent; at < column && n < l->length; at++) {
        n++;
        while (n < l->length && ((unsigned char)l->text[n] & 0xC0) == 0x80) n++;
    }
    return n;
}

static bool has_colon(const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if (text[i] == ':' && (i + 1 == length || text[i + 1] == ' ' || text[i + 1] == '\t')) return true;
    return false;
}

/* Could it be a name and a value but for the colon? */
static bool lacks_colon(const line *l)
{
    return !is_bare(l) && !strchr("-[{]}\"'|>", l->text[0]) && !has_colon(l->text, l->length);
}

static yaml_mark_t begin_of(const line *l)
{
    return (yaml_mark_t){.line = l->number, .column = l->indent};
}

static bool say(finding *found, yaml_mark_t at, const char *sentence)
{
    found->at = at;
    snprintf(found->sentence, found->size, "%s", sentence);
    return true;
}

static bool say_colon(finding *found, const line *l)
{
    found->at = begin_of(l);
    colon_advice(l->text, l->length, found->sentence, found->size);
    return true;
}

/* ---------------------------------------------------------------- mistakes -- */

static bool is_colon_missing(finding *found)
{
    line l = line_at(found->fault, found->fault->parser->context_mark.line);
    return lacks_colon(&l) && say_colon(found, &l);
}

/* A colon where none may stand: a value goes on below itself, or above it a name stands without one. */
static bool is_colon_astray(finding *found)
{
    yaml_mark_t at = found->fault->parser->problem_mark;
    line here = line_at(found->fault, at.line), above, first;
    if (has_colon(here.text, bytes_before(&here, at.column)))
        return say(found, at, "a second colon with a space behind it; put text that has one in quotes");
    if (!line_above(found->fault, &here, &above)) return false;
    if (lacks_colon(&above)) {
        while (line_above(found->fault, &above, &first) && lacks_colon(&first)) above = first;
        return say_colon(found, &above);
    }
    if (above.indent >= here.indent) return false;
    found->at = begin_of(&here);
    snprintf(found->sentence, found->size,
             "indented deeper than line %zu, which has its value already; indent both alike",
             above.number + 1);
    return true;
}

/* A line whose indentation is that of none of its neighbours. */
static bool is_indent_odd(finding *found, const line *here)
{
    line above, beside = *here;
    while (line_above(found->fault, &beside, &above) && above.indent > here->indent) beside = above;
    if (beside.number == here->number) return false;
    found->at = begin_of(here);
    snprintf(
        found->sentence, found->size,
        "indented by %zu spaces, its neighbours (line %zu) by %zu; indent lines that belong together alike",
        here->indent, beside.number + 1, beside.indent);
    return true;
}

/* Text behind the quote that was taken for the closing one. */
static bool is_quote_astray(finding *found)
{
    const document_fault *f = found->fault;
    yaml_mark_t at = f->parser->problem_mark;
    if (!f->quoted || f->end_at.line != at.line || f->end_at.column > at.column) return false;
    if (f->begin_at.line == f->end_at.line)
        return say(found, at,
                   "text stands behind the closing quote; put the other kind of quote around text "
                   "that has one in it");
    found->at = f->begin_at;
    snprintf(
        found->sentence, found->size,
        "this quote is not closed on its line; the next one, at line %zu, was taken for its end; close it",
        f->end_at.line + 1);
    return true;
}

/* Something that is no name where one is wanted. */
static bool is_name_missing(finding *found)
{
    yaml_mark_t at = found->fault->parser->problem_mark;
    line here = line_at(found->fault, at.line);
    size_t n = bytes_before(&here, at.column);
    char c = n < here.length ? here.text[n] : '\0';
    if (c == '}' || c == ']') {
        found->at = at;
        snprintf(found->sentence, found->size, "this %c closes nothing that is open; take it away", c);
        return true;
    }
    if (is_quote_astray(found)) return true;
    if (n > 0) return false;
    if (c == '-' && (here.length == 1 || here.text[1] == ' '))
        return say(found, at, "a dash begins an entry of a list, and none is wanted here; take it away");
    return is_indent_odd(found, &here);
}

/* A bracket or brace left open, or entries without a comma between them. */
static bool is_bracket_open(finding *found, char bracket)
{
    const yaml_parser_t *p = found->fault->parser;
    if (is_quote_astray(found)) return true;
    found->at = p->context_mark;
    if (p->context_mark.line != p->problem_mark.line) {
        snprintf(
            found->sentence, found->size,
            "the list or mapping that opens here is not closed before line %zu; write the '%c' that ends it, "
            "or the comma that is missing there",
            p->problem_mark.line + 1, bracket);
        return true;
    }
    found->at = p->problem_mark;
    snprintf(found->sentence, found->size, "',' or '%c' is wanted before this; is a comma missing?", bracket);
    return true;
}

static bool is_character_wrong(finding *found)
{
    yaml_mark_t at = found->fault->parser->problem_mark;
    line here = line_at(found->fault, at.line);
    size_t n = bytes_before(&here, at.column);
    if (n >= here.length) return false;
    if (here.text[n] == '\t') return say(found, at, "a tab stands here; use spaces");
    found->at = at;
    snprintf(found->sentence, found->size,
             "nothing begins with '%c'; leave it out, or put the text in quotes", here.text[n]);
    return true;
}

static bool is_indented_by_tab(finding *found)
{
    line here = line_at(found->fault, found->fault->parser->problem_mark.line);
    return here.length && here.text[0] == '\t' &&
           say(found, found->fault->parser->problem_mark, "a tab indents this line; use spaces");
}

/* Which of the usual mistakes it was. */
static bool is_recognized(finding *found)
{
    const yaml_parser_t *p = found->fault->parser;
    const char *problem = p->problem, *context = p->context ? p->context : "";
    if (is_indented_by_tab(found)) return true;
    if (!strcmp(problem, "could not find expected ':'")) return is_colon_missing(found);
    if (!strcmp(problem, "mapping values are not allowed in this context")) return is_colon_astray(found);
    if (!strcmp(problem, "did not find expected key")) return is_name_missing(found);
    if (!strcmp(problem, "did not find expected ',' or ']'")) return is_bracket_open(found, ']');
    if (!strcmp(problem, "did not find expected ',' or '}'")) return is_bracket_open(found, '}');
    if (!strcmp(problem, "found character that cannot start any token")) return is_character_wrong(found);
    if (!strcmp(problem, "block sequence entries are not allowed in this context"))
        return say(found, p->problem_mark,
                   "a dash with a space behind it begins an entry of a list; a negative number has no space");
    if (!strcmp(problem, "found unknown escape character"))
        return say(found, p->problem_mark,
                   "a backslash has a meaning between double quotes; use single ones around this text");
    return !strcmp(problem, "found unexpected end of stream") && strstr(context, "quoted scalar") &&
           say(found, p->context_mark, "this quote is never closed; put the same at the end of the text");
}

/* The parser's own words. */
static void say_plainly(finding *found)
{
    const yaml_parser_t *p = found->fault->parser;
    const char *problem = p->problem ? p->problem : "unreadable", *context = p->context ? p->context : "";
    found->at = p->problem_mark;
    if (p->context && p->context_mark.line != p->problem_mark.line)
        snprintf(found->sentence, found->size, "not YAML: %s %s that began at line %zu", problem, context,
                 p->context_mark.line + 1);
    else
        snprintf(found->sentence, found->size, "not YAML: %s%s%s", problem, *context ? " " : "", context);
}

void document_fault_tell(const document_fault *fault, hl_place *place, char *sentence, size_t size)
{
    finding found = {.fault = fault, .sentence = sentence, .size = size};
    if (!fault->parser->problem || !is_recognized(&found)) say_plainly(&found);
    place->line = (int)found.at.line + 1;
    place->column = (int)found.at.column + 1;
}
