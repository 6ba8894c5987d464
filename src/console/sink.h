/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the Sink's run screen share; tests of it include this too. */
#ifndef WETSIDE_SRC_CONSOLE_SINK_H
#define WETSIDE_SRC_CONSOLE_SINK_H

#include <stdbool.h>

#include "wetside/console/face.h"
#include "wetside/console/strip.h"
#include "wetside/console/terminal.h"
#include "wetside/drive/settings.h"

struct ws_console;

/* A key with an effect acts only when it stands alone: nothing else typed for so long before and
 * after. A wet palm types many at once and does nothing. */
#define SINK_ALONE_MS 400
/* So long after its last press the hand key leads to the Log, when the run is over. */
#define SINK_LOG_MS 3000
/* The second of two keys: not sooner, not later, and nothing in between. */
#define SINK_SECOND_LEAST_MS 500
#define SINK_SECOND_MOST_MS  5000
/* Before lights out there is something to do for each answer. */
#define SINK_LIGHTS_MOST_MS 60000
/* In black: Esc asks whether the lights go on, Enter answers yes so long after it. */
#define SINK_ENTER_LEAST_MS 2000
#define SINK_ENTER_MOST_MS  6000
/* An Enter that comes so soon after an Esc is about the lights, and never the hand's. */
#define SINK_ENTER_LIGHTS_MS 10000
/* What a key asks for is said no more often. */
#define SINK_TELL_MS 1000
/* An answer in words goes away by itself. */
#define SINK_SAID_MS 8000
/* What the longest wording of the keys takes. */
#define SINK_KEYS_BYTES 120
/* From so many rows on the foot says what is offered. */
#define SINK_FOOT_ROWS 14
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
    SINK_ASKS_LIGHTS   /* lights out? One thing after another, `choice` counts them */
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
    int64_t hand_ns; /* of the hand's last press, counted or not; likewise */
    int64_t waiting_ns;
    enum sink_asks asks; /* a question whose answer is the second key */
    int64_t asks_ns;
    int choice;   /* of the panel: what was chosen */
    bool by_hand; /* of LIGHTS: the hand key says yes as well */
    enum sink_panel panel;
    int64_t panel_ns;
    int page, pages; /* of the panel, where the window has no room for all of it at once */
    bool typing;     /* a temperature is being typed */
    char typed[16];
    char said[WS_MESSAGE_BYTES]; /* an answer in words, until the next key, */
    char said_brief[40];         /* and for a narrow window; empty: none is shorter */
    int64_t said_ns;
    bool shown; /* its question or answer stands in the message line now */
    /* The bath that waits has its film in the open: the hand key means lights out first. */
    bool to_dark;
    int dark_tank;                  /* whose film that is */
    char refusal[WS_MESSAGE_BYTES]; /* why the lights must stay on; empty: they may go out */
    char mute[WS_MESSAGE_BYTES];    /* why nothing can be said aloud; empty: it can */
    bool black;                     /* nothing is seen: other keys (sink_black.c) */
    unsigned dark;                  /* tanks whose film lies open, a bit each */
    bool wanted;                    /* a press would answer something */
    bool asks_light;                /* the voice asked whether the lights go on */
    int64_t asked_ns;               /* when the Esc came that it was asked for */
    int64_t esc_ns;                 /* and when the latest of all did; INT64_MIN: none yet */
    int64_t told_ns;                /* when something was said last; INT64_MIN: not yet */
};

/* What a key came to: its strokes, and what the room is to do. */
struct sink_does {
    struct ws_stroke stroke[WS_TANKS + 4];
    int strokes;
    bool quit, closed; /* leave the program; the run was closed, go to the Log */
    bool lights_on;    /* in this room, whoever drives what lay in its dark */
    int room;          /* go to this room, 0: stay */
    enum sink_set set;
};

void sink_begin(struct sink *sink);
/* True for space and the learned keys; Enter is another matter, where a number is typed. */
bool sink_is_hand(const struct sink *sink, ws_key key);
/* ---- what keys are for (sink_means.c) ---- */
/* What a key other than the hand's does in a run, "takes the last press back": such a key can't be
 * learned. Null: nothing. */
const char *sink_key_means(ws_key key);
/* The lines of the list of all keys, from 0: "n space", "pour out now, early"; false past the last.
 */
bool sink_key_line(int number, const char **shown, const char **line);
/* Whether `second` answers what `first` asks, or chooses from what it shows. `hand`: it is a hand
 * key. */
bool sink_key_goes_on(ws_key first, ws_key second, bool hand);
/* The baths that can be inserted, by number from 1; false past the last. */
bool sink_insert_choice(int number, enum ws_bath_kind *kind, int64_t *time_ms, const char **name);

/* ---- keys (sink_keys.c) ---- */
/* A key typed at boot_ns, with the focused tank (null: none). */
void sink_key(struct sink *sink, const struct ws_frame_tank *tank, int index, ws_key key,
              int64_t boot_ns, enum ws_scale scale, struct sink_does *does);
/* Time went on without a key: what stood alone acts now, what was asked too long ago is dropped.
 * Adds to `does`, which the caller has cleared. */
void sink_settle(struct sink *sink, const struct ws_frame_tank *tank, int index, int64_t boot_ns,
                 enum ws_scale scale, struct sink_does *does);
/* The moment by which sink_settle should be called; INT64_MAX: none. */
int64_t sink_settle_ns(const struct sink *sink);

/* ---- what keys do (sink_act.c) ---- */
/* What a key is carried out with. */
struct sink_on {
    struct sink *sink;
    const struct ws_frame_tank *tank;
    int index;
    int64_t boot_ns;
    struct sink_does *does;
};
/* The key has stood alone: it answers what is asked, ends what is typed, chooses from the open
 * panel, or does what it is for. */
void sink_act(const struct sink_on *on, ws_key key, enum ws_scale scale);
/* Asks what comes before lights out, or says why they must stay on. */
void sink_ask_lights(const struct sink_on *on);
/* An answer in words. */
void sink_say(struct sink *sink, int64_t boot_ns, const char *text);
/* One more stroke. */
struct ws_stroke *sink_post(struct sink_does *does, enum ws_stroke_kind kind, int tank,
                            int64_t boot_ns);

/* ---- in black (sink_black.c) ---- */
/* Becomes black, or light again: what was begun before is dropped. */
void sink_blacken(struct sink *sink, bool black);
/* As sink_key, sink_settle and sink_settle_ns, which come here. `hand`: it is a hand key, or Enter.
 */
void sink_black_key(struct sink *sink, int index, ws_key key, bool hand, int64_t boot_ns,
                    struct sink_does *does);
void sink_black_settle(struct sink *sink, int index, int64_t boot_ns, struct sink_does *does);
int64_t sink_black_settle_ns(const struct sink *sink);

/* Black without a run: it is driven elsewhere since, and its film lies here. Until the lights go on
 * or a run is open again (dark.c). */
void dark_wait(struct ws_console *console, struct sink *sink);

/* True while a question is open or a number is typed: nothing may lie over it. */
bool sink_asks(const struct sink *sink);
/* The question or the answer that stands in the message line, its longest wording that takes at
 * most `columns`; empty: none. */
void sink_question(const struct sink *sink, const struct ws_frame_tank *tank, int columns,
                   char *text, size_t size);
/* The line of the keys, its longest wording that fits: while something is asked the keys that
 * answer it, else those that are needed most, a hand key and `?` always. */
void sink_keys_line(const struct sink *sink, const struct ws_frame_tank *tank,
                    const struct ws_view *view, int rows, int columns, char *text, size_t size);

/* How many things are asked before lights out. */
int sink_light_lines(void);

/* ---- drawing ---- */
/* `others`: lines about tanks that are not in the middle. */
void sink_draw(WINDOW *window, const struct ws_face *face, const struct ws_strip *strip,
               const char *const *others, int other_count, const char *keys);
/* How many rows the open panel wants at this width, 0: none is open. */
int sink_panel_rows(const struct sink *sink, int columns);
/* The panel in at most `rows` rows, or its page; sets how many pages there are. */
void sink_panel_draw(WINDOW *window, int y, int rows, struct sink *sink);

#endif
