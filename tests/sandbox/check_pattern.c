/* check_pattern.c - the counted pattern functions answer as the stock ones do: the same results and the same
 * refusals, over written cases and many made up from the pieces that patterns consist of. */
#include <lauxlib.h>
#include <lualib.h>
#include <string.h>

#include "heatledger/spread.h"
#include "lua/sandbox.h"
#include "story.h"

/* Everything that four functions say about a text and a pattern, as one string; the same chunk runs in both
 * states. */
static const char ask[] = "local text, pattern, with, init = ...\n"
                          "local out = {}\n"
                          "local function say(...)\n"
                          "  local t = table.pack(...)\n"
                          "  for i = 1, t.n do t[i] = tostring(t[i]):gsub('^[^:]*:%d+: ', '') end\n"
                          "  out[#out + 1] = table.concat(t, ',', 1, t.n)\n"
                          "end\n"
                          "say(pcall(string.find, text, pattern, init))\n"
                          "say(pcall(string.find, text, pattern, init, true))\n"
                          "say(pcall(string.match, text, pattern, init))\n"
                          "say(pcall(string.gsub, text, pattern, with))\n"
                          "say(pcall(string.gsub, text, pattern, with, 2))\n"
                          "say(pcall(string.gsub, text, pattern, { a = 'A', b = 7, c = false }))\n"
                          "say(pcall(string.gsub, text, pattern, function(x, y) return y or x end))\n"
                          "say(pcall(function()\n"
                          "  for a, b in string.gmatch(text, pattern, init) do say(a, b) end\n"
                          "end))\n"
                          "return table.concat(out, '|')\n";

typedef struct pair {
    lua_State *stock;
    sandbox *box;
} pair;

static pair open_pair(void)
{
    static const sandbox_limits limits = {(size_t)64 << 20, 2000000000, 0};
    pair p = {luaL_newstate(), sandbox_create(&limits, false, HL_TEST_BUILD "/lib/heatledger/lua")};
    ck_assert(p.stock && p.box);
    luaL_openlibs(p.stock);
    ck_assert_int_eq(luaL_loadstring(p.stock, ask), LUA_OK);
    ck_assert_int_eq(luaL_loadstring(sandbox_state(p.box), ask), LUA_OK);
    return p;
}

static void close_pair(pair *p)
{
    lua_close(p->stock);
    sandbox_destroy(p->box);
}

static const char *answer(lua_State *L, const char *text, size_t length, const char *pattern, size_t n,
                          const char *with, int init)
{
    lua_settop(L, 1);
    lua_pushvalue(L, 1);
    lua_pushlstring(L, text, length);
    lua_pushlstring(L, pattern, n);
    lua_pushstring(L, with);
    lua_pushinteger(L, init);
    if (lua_pcall(L, 4, 1, 0) != LUA_OK) ck_abort_msg("%s", lua_tostring(L, -1));
    return lua_tostring(L, -1);
}

static void same(pair *p, const char *text, size_t length, const char *pattern, size_t n, const char *with,
                 int init)
{
    const char *a = answer(p->stock, text, length, pattern, n, with, init),
               *b = answer(sandbox_state(p->box), text, length, pattern, n, with, init);
    ck_assert_msg(!strcmp(a, b), "text '%s' pattern '%s' with '%s' from %d:\nstock   %s\ncounted %s", text,
                  pattern, with, init, a, b);
}

static const char *const written[][3] = {
    {"key = value", "^(%w+)%s*=%s*(%w+)$", "%2=%1"},
    {"THE (quick) fox", "%f[%a]%a+%f[%A]", "<%0>"},
    {"f(a(b)c)d)", "%b()", "[%0]"},
    {"hello", "", "-"},
    {"hello", "()ll()", "%1%2"},
    {"abab", "(a)(b)%1%2", "%%"},
    {"x^2", "^2", "3"},
    {"x^2", "%^2", "3"},
    {"a]b-c", "[]%-]", "%0%0"},
    {"a.b.c", ".", "%1"},
    {"line\nline", "[^\n]+$", "%9"},
    {"aaa", "a-$", "b"},
    {"aaa", "a?a?a?a?$", "%"},
    {"", ".*", "x"},
    {"abc", "[a-", "x"},
    {"abc", "%", "x"},
    {"abc", "(a", "x"},
    {"abc", "a)", "x"},
    {"abc", "%1", "x"},
    {"abc", "%b", "x"},
    {"abc", "%f", "x"},
    {"abc", "[%a-z]", "x"},
    {"a-z", "[a%-z]+", "x"},
    {"\xc3\xa9t\xc3\xa9", "[\x80-\xff]+", "e"},
};

START_TEST(written_cases_agree_with_the_stock_library)
{
    pair p = open_pair();
    for (size_t i = 0; i < sizeof written / sizeof *written; i++)
        for (int init = -12; init <= 12; init += 3)
            same(&p, written[i][0], strlen(written[i][0]), written[i][1], strlen(written[i][1]),
                 written[i][2], init);
    close_pair(&p);
}
END_TEST

START_TEST(made_up_cases_agree_with_the_stock_library)
{
    static const char *const pieces[] = {"a",   "b",  ".",  "%a", "%d",    "[ab]", "[^a]", "(",
                                         ")",   "()", "*",  "+",  "-",     "?",    "%b()", "%f[",
                                         "%1",  "$",  "^",  "%",  "[",     "]",    "a*",   "b-",
                                         "(a)", "%s", "%W", "%%", "[a-c]", "c",    "(.-)", "%f[%w]"};
    enum { PIECES = sizeof pieces / sizeof *pieces };
    const char *again = getenv("HEATLEDGER_SEED");
    uint64_t seed = again ? strtoull(again, NULL, 10) : 20240611;
    size_t cases = getenv("HEATLEDGER_LONG") ? 1000000 : STORY_DRAWS(20000);
    pair p = open_pair();
    for (size_t i = 0; i < cases; i++) {
        char text[40], pattern[80] = "", with[12];
        size_t length = hl_chance_bits(seed, 1, i) % 14, n = hl_chance_bits(seed, 2, i) % 7;
        for (size_t k = 0; k < length; k++) text[k] = "aabbc()1 %\0.-"[hl_chance_bits(seed, 3 + k, i) % 13];
        text[length] = '\0';
        for (size_t k = 0; k < n; k++) strcat(pattern, pieces[hl_chance_bits(seed, 20 + k, i) % PIECES]);
        snprintf(with, sizeof with, "%s%d", i % 3 ? "<%" : "x", (int)(hl_chance_bits(seed, 40, i) % 4));
        int init = (int)(hl_chance_bits(seed, 41, i) % 9) - 4;
        same(&p, text, length, pattern, strlen(pattern), with, init);
    }
    close_pair(&p);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, written_cases_agree_with_the_stock_library);
    tcase_add_test(tests, made_up_cases_agree_with_the_stock_library);
}

int main(void)
{
    return story_main("pattern", fill);
}
