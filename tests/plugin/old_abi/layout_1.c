/* layout_1.c - the layout of the frozen header. */
#include "plugin_1.h"

#include "layout.h"

const layout_row layout_1[] = {LAYOUT_ROWS{NULL, 0, false}};
