/* example_run.h - solve an example through the command and read figures out of its JSON.
 * Whatever is missing fails the running test. */
#ifndef EXAMPLE_RUN_H
#define EXAMPLE_RUN_H

#include <jansson.h>

/* `script` is relative to the project's folder.  The caller decrefs the document. */
json_t *example_solve(const char *script, const char *voltage, const char *load, const char *ambient);

/* root.group.name as a number, such as power.input_w. */
double example_figure(const json_t *root, const char *group, const char *name);
/* A named quantity of a stage. */
double example_quantity(const json_t *root, const char *stage, const char *name);
/* Share of a limit that a part uses. */
double example_used(const json_t *root, const char *stage, const char *slot, const char *limit);
/* Sum of a number over the members of an array, such as ledger, loss_w. */
double example_sum(const json_t *root, const char *list, const char *name);

/* The bars of both books, 1e-9 of the input power, and output + losses = input. */
void example_books_close(const json_t *root);
/* Every part hotter in each solution than in the one before: at 0, 25 and 40 degC. */
void example_warms_with_ambient(const char *script, const char *voltage, const char *load);

#endif
