/* last_words.h - when a plugin crashes or never comes back, stderr says which one and in which part. */
#ifndef HEATLEDGER_LAST_WORDS_H
#define HEATLEDGER_LAST_WORDS_H

/* Once, before a command runs.  The signal that ends the program stays what it was. */
void last_words_prepare(void);

#endif
