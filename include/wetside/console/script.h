/* A person in a script: keys, moments and sizes for tests of the screen.
 *
 * The text is typed as it stands; in angle brackets: <enter> <esc> <tab> <back> <delete> <up>
 * <down> <left> <right> <pgup> <pgdn> <home> <end> <f1>..<f63> <space> <lt>; <^c> a control key;
 * <+500ms> <+2s> <+1:30> steps a stepped clock; <size 40x12> resizes the window; <shot NAME> hands
 * the cells to `shot`; <until TEXT> waits (in real time, 10 seconds at most) until TEXT is on the
 * screen, taking frames as they come, <black> until nothing is on it. White space is typed too;
 * line breaks are not. When the text is used up the console ends. */
#ifndef WETSIDE_CONSOLE_SCRIPT_H
#define WETSIDE_CONSOLE_SCRIPT_H

#include <stdbool.h>

#include "wetside/console/terminal.h"
#include "wetside/port/clock.h"

struct ws_script {
    const char *text;       /* what is left of it */
    struct ws_clock *clock; /* stepped; null: <+...> is a fault */
    /* Called at <shot NAME> with the cells as ws_draw_dump gives them; may be null. */
    void (*shot)(void *self, const char *name, const char *cells);
    void *self;
    char fault[160]; /* why the script stopped early; empty: it did not */
};

enum ws_script_step {
    WS_SCRIPT_KEY,     /* *key was typed */
    WS_SCRIPT_UNTIL,   /* wait for `text` on the screen */
    WS_SCRIPT_SHOT,    /* hand the cells over under the name `text` */
    WS_SCRIPT_MOMENT,  /* the clock was stepped */
    WS_SCRIPT_RESIZED, /* the window has another size */
    WS_SCRIPT_END      /* no more, or a fault */
};

/* Takes the next step; clock and size are carried out here. */
enum ws_script_step ws_script_next(struct ws_script *script, ws_key *key, char *text, int size);

#endif
