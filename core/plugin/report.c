/* report.c - one complaint about a plugin. */
#include "plugin/report.h"

#include <stdarg.h>
#include <stdio.h>

bool complain(report *r, const char *format, ...)
{
    char text[2048]; /* two long paths fit; a longer text is cut */
    va_list arguments;
    va_start(arguments, format);
    // NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized): begun in the line before
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    r->count++;
    hl_diagnostics_add(r->diagnostics, r->severity, &r->place, "%s", text);
    return false;
}
