/* Pages that ask one thing: fields to be typed, or a list to choose from.
 *
 * Both are loops of their own over ws_console_next. Escape (and up, in the first field or line)
 * goes back; enter goes on when everything needed is there and `accept` agrees; a mistake gets one
 * line below the fields until the next key, and what was typed stays. */
#ifndef WETSIDE_CONSOLE_ASK_H
#define WETSIDE_CONSOLE_ASK_H

#include "wetside/console/form.h"
#include "wetside/console/room.h"

enum ws_answer {
    WS_ANSWER_NEXT,
    WS_ANSWER_BACK,
    WS_ANSWER_LEAVE /* the room is to be left, or the program ends */
};

enum { WS_NOTES = 6, WS_NOTE_BYTES = 256 };

/* Lines that follow from what is typed. */
struct ws_notes {
    char line[WS_NOTES][WS_NOTE_BYTES];
    bool loud[WS_NOTES];
    int lines;
};
void ws_note(struct ws_notes *notes, bool loud, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

struct ws_ask {
    const struct ws_room *room;
    const char *what;  /* beside the room's name; may be null */
    const char *title; /* the question */
    const char *about; /* a few words on it; may be null */
    struct ws_field *field;
    int fields;
    int at; /* the field the cursor starts in, and where it was at the end */
    /* Reads what was typed when enter is pressed. Not WS_OK: `why` is shown, the cursor
     * goes to field *at. May be null. */
    enum ws_status (*accept)(void *self, const struct ws_field *field, int *at,
                             struct ws_message *why);
    /* What is to be known while it is typed; may be null. */
    void (*look)(void *self, const struct ws_field *field, int at, struct ws_notes *notes);
    /* What the text of the field may be going to be; taken by the right arrow behind the text. */
    bool (*suggest)(void *self, const struct ws_field *field, int at, char *text, size_t size);
    void *self;
    const char *const *so_far; /* what was answered before, quiet, at the bottom; may be null */
    int so_far_lines;
    /* Not null: asked in a panel over what this draws; then there is no head. */
    void (*below)(struct ws_console *console, void *self);
};

enum ws_answer ws_ask(struct ws_console *console, struct ws_ask *ask);

struct ws_pick {
    const struct ws_room *room;
    const char *what, *title, *about;
    const char *const *line;
    int lines;
    int at;              /* the line the cursor starts on, and the one it ended on */
    const char *letters; /* letters that end it as enter does; may be null */
    const char *keys;    /* what the last row says; null: the usual */
    bool remade;         /* the lines follow from the settings: see below */
    ws_key key;          /* WS_KEY_ENTER, one of `letters`, or WS_KEY_REDRAW */
};

/* With `remade` it ends with NEXT and WS_KEY_REDRAW when settings may have changed: nothing was
 * chosen, the lines are to be made anew and asked again. */
enum ws_answer ws_pick(struct ws_console *console, struct ws_pick *pick);

/* The column text starts in on a page. */
int ws_page_margin(void);

#endif
