/* plotter.h - gnuplot as a filter: commands in, SVG out. */
#ifndef HEATLEDGER_PLOTTER_H
#define HEATLEDGER_PLOTTER_H

#include <stdbool.h>
#include <stddef.h>

/* Run gnuplot on `commands`.  *svg (free it) and *length: what it drew.  false: `why` says what went wrong.
 */
bool plotter_draw(const char *commands, size_t commands_length, char **svg, size_t *length, char *why,
                  size_t size);

#endif
