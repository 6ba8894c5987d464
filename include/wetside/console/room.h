/* Rooms, the console that holds them, and the way keys come to a room.
 *
 * A room is one function that draws and asks for keys until it is left:
 *
 *     static void log_visit(struct ws_console *console)
 *     {
 *         while (!ws_console_leaving(console)) {
 *             erase();
 *             ws_console_head(console, &ws_room_log, NULL);
 *             ... draw ...
 *             ws_console_keys(console, "enter: page   /: search   ?: all keys");
 *             ws_key key = ws_console_next(console);
 *             ... or ws_console_common(console, key, help) ...
 *         }
 *     }
 *
 * A question, form or panel within a room is the same loop once more, nested. Frames, bells,
 * resizes, signals and black are served inside ws_console_next; what it gives back is a key, or
 * WS_KEY_REDRAW, or WS_KEY_QUIT on which every loop returns.
 *
 * Row 0 is the head; the last row says the keys; the row above it is the line for messages. */
#ifndef WETSIDE_CONSOLE_ROOM_H
#define WETSIDE_CONSOLE_ROOM_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/calc/units.h"
#include "wetside/console/draw.h"
#include "wetside/console/terminal.h"
#include "wetside/drive/drive.h"
#include "wetside/drive/settings.h"
#include "wetside/port/awake.h"

enum ws_room_number {
    WS_ROOM_NONE,
    WS_ROOM_SINK,
    WS_ROOM_EVENING,
    WS_ROOM_BENCH,
    WS_ROOM_SHELF,
    WS_ROOM_LOG,
    WS_ROOM_CURVES,
    WS_ROOM_LAST = WS_ROOM_CURVES,
    WS_ROOM_SETTINGS /* no room to go to: it lies over the room that asked for it */
};

struct ws_console;

struct ws_room {
    enum ws_room_number number;
    const char *name;    /* "Sink" */
    const char *purpose; /* one line: what it is for; shown while it is empty, and in the help */
    void (*visit)(struct ws_console *console);
};

/* Rooms written in their own files, listed in src/console/shell.c. */
extern const struct ws_room ws_room_sink; /* sink.c: the run if there is one, else choosing */
extern const struct ws_room ws_room_log;  /* log.c */

/* Choosing, pre-flight and begin of a run (choose.c): returns when a run was begun by
 * ws_drive_begin, or when the room is left. */
void ws_sink_choose(struct ws_console *console);

/* A script stands for a person in tests (script.h). */
struct ws_script;
struct console_layers;

struct ws_console {
    struct ws_drive *drive; /* null only in tests of drawing */
    struct ws_clock *clock;
    struct ws_script *script; /* null: keys come from the terminal */
    const char *book_path;    /* for showing; null: none */
    bool demo;                /* the book is a throw-away demo: said in every head */
    bool due_asked;           /* what is dry by now was asked for */
    struct ws_settings settings;
    enum ws_scale scale;       /* theirs: temperatures as the person reads them */
    ws_key hand[WS_HAND_KEYS]; /* theirs: the learned hand keys that can be used */
    int hands;
    unsigned settings_owed; /* changed in a run, to be kept after it: bits by enum ws_setting */
    struct ws_frame frame;  /* the latest */
    bool have_frame;
    enum ws_room_number at, go; /* go: the room asked for, WS_ROOM_NONE: stay */
    char show_roll[WS_NUMBER];  /* a roll the Log opens at once on entering, by number; or empty */
    int64_t repeat_run;         /* a run the Sink is to repeat on entering, by its row; 0 none */
    bool quit;
    bool wants_frames;           /* WS_KEY_FRAME is given on every frame: the Sink in a run */
    char said[WS_MESSAGE_BYTES]; /* the message line, until the next key or a while later */
    int64_t said_ns;             /* boot moment it was said */
    bool asks;                   /* it is a question: the drive's notice waits behind it */
    int64_t notice_ns;           /* boot moment the drive's notice changed */
    bool black;                  /* film lies open: nothing is shown */
    unsigned dark;               /* the tanks whose film lies open, a bit each */
    bool left_dark;              /* a run is driven elsewhere now, and its film lies open here */
    bool watched_dark;           /* the film of a run that is only watched lies open */
    bool heard;                  /* in this black there was working sound at some time */
    /* What could not be seen meanwhile, said when it is light: that the sound went, the latest
     * notice. */
    char deaf[WS_MESSAGE_BYTES], unseen[WS_MESSAGE_BYTES];
    const struct ws_awake_way *awake_way; /* null: nothing is kept from going dark */
    struct ws_awake *awake;               /* null: not kept awake now */
    int64_t offered[WS_TANKS];            /* runs whose unwritten events were offered as a file */
    struct ws_message *saved;             /* where such files are; null: nobody asks */
    bool before_pour;                     /* what is to be seen to before a run is on the screen */
    int64_t key_boot_ns;                  /* when the last key was read */
    int64_t wake_ns;  /* WS_KEY_FRAME is given at this boot moment at the latest; INT64_MAX none */
    int dead_reads;   /* wake-ups by the terminal that brought no key */
    char until[128];  /* what a script waits for */
    int64_t until_ms; /* and how long, in real time */
    struct console_layers *layers; /* what lies over the rooms: black, the run's line */
};

struct ws_console_options {
    struct ws_drive *drive;
    struct ws_clock *clock;
    const char *book_path;
    bool demo;
    struct ws_script *script;
    const struct ws_awake_way *awake; /* how the machine is kept awake in a run; null: it is not */
    enum ws_room_number first;        /* WS_ROOM_NONE: the Sink */
    struct ws_message *saved;         /* filled with where unkept events were written; or null */
    bool watch;          /* no rooms: the open runs of the book are only watched; without a book of
                            the drive's, and in this scale */
    enum ws_scale scale; /* of `watch` */
    const char *terminal_type; /* null: TERM */
    bool headless;             /* see terminal.h; with a script */
    int lines, columns;
};

/* Starts the terminal, goes from room to room until the program is to end, stops the terminal.
 * *signal: the signal that ended it, or 0; SIGHUP also for a terminal that is gone without one. The
 * drive is not stopped, and runs that go on may go on alone (ws_drive_alone). */
enum ws_status ws_console_run(const struct ws_console_options *options, int *signal,
                              struct ws_message *why);

/* What the book did not take of any run goes into files where they would be proposed to a person,
 * when there is none to ask any more. */
void ws_console_save_unwritten(struct ws_drive *drive, const char *book_path);

/* Puts on the screen what was drawn, waits for and returns the next key. Draws panels (panel.h)
 * over stdscr. Ctrl-C, Ctrl-Z, Ctrl-S, Ctrl-Q and Ctrl-\ are answered in words here. */
ws_key ws_console_next(struct ws_console *console);

/* True when the room is to return: another room is asked for, or the program ends. */
bool ws_console_leaving(const struct ws_console *console);
void ws_console_go(struct ws_console *console, enum ws_room_number room);

/* Keys that mean the same in every room: 1 to 6 and `r` (rooms, by number or by the first letters
 * of a name), 7 (settings), `?` (help: `help` is the room's own lines "key: what", a null at the
 * end), `q` (leave, asking when a run goes on). True when it was one of them. Not for while text is
 * typed. */
bool ws_console_common(struct ws_console *console, ws_key key, const char *const *help);

/* Modal: the settings, over whatever room (settings.c). What was drawn with them is to be drawn
 * anew. */
void ws_console_settings(struct ws_console *console);

/* Modal: shows the room's keys. What does not fit is paged with the keys of a pager (pager.h) and
 * `?`; any other key leaves. */
void ws_console_help(struct ws_console *console, const char *const *help);

/* One line for the person on the message line, until the next key; in a run at most 15 seconds. */
void ws_console_say(struct ws_console *console, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Row 0: the room's name, `what` (may be null), and that it is a demo. */
void ws_console_head(struct ws_console *console, const struct ws_room *room, const char *what);
/* The last row, "key: what   key: what". */
void ws_console_keys(struct ws_console *console, const char *keys);

/* First and number of rows between head and message line; 0 when there are none. */
void ws_console_body(int *first, int *rows);

/* The line and the keys of a yes/no question at the bottom; Esc and q are no. */
bool ws_console_ask(struct ws_console *console, const char *question);

/* Wall clock now, ms since 1970. */
int64_t ws_console_wall_ms(const struct ws_console *console);

/* A run that is not closed yet stands in the frame. */
bool ws_console_run_open(const struct ws_console *console);

#endif
