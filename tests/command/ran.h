/* Calls the command line in this process and keeps what it said. */
#ifndef WETSIDE_TESTS_COMMAND_RAN_H
#define WETSIDE_TESTS_COMMAND_RAN_H

#include <stdio.h>

#include <jansson.h>

#include "wetside/calc/status.h"

/* What one call gave. Freed by ran_free. */
struct ran {
    int status;
    char *out, *err;
};

/* Runs `wetside WORD ...`; the words end with a null. */
struct ran ran_words(const char *const *word);
#define ran(...) ran_words((const char *const[]){ __VA_ARGS__, NULL })
/* The same with an output of the test's own; `out` of the ran is left alone. */
void ran_to(struct ran *ran, FILE *out, const char *const *word);
void ran_free(struct ran *ran);

/* Fails the test unless the status is 0 and `out` is one JSON document; frees the call. */
json_t *ran_json_words(const char *const *word);
#define ran_json(...) ran_json_words((const char *const[]){ __VA_ARGS__, NULL })

/* Fails the test unless the call ends in `status` with nothing on `out` and exactly one line on
 * `err` that begins `wetside: ` and holds every one of the texts `part` (ends with a null). */
void ran_refused_words(int status, const char *const *word, const char *const *part);
#define WORDS(...)                      ((const char *const[]){ __VA_ARGS__, NULL })
#define ran_refused(status, words, ...) ran_refused_words(status, words, WORDS(__VA_ARGS__))

/* A folder of this test's own, made when first asked for; and a path in it. The texts live until
 * the next call but seven. ran_folder_remove takes it away with all that is in it. */
const char *ran_folder(void);
const char *ran_path(const char *name);
void ran_folder_remove(void);
/* Writes a file in the folder and gives its path. */
const char *ran_write(const char *name, const char *text);

#endif
