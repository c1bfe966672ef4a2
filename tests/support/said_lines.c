#include "said_lines.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A number begins here: not inside a word such as x0, with its sign if it has one. */
static bool number_begins(const char *text, const char *start)
{
    if (text > start && (isalnum((unsigned char)text[-1]) || text[-1] == '_' || text[-1] == '.'))
        return false;
    const char *digit = text + (*text == '+' || *text == '-');
    return isdigit((unsigned char)*digit) || (*digit == '.' && isdigit((unsigned char)digit[1]));
}

/* One unit of the last place printed: 0.01 for 12.34, 0.1e-9 for 1.2e-9. */
static double last_place(const char *text, const char *end)
{
    int places = 0;
    bool after_point = false;
    for (; text < end && *text != 'e' && *text != 'E'; text++) {
        places += after_point;
        after_point |= *text == '.';
    }
    int exponent = text < end ? atoi(text + 1) : 0;
    return pow(10, exponent - places);
}

static bool near_number(const char *wanted, const char *wanted_end, double a, double b)
{
    double room = fmax(1e-6, fmax(0.005 * fabs(a), 1.5 * last_place(wanted, wanted_end)));
    return fabs(a - b) <= room;
}

/* Walk both texts; true when `line` is used up. */
static bool matches(const char *line, const char *said, bool near_numbers, const char **end)
{
    const char *line_start = line, *said_start = said;
    while (*line) {
        if (*line == ' ') {
            if (*said != ' ') return false;
            while (*line == ' ') line++;
            while (*said == ' ') said++;
        } else if (number_begins(line, line_start) && number_begins(said, said_start)) {
            char *line_end, *said_end;
            double a = strtod(line, &line_end), b = strtod(said, &said_end);
            if (near_numbers && !near_number(line, line_end, a, b)) return false;
            line = line_end;
            said = said_end;
        } else if (*line++ != *said++) {
            return false;
        }
    }
    *end = said;
    return true;
}

bool said_find(const char *from, const char *line, bool near_numbers, said_place *found)
{
    for (const char *at = from; *at; at++) {
        if (*line == ' ' && at > from && at[-1] != '\n') continue; /* an indented line begins a line */
        if (isdigit((unsigned char)*at) && at > from && !number_begins(at, from)) continue;
        if (!matches(line, at, near_numbers, &found->end)) continue;
        if (isdigit((unsigned char)*found->end) && isdigit((unsigned char)found->end[-1])) continue;
        found->begin = at;
        return true;
    }
    return false;
}
