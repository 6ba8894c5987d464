/* The drive: owns every deadline. Clock, sessions, queues, runs with and without a screen.
 *
 * Four threads: the drive (absolute timer, signals, sessions; calls nothing that can block), the
 * book (the process's only SQLite connection; journal rows first), the sound (cues of the coming
 * minute are handed over ahead of time), and the terminal, which is the caller's own thread: it
 * posts strokes and picks up frames. */
#ifndef WETSIDE_DRIVE_DRIVE_H
#define WETSIDE_DRIVE_DRIVE_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/book/book.h"
#include "wetside/book/run.h"
#include "wetside/calc/units.h"
#include "wetside/port/clock.h"
#include "wetside/port/sound.h"
#include "wetside/session/session.h"

enum { WS_TANKS = 4 };

/* What the voice says. What a key asks for, and what is needed in black, it always says. */
enum ws_speech_level { WS_SPEAK_ASKED, WS_SPEAK_CUES, WS_SPEAK_MINUTES };

struct ws_voice {
    int volume_percent; /* 0: silent */
    enum ws_speech_level level;
    char language[16]; /* "en", "de"; empty: the locale's */
};

/* How the sound is. */
enum ws_ear_state {
    WS_EAR_NONE,     /* no device asked for, or it can't be opened, or it is gone: the bell rings */
    WS_EAR_STARTING, /* not asked for yet, or being opened */
    WS_EAR_PLAYS,
    WS_EAR_HANGS /* the device does not come back from a call: the bell stands in */
};
struct ws_ear {
    enum ws_ear_state state;
    char name[48];         /* what plays: "ALSA, default"; "terminal bell" */
    struct ws_message why; /* NONE and HANGS, when a device was asked for */
    int volume_percent;
    bool speaks;
    struct ws_message mute;  /* why there is no voice; empty: there is, or it is on its way */
    struct ws_message fault; /* in the person's own phrases, of which the rest is used */
};

struct ws_drive;

struct ws_drive_options {
    struct ws_clock *clock; /* borrowed for the life of the drive */
    const char *book_path;  /* null: no book; only rehearsals */
    enum ws_book_mode mode;
    const struct ws_sound *sound; /* null: the bell is asked of the terminal, ws_drive_bells */
    bool speech;                  /* a voice, where there is a sound and the library is there */
    bool take_signals;            /* INT TERM HUP QUIT WINCH CONT TSTP: blocked, read by signalfd */
    bool open_beside;             /* start does not wait for the book; see ws_drive_opened */
    /* Seams for tests and figures, null in the program: called on the drive's own thread at each
     * cue handed over, with its due and the moment now, boot ns. */
    void (*on_cue)(void *self, int tank, const struct ws_cue *cue, int64_t due_ns, int64_t now_ns);
    void *on_cue_self;
};

/* Starts the threads; the book is opened on its own. Signals are blocked when it returns. */
enum ws_status ws_drive_start(const struct ws_drive_options *options, struct ws_drive **out,
                              struct ws_message *why);
/* Waits until the book is open, or says why it can't be: then the drive is only to be stopped. A
 * job given to ws_drive_book waits for the opening as well, and gets null when it failed. */
enum ws_status ws_drive_opened(struct ws_drive *drive, struct ws_message *why);
/* Stops the drive and sound at once, writes what is left in the journal (a book that fails is tried
 * for a second more), closes the book. Open runs stay open in the book; a run whose last bath is
 * out is closed as finished. WS_IO: not every event could be kept; `why` says how many, and why. */
enum ws_status ws_drive_stop(struct ws_drive *drive, struct ws_message *why);

/* ---- for the terminal thread ---- */

enum ws_stroke_kind {
    WS_STROKE_HAND,  /* the hand key: routed to the tank that asked, debounced */
    WS_STROKE_OTHER, /* any other key seen: only for the debounce */
    WS_STROKE_UNDO,
    WS_STROKE_ON_TIME,
    WS_STROKE_LEAVE,   /* end the bath early (already confirmed by two keys) */
    WS_STROKE_MINUTE,  /* a minute more for a bath that may run long */
    WS_STROKE_INSERT,  /* bath_kind, value_ms */
    WS_STROKE_READING, /* value_c */
    WS_STROKE_TAKE,
    WS_STROKE_REFUSE,
    WS_STROKE_AWAY,
    WS_STROKE_BACK,
    WS_STROKE_LIGHTS_OUT, /* refused in words without working sound, but in a rehearsal */
    WS_STROKE_LIGHTS_ON,
    WS_STROKE_TELL, /* says aloud what is done and how long it is still; without a run that, too */
    WS_STROKE_SAY,  /* says a phrase; value_ms: enum ws_phrase */
    WS_STROKE_TEST, /* sounds as a tank's POUR OUT does, with a sentence; value_ms: 0 tone, 1 words
                       as well; needs no run */
    WS_STROKE_CLOSE /* give the run up, or leave a finished one; a finished one closes itself
                       when its last press can't be undone any more */
};

struct ws_stroke {
    enum ws_stroke_kind kind;
    int tank;        /* -1: the one that asked, or the only one */
    int64_t boot_ns; /* of the drive's clock, when the key was read */
    int64_t value_ms;
    double value_c;
    enum ws_scale scale; /* of READING: it is noted in */
    enum ws_bath_kind bath_kind;
    char reason[64]; /* of CLOSE: empty when finished */
};

/* Never blocks and never drops a hand press: a full queue refuses other strokes first (false). */
bool ws_drive_post(struct ws_drive *drive, const struct ws_stroke *stroke);

/* What is to be drawn. Sessions are copies; plans are the drive's, unchanged and valid until
 * ws_drive_stop. */
enum ws_kept { WS_KEPT_NONE, WS_KEPT_ALL, WS_KEPT_WAITING, WS_KEPT_FAILING };
struct ws_frame {
    int tanks; /* one past the last that is in use */
    struct ws_frame_tank {
        const struct ws_plan *plan; /* null: nothing at this tank */
        struct ws_session session;
        int64_t at_ms;         /* run time of this frame */
        int64_t began_wall_ms; /* wall moment of run time 0 */
        int64_t run;           /* row in the book, 0: a rehearsal */
        enum ws_kept kept;     /* whether the book has acknowledged every event */
        bool rehearsal;
        /* How often the hands were called in this process: by cues that were not late, beats
         * within a rhythm (inversions, shuffles) not among them; and how often what stands
         * unanswered now was repeated since it fell due, as the sound repeats it. */
        uint32_t calls, repeats;
    } tank[WS_TANKS];
    int64_t boot_ns;
    char notice[WS_MESSAGE_BYTES]; /* one line, or empty */
    int signal;                    /* a signal that asks the program to end; 0 none */
    bool sound;                    /* there is working sound: without it, no run goes black */
    struct ws_ear ear;             /* and how it is */
    bool resized;                  /* the window changed since the last frame */
    uint32_t number;               /* counts up; the same number is the same frame */
};

/* Readable (poll) when there is a new frame or a bell. ws_drive_seen clears it. */
int ws_drive_screen_fd(const struct ws_drive *drive);
void ws_drive_seen(struct ws_drive *drive);
/* The latest frame; false when it has been taken already. Older ones are gone. For one thread. */
bool ws_drive_frame(struct ws_drive *drive, struct ws_frame *out);
/* How many bells to ring since last asked. */
int ws_drive_bells(struct ws_drive *drive);

/* Runs `job` on the book's thread, after the journal rows that wait (one attempt at them, if the
 * book fails), and waits for it. For the rooms and the commands; never called by the drive's own
 * thread. Without a book the job gets null. */
void ws_drive_book(struct ws_drive *drive, void (*job)(struct ws_book *book, void *arg), void *arg);

/* Keeps the plan as a run (measured out and drawn, see ws_run_keep) and drives it; a rehearsal
 * writes nothing. Gives the tank's index. Run time 0 is now. WS_BUSY: all places are taken by open
 * runs; WS_NOT_FOUND: no book to keep it in. */
enum ws_status ws_drive_begin(struct ws_drive *drive, const struct ws_plan *plan, bool rehearsal,
                              int *tank, struct ws_message *why);
/* Takes up an open run of the book where it really is. minutes_away < 0: by the clocks;
 * *ask is set (and nothing taken up, WS_OK) when another boot's wall clock can't be trusted. The
 * notice then says how long nobody was there and what is due. WS_NOT_FOUND: no such open run;
 * WS_EXISTS: it is at the sink already; WS_BUSY: another process drives it (ws_drive_fetch), or all
 * places are taken. */
enum ws_status ws_drive_resume(struct ws_drive *drive, int64_t run, double minutes_away, bool *ask,
                               int *tank, struct ws_message *why);
/* Whether the notice greets a run that is taken up from now on; at first it does. */
void ws_drive_greet(struct ws_drive *drive, bool greet);
/* Starts the sound before there is a run: the pre-flight lets it be tried. Does not wait for the
 * device; the frames say when it plays. A run begun starts it as well. Not WS_OK: it can't be
 * started, for now the terminal rings at each cue, and that goes for a run as well. */
enum ws_status ws_drive_sound(struct ws_drive *drive, struct ws_message *why);
/* The person's choice, from now on. Until it is called: 70 percent, cues, the locale's language. */
void ws_drive_voice(struct ws_drive *drive, const struct ws_voice *voice);

/* ---- a run that another process drives ---- */

enum ws_hold {
    WS_HOLD_NONE,  /* nobody: it can be taken up */
    WS_HOLD_HERE,  /* this process */
    WS_HOLD_SEEN,  /* a process whose screen somebody may look at */
    WS_HOLD_ALONE, /* a process that has lost its terminal */
    WS_HOLD_DUMB   /* a process that does not answer */
};
struct ws_holder {
    enum ws_hold hold;
    int pid;          /* 0: not known */
    int64_t alone_ms; /* of ALONE: since it has lost its terminal */
};

/* Who drives that run of the book. Waits at most a second for an answer. */
void ws_drive_holder(struct ws_drive *drive, int64_t run, struct ws_holder *out);
/* Has the run let go by whoever drives it: that process stops its cues, hands over what it could
 * not write, and lets go; this one then holds it for ws_drive_resume. Also WS_OK where nobody held
 * it. Waits at most three seconds for an answer, and three for the lock. WS_BUSY: it does not
 * answer; with `end_it` that process is ended (SIGKILL), and what it had not written is lost. */
enum ws_status ws_drive_fetch(struct ws_drive *drive, int64_t run, bool end_it,
                              struct ws_message *why);

/* An open run as its journal tells it, without taking it up: its session at the last event kept,
 * and where it is by the clocks. Big: not for a stack. */
struct ws_glimpse {
    struct ws_run_line line;
    struct ws_plan plan;
    struct ws_session session;
    struct ws_anchor anchor; /* of this boot */
    int64_t last_ms;         /* run time of the last event kept */
    struct ws_stamp last;    /* and its moment */
    uint32_t sequence;       /* its number */
    bool same_boot;
    bool estimated; /* moments from now on rest on the wall clock, or on an answer */
    bool ask;       /* the clocks can't say how long it was left: anchor is at the last event */
};
/* minutes_away as in ws_drive_resume. WS_NOT_FOUND: no such run, or it is closed. The book may be
 * open for reading only. */
enum ws_status ws_drive_glimpse(struct ws_drive *drive, int64_t run, double minutes_away,
                                struct ws_glimpse *out, struct ws_message *why);
/* Carries the session on to now, as time alone does. */
void ws_glimpse_tick(struct ws_glimpse *glimpse, struct ws_clock *clock);
/* Whether it has waited for hands for more than an hour now, with no bath's time running: nothing
 * can be saved by haste any more. */
bool ws_glimpse_is_forgotten(struct ws_glimpse *glimpse, struct ws_clock *clock);
/* A tank of a frame as the drive would give it for that run now; for drawing. */
void ws_glimpse_tank(struct ws_glimpse *glimpse, struct ws_clock *clock, struct ws_frame_tank *out);

/* ---- what the book did not take ---- */

/* The events of the run at that place, which may be closed and forgotten by now, that the book has
 * not acknowledged, after one more attempt at them. `*row` is malloced and null when there are none
 * (*rows 0, WS_OK); *plan is the run's, valid until ws_drive_stop. */
enum ws_status ws_drive_unwritten(struct ws_drive *drive, int tank, struct ws_journal_row **row,
                                  int *rows, const struct ws_plan **plan, struct ws_message *why);

/* ---- without a terminal ---- */

/* Drives on until every run is over, was taken up elsewhere, or a signal other than SIGHUP asks the
 * program to end (*signal, else 0). What stands unanswered is repeated once a minute only. Takes
 * the frames, so nobody else may. */
void ws_drive_alone(struct ws_drive *drive, int *signal);
/* Whether a run of the book is at the sink and not over. */
bool ws_drive_has_run(struct ws_drive *drive);

/* Drops a tank whose run is closed from the frames. */
void ws_drive_forget(struct ws_drive *drive, int tank);

#endif
