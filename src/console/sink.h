/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the Sink's run screen share; tests of it include this too. */
#ifndef WETSIDE_SRC_CONSOLE_SINK_H
#define WETSIDE_SRC_CONSOLE_SINK_H

#include <stdbool.h>

#include "wetside/console/face.h"
#include "wetside/console/strip.h"
#include "wetside/console/terminal.h"
#include "wetside/drive/settings.h"

/* A key with an effect acts only when it stands alone: nothing else typed for so long before and
 * after. A wet palm types many at once and does nothing. */
#define SINK_ALONE_MS 400
/* The second of two keys: not sooner, not later, and nothing in between. */
#define SINK_SECOND_LEAST_MS 500
#define SINK_SECOND_MOST_MS  5000
/* An answer in words goes away by itself. */
#define SINK_SAID_MS 8000
/* A panel over the run (keys, baths to insert) goes away by itself. */
#define SINK_PANEL_MS 20000

enum sink_panel {
    SINK_PANEL_NONE,
    SINK_PANEL_KEYS,   /* all keys */
    SINK_PANEL_INSERT, /* which bath to insert */
    SINK_PANEL_ROOMS,  /* which room to go to */
    SINK_PANEL_SETTINGS
};

/* What is asked of the settings in a run: by number in their panel. */
enum sink_set { SINK_SET_NOTHING, SINK_SET_SOFTER, SINK_SET_LOUDER, SINK_SET_SPEECH, SINK_SET_ALL };

enum sink_asks {
    SINK_ASKS_NOTHING,
    SINK_ASKS_LEAVE,   /* n: end the bath early? */
    SINK_ASKS_QUIT,    /* q: leave the program? */
    SINK_ASKS_INSERT,  /* put this bath in? */
    SINK_ASKS_GIVE_UP, /* end the run for good? */
    SINK_ASKS_LIGHTS   /* lights out, or on again? */
};

/* What the keys have come to. Times are boot ns of the drive's clock. */
struct sink {
    ws_key hand;                  /* the hand key: space */
    ws_key learned[WS_HAND_KEYS]; /* and those a foot switch types */
    int learned_keys;
    struct ws_settings settings; /* for their panel */
    bool all_settings;           /* are offered there: it is a rehearsal */
    ws_key waiting;  /* typed, and acts once it is seen to stand alone; WS_KEY_NONE: none */
    int64_t last_ns; /* of the last key of any kind; INT64_MIN: none yet */
    int64_t waiting_ns;
    enum sink_asks asks; /* a question whose answer is the second key */
    int64_t asks_ns;
    int choice; /* of the panel: what was chosen */
    enum sink_panel panel;
    int64_t panel_ns;
    int page, pages; /* of the panel, where the window has no room for all of it at once */
    bool typing;     /* a temperature is being typed */
    char typed[16];
    char said[WS_MESSAGE_BYTES]; /* an answer in words, until the next key */
    int64_t said_ns;
    bool silent; /* no sound would cue in black: lights out is refused */
    bool black;  /* nothing is seen: only the hand, undo and the lights have keys */
    bool shown;  /* its question or answer stands in the message line now */
};

/* What a key came to: at most one stroke beside the debounce's, and what the room is to do. */
struct sink_does {
    struct ws_stroke stroke[4];
    int strokes;
    bool quit, closed; /* leave the program; the run was closed, go to the Log */
    int room;          /* go to this room, 0: stay */
    enum sink_set set;
};

void sink_begin(struct sink *sink);
/* True for space and the learned keys; Enter is another matter, where a number is typed. */
bool sink_is_hand(const struct sink *sink, ws_key key);
/* What a key other than the hand's does in a run, "takes the last press back": such a key can't be
 * learned. Null: nothing. */
const char *sink_key_means(ws_key key);
/* A key typed at boot_ns, with the focused tank (null: none). */
void sink_key(struct sink *sink, const struct ws_frame_tank *tank, int index, ws_key key,
              int64_t boot_ns, enum ws_scale scale, struct sink_does *does);
/* Time went on without a key: what stood alone acts now, what was asked too long ago is dropped.
 * Adds to `does`, which the caller has cleared. */
void sink_settle(struct sink *sink, const struct ws_frame_tank *tank, int index, int64_t boot_ns,
                 enum ws_scale scale, struct sink_does *does);
/* The moment by which sink_settle should be called; INT64_MAX: none. */
int64_t sink_settle_ns(const struct sink *sink);

/* True while a question is open or a number is typed: nothing may lie over it. */
bool sink_asks(const struct sink *sink);
/* The question or the answer that stands in the message line, its longest wording that takes at
 * most `columns`; empty: none. */
void sink_question(const struct sink *sink, const struct ws_frame_tank *tank, int columns,
                   char *text, size_t size);
/* The only keys there are while something is asked; null: nothing is. */
const char *sink_question_keys(const struct sink *sink);

/* The baths that can be inserted, by number from 1; false past the last. */
bool sink_insert_choice(int number, enum ws_bath_kind *kind, int64_t *time_ms, const char **name);

/* ---- drawing ---- */
/* `others`: lines about tanks that are not in the middle. */
void sink_draw(WINDOW *window, const struct ws_face *face, const struct ws_strip *strip,
               const char *const *others, int other_count, const char *keys);
/* How many rows the open panel wants at this width, 0: none is open. */
int sink_panel_rows(const struct sink *sink, int columns);
/* The panel in at most `rows` rows, or its page; sets how many pages there are. */
void sink_panel_draw(WINDOW *window, int y, int rows, struct sink *sink);

#endif
