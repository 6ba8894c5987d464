/* The command line: reads the words, finds the verb, carries its line and its status out.
 *
 * `wetside [--book FILE] [--json] VERB ...`; without a verb the console opens. Exit status: 0 done,
 * 1 could not, 2 wrong usage or wrong input; the console's own when a signal ended it (128 + n).
 * One line on `err` for a failure: `wetside: what, where, what would be right`. */
#ifndef WETSIDE_COMMAND_COMMAND_H
#define WETSIDE_COMMAND_COMMAND_H

#include <stdbool.h>
#include <stdio.h>

#include "wetside/calc/status.h"
#include "wetside/calc/units.h"

/* What lies beside the command layer and is handed in from above. */
struct ws_command_hooks {
    /* Opens the console on the book; returns the exit status. On a status other than 0 `why` may
     * hold the line for the person. Null: there is no console (tests). */
    int (*console)(const char *book_path, bool demo, struct ws_message *why);
    /* Shows the open runs of the book, and writes nothing; likewise. */
    int (*watch)(const char *book_path, enum ws_scale scale, struct ws_message *why);
};

/* Does what argv says (argv[0] is the program's name). Texts of the book and of files reach `out`
 * and `err` only made visible. Returns the exit status. May be called again in one process, by one
 * thread at a time: getopt_long keeps its place in globals. */
int ws_command_main(int argc, char **argv, FILE *out, FILE *err,
                    const struct ws_command_hooks *hooks);

#endif
