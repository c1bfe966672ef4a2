/* settings.h - filling the array of settings while a design is built. */
#ifndef HEATLEDGER_SETTINGS_H
#define HEATLEDGER_SETTINGS_H

#include "design/design.h"

extern const hl_parameter setting_ambient, setting_altitude, setting_voltage, setting_frequency, setting_load,
    setting_port_voltage, setting_port_current;

/* Append one setting (room was counted before); returns its index. */
size_t settings_add(hl_design *design, const char *name, const hl_parameter *parameter, double value);

/* Append one setting for each number and choice of a stage or part: "owner.parameter", and one for
 * each curve and list with a band: "owner.parameter.scale".  `part` names the
 * part, NULL for a stage. */
bool settings_add_set(hl_design *design, const char *owner, const char *part, value_set *set);

/* The settings of an item: its part, where there is a choice, then the figures of the first part. */
bool settings_add_item(hl_design *design, design_item *item);

/* Append the setting of a figure any part may state, with its band; *index gets its place. */
bool settings_add_common(hl_design *design, const design_item *item, enum hl_common which, size_t *index);

#endif
