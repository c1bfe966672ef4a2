/* field_box.h - is the description of a box one of a box? */
#ifndef HEATLEDGER_THERMAL_FIELD_BOX_H
#define HEATLEDGER_THERMAL_FIELD_BOX_H

#include "heatledger/field.h"

/* False: diagnostics say what and where. */
bool field_box_is_sound(const hl_field_box *box, hl_diagnostics *diagnostics);

#endif
