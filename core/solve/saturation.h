/* saturation.h - is a core beyond saturation, at a point that has no solution? */
#ifndef HEATLEDGER_SATURATION_H
#define HEATLEDGER_SATURATION_H

#include "solve/workspace.h"

/* "; flyback.transformer is beyond saturation (peak flux density 3.5 T, 0.32 T at most), ...", of the core
 * furthest beyond by the waves of the last walk; "" when none is. */
void saturation_text(const hl_workspace *work, char text[], size_t size);

#endif
