/* pattern.c - Lua's patterns, matched step by step against the sandbox's budget.
 *
 * The stock functions match inside one C call, where no hook counts: ("a"):rep(1e5):find((".-"):rep(20) ..
 * "b") would never come back.  Written anew after the Lua 5.4 Reference Manual, 6.4.1 (R. Ierusalimschy, L.
 * H. de Figueiredo, W. Celes), and compared with the stock functions in tests/sandbox/check_pattern.c. */
#define _GNU_SOURCE /* memmem */
#include "lua/pattern.h"

#include <ctype.h>
#include <lauxlib.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include "lua/sandbox.h"

enum { CAPTURES_MAX = 32, DEPTH_MAX = 200, SPEND_EVERY = 1000 };
enum { OPEN = -1, POSITION = -2 }; /* lengths of captures that have none */

typedef struct matcher {
    lua_State *L;
    const char *text, *text_end, *pattern_end;
    int depth, steps, n;
    struct {
        const char *start;
        ptrdiff_t length;
    } capture[CAPTURES_MAX];
} matcher;

static const char *match(matcher *m, const char *s, const char *p);

static void step(matcher *m)
{
    if (++m->steps < SPEND_EVERY) return;
    sandbox_spend(m->L, m->steps);
    m->steps = 0;
}

/* ------------------------------------------------------- one character -- */

static bool in_class(int c, int class)
{
    bool in;
    switch (tolower(class)) {
    case 'a':
        in = isalpha(c);
        break;
    case 'c':
        in = iscntrl(c);
        break;
    case 'd':
        in = isdigit(c);
        break;
    case 'g':
        in = isgraph(c);
        break;
    case 'l':
        in = islower(c);
        break;
    case 'p':
        in = ispunct(c);
        break;
    case 's':
        in = isspace(c);
        break;
    case 'u':
        in = isupper(c);
        break;
    case 'w':
        in = isalnum(c);
        break;
    case 'x':
        in = isxdigit(c);
        break;
    default:
        return class == c;
    }
    return isupper(class) ? !in : in;
}

/* [set]: p at '[', last at ']' */
static bool in_set(int c, const char *p, const char *last)
{
    bool wanted = true;
    if (p[1] == '^') {
        wanted = false;
        p++;
    }
    while (++p < last) {
        if (*p == '%') {
            p++;
            if (in_class(c, (unsigned char)*p)) return wanted;
        } else if (p[1] == '-' && p + 2 < last) {
            p += 2;
            if ((unsigned char)p[-2] <= c && c <= (unsigned char)*p) return wanted;
        } else if ((unsigned char)*p == c)
            return wanted;
    }
    return !wanted;
}

/* Behind the single-character item at p. */
static const char *item_end(matcher *m, const char *p)
{
    char first = *p++;
    if (first == '%') {
        if (p == m->pattern_end) luaL_error(m->L, "malformed pattern (ends with '%%')");
        return p + 1;
    }
    if (first != '[') return p;
    if (*p == '^') p++;
    do {
        if (p == m->pattern_end) luaL_error(m->L, "malformed pattern (missing ']')");
        if (*p++ == '%' && p < m->pattern_end) p++;
    } while (*p != ']');
    return p + 1;
}

static bool fits(matcher *m, const char *s, const char *p, const char *end)
{
    step(m);
    if (s >= m->text_end) return false;
    int c = (unsigned char)*s;
    switch (*p) {
    case '.':
        return true;
    case '%':
        return in_class(c, (unsigned char)p[1]);
    case '[':
        m->steps += (int)((end - p) / 16 < SPEND_EVERY ? (end - p) / 16 : SPEND_EVERY);
        return in_set(c, p, end - 1);
    default:
        return (unsigned char)*p == c;
    }
}

/* -------------------------------------------------------- longer items -- */

static const char *longest(matcher *m, const char *s, const char *p, const char *end)
{
    ptrdiff_t n = 0;
    while (fits(m, s + n, p, end)) n++;
    for (; n >= 0; n--) {
        const char *found = match(m, s + n, end + 1);
        if (found) return found;
    }
    return NULL;
}

static const char *shortest(matcher *m, const char *s, const char *p, const char *end)
{
    for (;; s++) {
        const char *found = match(m, s, end + 1);
        if (found || !fits(m, s, p, end)) return found;
    }
}

static const char *balanced(matcher *m, const char *s, const char *p)
{
    if (p + 1 >= m->pattern_end) luaL_error(m->L, "malformed pattern (missing arguments to '%%b')");
    if (s >= m->text_end || *s != p[0]) return NULL;
    long depth = 1;
    for (s++; s < m->text_end; s++) {
        step(m);
        if (*s == p[1]) {
            if (--depth == 0) return s + 1;
        } else if (*s == p[0])
            depth++;
    }
    return NULL;
}

static const char *open_capture(matcher *m, const char *s, const char *p, ptrdiff_t length)
{
    if (m->n >= CAPTURES_MAX) luaL_error(m->L, "too many captures");
    m->capture[m->n].start = s;
    m->capture[m->n++].length = length;
    const char *found = match(m, s, p);
    if (!found) m->n--;
    return found;
}

static const char *close_capture(matcher *m, const char *s, const char *p)
{
    int last = m->n - 1;
    while (last >= 0 && m->capture[last].length != OPEN) last--;
    if (last < 0) luaL_error(m->L, "invalid pattern capture");
    m->capture[last].length = s - m->capture[last].start;
    const char *found = match(m, s, p);
    if (!found) m->capture[last].length = OPEN;
    return found;
}

/* %1 .. %9: the same text again. */
static const char *again(matcher *m, const char *s, int digit)
{
    int k = digit - '1';
    if (k < 0 || k >= m->n || m->capture[k].length == OPEN)
        luaL_error(m->L, "invalid capture index %%%d", k + 1);
    ptrdiff_t length = m->capture[k].length;
    if (length < 0) return NULL; /* a position has no text */
    sandbox_spend(m->L, length / 64);
    // NOLINTNEXTLINE(clang-analyzer-core.NonNullParamChecker): a capture begins in the text
    bool same = m->text_end - s >= length && memcmp(m->capture[k].start, s, (size_t)length) == 0;
    return same ? s + length : NULL;
}

/* %f[set]: from outside the set to inside; the ends count as '\0' */
static bool frontier(matcher *m, const char *s, const char *p, const char *end)
{
    int before = s == m->text ? 0 : (unsigned char)s[-1];
    int here = s == m->text_end ? 0 : (unsigned char)*s;
    (void)m;
    return !in_set(before, p, end - 1) && in_set(here, p, end - 1);
}

/* Where the match of pattern p at s ends; NULL: none. */
static const char *match_on(matcher *m, const char *s, const char *p)
{
    while (p != m->pattern_end) {
        step(m);
        if (*p == '(')
            return p[1] == ')' ? open_capture(m, s, p + 2, POSITION) : open_capture(m, s, p + 1, OPEN);
        if (*p == ')') return close_capture(m, s, p + 1);
        if (*p == '$' && p + 1 == m->pattern_end) return s == m->text_end ? s : NULL;
        if (*p == '%' && p[1] == 'b') {
            s = balanced(m, s, p + 2);
            if (!s) return NULL;
            p += 4;
            continue;
        }
        if (*p == '%' && p[1] == 'f') {
            p += 2;
            if (*p != '[') luaL_error(m->L, "missing '[' after '%%f' in pattern");
            const char *end = item_end(m, p);
            if (!frontier(m, s, p, end)) return NULL;
            p = end;
            continue;
        }
        if (*p == '%' && isdigit((unsigned char)p[1])) {
            s = again(m, s, (unsigned char)p[1]);
            if (!s) return NULL;
            p += 2;
            continue;
        }
        const char *end = item_end(m, p);
        char suffix = end < m->pattern_end ? *end : '\0';
        if (suffix == '*') return longest(m, s, p, end);
        if (suffix == '+') return fits(m, s, p, end) ? longest(m, s + 1, p, end) : NULL;
        if (suffix == '-') return shortest(m, s, p, end);
        if (suffix == '?') {
            if (fits(m, s, p, end)) {
                const char *found = match(m, s + 1, end + 1);
                if (found) return found;
            }
            p = end + 1;
            continue;
        }
        if (!fits(m, s, p, end)) return NULL;
        s++;
        p = end;
    }
    return s;
}

static const char *match(matcher *m, const char *s, const char *p)
{
    if (++m->depth > DEPTH_MAX) luaL_error(m->L, "pattern too complex");
    const char *found = match_on(m, s, p);
    m->depth--;
    return found;
}

/* ------------------------------------------------------------ captures -- */

static void push_capture(matcher *m, int k, const char *s, const char *e)
{
    if (k >= m->n) {
        if (k != 0) luaL_error(m->L, "invalid capture index %%%d", k + 1);
        lua_pushlstring(m->L, s, (size_t)(e - s));
    } else if (m->capture[k].length == OPEN)
        luaL_error(m->L, "unfinished capture");
    else if (m->capture[k].length == POSITION)
        lua_pushinteger(m->L, m->capture[k].start - m->text + 1);
    else
        lua_pushlstring(m->L, m->capture[k].start, (size_t)m->capture[k].length);
}

static int push_captures(matcher *m, const char *s, const char *e)
{
    int n = m->n == 0 && s ? 1 : m->n;
    luaL_checkstack(m->L, n, "too many captures");
    for (int k = 0; k < n; k++) push_capture(m, k, s, e);
    return n;
}

static const char *try_at(matcher *m, const char *s, const char *p)
{
    m->n = 0;
    m->depth = 0;
    step(m);
    return match(m, s, p);
}

static matcher begin(lua_State *L, const char *text, size_t length, const char *pattern, size_t n)
{
    return (matcher){.L = L, .text = text, .text_end = text + length, .pattern_end = pattern + n};
}

/* Characters before the place that argument `index` names; past the end: length + 1. */
static size_t start_of(lua_State *L, int index, size_t length)
{
    lua_Integer at = luaL_optinteger(L, index, 1);
    if (at > 0) return (lua_Unsigned)at - 1 > length ? length + 1 : (size_t)at - 1;
    if (at == 0 || at < -(lua_Integer)length) return 0;
    return length - (size_t)-at;
}

/* ----------------------------------------------------------- functions -- */

static bool is_plain(const char *pattern, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if (pattern[i] && strchr("^$*+?.([%-", pattern[i])) return false;
    return true;
}

static int find_plain(lua_State *L, const char *text, size_t length, size_t from, const char *what, size_t n)
{
    sandbox_spend(L, (long long)((length - from + n) / 64));
    const char *found = memmem(text + from, length - from, what, n); /* two-way: linear */
    if (!found) {
        lua_pushnil(L);
        return 1;
    }
    lua_pushinteger(L, found - text + 1);
    lua_pushinteger(L, (lua_Integer)(found - text) + (lua_Integer)n);
    return 2;
}

static int find_or_match(lua_State *L, bool find)
{
    size_t length, n;
    const char *text = luaL_checklstring(L, 1, &length), *p = luaL_checklstring(L, 2, &n);
    size_t from = start_of(L, 3, length);
    if (from > length) {
        lua_pushnil(L);
        return 1;
    }
    if (find && (lua_toboolean(L, 4) || is_plain(p, n))) return find_plain(L, text, length, from, p, n);
    matcher m = begin(L, text, length, p, n);
    bool anchored = *p == '^';
    if (anchored) p++;
    for (const char *s = text + from;; s++) {
        const char *e = try_at(&m, s, p);
        if (e && !find) return push_captures(&m, s, e);
        if (e) {
            lua_pushinteger(L, s - text + 1);
            lua_pushinteger(L, e - text);
            return push_captures(&m, NULL, NULL) + 2;
        }
        if (anchored || s >= m.text_end) break;
    }
    lua_pushnil(L);
    return 1;
}

static int find(lua_State *L)
{
    return find_or_match(L, true);
}

static int match_text(lua_State *L)
{
    return find_or_match(L, false);
}

/* Upvalues: text, pattern, where to go on, end of the last match (-1: none yet). */
static int next_match(lua_State *L)
{
    size_t length, n;
    const char *text = lua_tolstring(L, lua_upvalueindex(1), &length);
    const char *p = lua_tolstring(L, lua_upvalueindex(2), &n);
    lua_Integer from = lua_tointeger(L, lua_upvalueindex(3)), last = lua_tointeger(L, lua_upvalueindex(4));
    matcher m = begin(L, text, length, p, n);
    for (; from <= (lua_Integer)length; from++) {
        const char *e = try_at(&m, text + from, p);
        if (!e || e - text == last) continue;
        lua_pushinteger(L, e - text);
        lua_copy(L, -1, lua_upvalueindex(3));
        lua_replace(L, lua_upvalueindex(4));
        return push_captures(&m, text + from, e);
    }
    lua_pushinteger(L, from);
    lua_replace(L, lua_upvalueindex(3));
    return 0;
}

static int gmatch(lua_State *L)
{
    size_t length;
    luaL_checklstring(L, 1, &length);
    luaL_checkstring(L, 2);
    size_t from = start_of(L, 3, length);
    lua_settop(L, 2);
    lua_pushinteger(L, (lua_Integer)from);
    lua_pushinteger(L, -1);
    lua_pushcclosure(L, next_match, 4);
    return 1;
}

/* The replacement text with its %0 .. %9 filled in. */
static void add_filled(matcher *m, luaL_Buffer *b, const char *s, const char *e, const char *with, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (with[i] != '%') {
            luaL_addchar(b, with[i]);
            continue;
        }
        i++;
        if (i < n && with[i] == '%')
            luaL_addchar(b, '%');
        else if (i < n && with[i] == '0')
            luaL_addlstring(b, s, (size_t)(e - s));
        else if (i < n && isdigit((unsigned char)with[i])) {
            push_capture(m, with[i] - '1', s, e);
            luaL_tolstring(m->L, -1, NULL); /* a position is a number */
            lua_remove(m->L, -2);
            luaL_addvalue(b);
        } else
            luaL_error(m->L, "invalid use of '%%' in replacement string");
    }
    sandbox_spend(m->L, (long long)(n / 8));
}

/* By table or function: false and nil keep what was matched. */
static void add_asked(matcher *m, luaL_Buffer *b, const char *s, const char *e)
{
    if (lua_istable(m->L, 3)) {
        push_capture(m, 0, s, e);
        lua_gettable(m->L, 3);
    } else {
        lua_pushvalue(m->L, 3);
        lua_call(m->L, push_captures(m, s, e), 1);
    }
    if (!lua_toboolean(m->L, -1)) {
        lua_pop(m->L, 1);
        luaL_addlstring(b, s, (size_t)(e - s));
        return;
    }
    if (!lua_isstring(m->L, -1))
        luaL_error(m->L, "invalid replacement value (a %s)", luaL_typename(m->L, -1));
    luaL_addvalue(b);
}

static int gsub(lua_State *L)
{
    size_t length, n, with_length = 0;
    const char *text = luaL_checklstring(L, 1, &length), *p = luaL_checklstring(L, 2, &n), *last = NULL;
    int kind = lua_type(L, 3);
    luaL_argexpected(
        L, kind == LUA_TNUMBER || kind == LUA_TSTRING || kind == LUA_TFUNCTION || kind == LUA_TTABLE, 3,
        "string/function/table");
    const char *with = kind == LUA_TNUMBER || kind == LUA_TSTRING ? lua_tolstring(L, 3, &with_length) : NULL;
    lua_Integer most = luaL_optinteger(L, 4, (lua_Integer)length + 1), done = 0;
    matcher m = begin(L, text, length, p, n);
    bool anchored = *p == '^';
    if (anchored) p++;
    const char *s = text;
    luaL_Buffer b;
    luaL_buffinit(L, &b);
    while (done < most) {
        const char *e = try_at(&m, s, p);
        if (e && e != last) {
            done++;
            if (with)
                add_filled(&m, &b, s, e, with, with_length);
            else
                add_asked(&m, &b, s, e);
            s = last = e;
        } else if (s < m.text_end)
            // NOLINTNEXTLINE(clang-analyzer-core.NullDereference): luaL_checklstring gave a text
            luaL_addchar(&b, *s++);
        else
            break;
        if (anchored) break;
    }
    luaL_addlstring(&b, s, (size_t)(m.text_end - s));
    luaL_pushresult(&b);
    lua_pushinteger(L, done);
    return 2;
}

void pattern_open(lua_State *L)
{
    static const luaL_Reg functions[] = {
        {"find", find}, {"match", match_text}, {"gmatch", gmatch}, {"gsub", gsub}, {NULL, NULL}};
    luaL_setfuncs(L, functions, 0);
}
