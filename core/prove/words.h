/* words.h - inputs of a call in words with units, so that a failure can be repeated by hand. */
#ifndef HEATLEDGER_WORDS_H
#define HEATLEDGER_WORDS_H

#include "prove/trial.h"

/* Everything that `now` gives; cut at size. */
void words_of(const hl_model *model, const given *now, char *text, size_t size);

#endif
