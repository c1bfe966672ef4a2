/* manual_page.h - a man page made of a command's own help. */
#ifndef HEATLEDGER_MANUAL_PAGE_H
#define HEATLEDGER_MANUAL_PAGE_H

#include <stdbool.h>
#include <stdio.h>

#include "cli/command.h"

/* The page of one command, or with NULL that of heatledger itself. */
void manual_page(FILE *to, const command *of);
/* Completion for a shell by name; false: it is not known. */
bool shell_completion(FILE *to, const char *shell);

#endif
