/* The options of a verb as a table: each with its reader and the place its value goes to.
 *
 * An option with a value may be given once: of two values one would be dropped in silence. Only one
 * that is marked `repeats` is read as often as it stands there. */
#ifndef WETSIDE_COMMAND_OPTION_H
#define WETSIDE_COMMAND_OPTION_H

#include <stdbool.h>
#include <stddef.h>

#include "wetside/calc/status.h"
#include "wetside/calc/units.h"

struct ws_call;
struct ws_option;

/* Reads `text` into option->to. Anything but WS_OK comes with a line that begins with the option's
 * name. */
typedef enum ws_status ws_option_reader(const struct ws_option *option, const char *text,
                                        struct ws_message *why);

struct ws_option {
    const char *name;       /* without its dashes; null ends the table */
    ws_option_reader *read; /* null: it takes no value, and sets a bool */
    void *to;               /* as the reader says */
    size_t size;            /* of the room at `to`, where that is text */
    double least, most;     /* of ws_option_whole and ws_option_number */
    bool repeats;
};

/* Reads all options, the common ones (--book, --json, --help, --version) too, and finds the words.
 * False: the verb stops with call->status: WS_OK after --help and --version, which the caller of
 * the verb answers; else an option is wrong, with a line. `own` may be null: none but the common
 * ones. */
bool ws_call_options(struct ws_call *call, const struct ws_option *own, struct ws_message *why);

/* Readers, by what `to` points to. */
ws_option_reader ws_option_text;   /* const char *: the value as it stands */
ws_option_reader ws_option_copy;   /* char[size]: a copy that must fit */
ws_option_reader ws_option_whole;  /* int: from `least` to `most` */
ws_option_reader ws_option_number; /* double: above `least`, up to `most` */
ws_option_reader ws_option_volume; /* double: millilitres */
ws_option_reader ws_option_day;    /* char[WS_DAY]: a day of the calendar, YYYY-MM-DD */
ws_option_reader ws_option_kind;   /* enum ws_bath_kind, by its token */
ws_option_reader ws_option_colon;  /* enum ws_colon: plus or in */
ws_option_reader ws_option_scale;  /* enum ws_scale: C or F; before it is given WS_SCALE_UNSAID */

#define WS_SCALE_UNSAID ((enum ws_scale) - 1)

#endif
