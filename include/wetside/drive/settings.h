/* What the person chose once and the program remembers, in the book's table of settings.
 *
 * All are loaded in one job on the book's thread, and written one at a time. What can't be read
 * falls back to its default, and one line says so; what is not known here is left alone, so that an
 * older program does no harm to a book. Plain values without ownership: a copy is a copy. */
#ifndef WETSIDE_DRIVE_SETTINGS_H
#define WETSIDE_DRIVE_SETTINGS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "wetside/book/book.h"
#include "wetside/calc/plan.h"
#include "wetside/calc/units.h"

enum {
    WS_HAND_KEYS = 3,       /* learned ones, beside space and Enter */
    WS_HAND_KEY_BYTES = 24, /* the name of one */
    WS_LANGUAGE_BYTES = 16,
    WS_SETTING_BYTES = 128 /* one as text; above three names of keys with blanks between */
};

/* Their limits. The count-in begins with the press: half a minute is long to stand ready for. */
enum {
    WS_COUNT_IN_MOST_S = 30,
    WS_GET_READY_LEAST_S =
        5, /* the hands need some time to come; a press may end a bath from then */
    WS_GET_READY_MOST_S = 60
};

enum ws_speaks { WS_SPEAKS_NOT, WS_SPEAKS_CUES, WS_SPEAKS_MINUTES };

enum ws_setting {
    WS_SETTING_SCALE,
    WS_SETTING_HAND,
    WS_SETTING_VOLUME,
    WS_SETTING_SPEECH,
    WS_SETTING_LANGUAGE,
    WS_SETTING_COUNT_IN,
    WS_SETTING_GET_READY,
    WS_SETTING_FLASH,
    WS_SETTINGS
};

struct ws_settings {
    enum ws_scale scale; /* temperatures as the person reads and writes them */
    /* Learned hand keys by their names, "F5" or "b"; which key a name is the console knows. */
    char hand[WS_HAND_KEYS][WS_HAND_KEY_BYTES];
    int hands;
    int volume_percent;               /* 0 to 100; 0: silent */
    enum ws_speaks speech;            /* off, cues, or cues and each minute */
    char language[WS_LANGUAGE_BYTES]; /* "en", "de"; empty: from the locale */
    int64_t count_in_ms;              /* from the press to first liquid, before a developer */
    int64_t get_ready_ms;             /* get-ready before POUR OUT */
    bool flash;                       /* the whole screen, on cues */
};

void ws_settings_default(struct ws_settings *out);

/* Its name in the book: "temperatures", "hand_keys", "volume", ... */
const char *ws_setting_name(enum ws_setting which);

/* One as text, as it stands in the book: "celsius", "F5 b", "70", "cues", "", "5", "15", "on". */
void ws_setting_print(const struct ws_settings *settings, enum ws_setting which, char *text,
                      size_t size);
/* Reads one from text; WS_BAD_INPUT with a line that names it leaves `out` as it was. */
enum ws_status ws_setting_read(enum ws_setting which, const char *text, struct ws_settings *out,
                               struct ws_message *why);

/* All of them from the book; `out` is always whole. WS_BAD_INPUT: some fell back, `why` tells of
 * the first, and how many more. Another status: the book could not be read, all are defaults. A
 * null book has none (WS_OK). */
enum ws_status ws_settings_load(struct ws_book *book, struct ws_settings *out,
                                struct ws_message *why);

/* Writes one. WS_OK: the book has it. WS_NOT_FOUND: there is no book (null). */
enum ws_status ws_settings_keep(struct ws_book *book, const struct ws_settings *settings,
                                enum ws_setting which, struct ws_message *why);

/* The leads belong to the run: puts them into its plan while it is made. A developer whose process
 * states a count-in of its own, other than the usual one, keeps that. */
void ws_settings_lead(const struct ws_settings *settings, struct ws_plan *plan);

#endif
