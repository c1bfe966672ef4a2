/* options.h - reading a command's options: those that all commands share, and its own. */
#ifndef HEATLEDGER_OPTIONS_H
#define HEATLEDGER_OPTIONS_H

#include "cli/session.h"

/* Lines of the help of every command that takes a script. */
#define OPTION_HELP_SCRIPT                                                                                   \
    "  --bands END        low, typical or high: every value with a band at that end, --set after\n"          \
    "  --network KIND     rule: quick, one temperature a face; field: the heat field of the box, with\n"     \
    "                     hot spots; without it as the script says\n"                                        \
    "  --plugins PATH     load a plugin file, or every plugin of a folder; may be repeated\n"                \
    "  --trust            let the script read files and run programs\n"

enum { OPTION_LIST_MAX = 64 };

/* What the user gave for an option that may be repeated, or the words after the script. */
typedef struct option_list {
    const char *text[OPTION_LIST_MAX];
    size_t n;
} option_list;

typedef enum own_kind {
    OWN_FLAG, /* --name           target: bool * */
    OWN_TEXT, /* --name VALUE     target: const char **, the last one counts */
    OWN_LIST, /* --name VALUE     target: option_list *, each one is kept */
    OWN_REST, /* words after the first; no name; target: option_list * */
} own_kind;

typedef struct own_option {
    const char *name;
    own_kind kind;
    void *target;
} own_option;

/* Read --set, --bands, --network, --plugins, --quiet and --trust, the command's own options (ended by an
 * entry without target), and one script.  false: the reason is on stderr. */
bool options_read(const char *command, int argc, char **argv, session_options *shared,
                  const own_option own[]);

/* The same for a command that reads no script: its words go to OWN_REST; --set and --trust are not taken,
 * nor is --plugins when shared is NULL. */
bool options_read_words(const char *command, int argc, char **argv, session_options *shared,
                        const own_option own[]);

#endif
