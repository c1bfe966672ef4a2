/* part_text.h - a part as a row of a list, in full, as rows of a table, and as JSON. */
#ifndef HEATLEDGER_PART_TEXT_H
#define HEATLEDGER_PART_TEXT_H

#include <jansson.h>

#include "heatledger/catalogue.h"

/* A list by family, within 80 columns: the figures one chooses such parts by. */
void part_print_heading(hl_family family);
void part_print_row(const hl_part *part);
/* All that is known: value, origin, band, usual range; what is not stated is named at the end. */
void part_print(const hl_part *part);
/* Comma-separated: part,model,value,number,low,high,unit,origin; a curve or list has a row for each point. */
void part_print_csv_heading(void);
void part_print_csv(const hl_part *part);
/* All values, numbers in SI. */
json_t *part_json(const hl_part *part);

#endif
