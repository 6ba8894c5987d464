/* Fields to be typed into, one below the other: ncurses's form library behind a small door.
 *
 * The form draws on a pad of its own, which is copied to where it is wanted; so it survives any
 * resize and any erase of what lies below. What stands in the fields is kept in the caller's
 * struct ws_field, which is up to date after every key. Only printable characters get in. What
 * stands in a field at first is a proposal: the first character that is typed takes its place,
 * while an arrow, home, end, backspace or delete keeps it to be edited. */
#ifndef WETSIDE_CONSOLE_FORM_H
#define WETSIDE_CONSOLE_FORM_H

#include <stdbool.h>

#include "wetside/console/draw.h"
#include "wetside/console/terminal.h"

enum { WS_FIELD_BYTES = 512, WS_FORM_FIELDS = 16 };

struct ws_field {
    const char *label;
    const char *example; /* shown while the cursor is in this field; may be null */
    bool needed;         /* must not be left empty */
    int columns;         /* how wide it is shown where there is room; 0: as wide as can be */
    /* Null: anything may be typed. Else it is one of these, ended by a null: space and the arrows
     * go through them, a typed letter goes to the next one that begins with it. */
    const char *const *choice;
    char text[WS_FIELD_BYTES]; /* UTF-8, without blanks at its end */
};

struct ws_form;

/* `field` must outlive the form. Null without memory. The cursor is in field `at`, behind its
 * text. */
struct ws_form *ws_form_open(struct ws_field *field, int fields, int at);
void ws_form_close(struct ws_form *form);

/* Draws labels, brackets and fields from row y on, in at most `rows` rows; where there are more
 * fields than rows, the page of the current one. Returns the rows used. */
int ws_form_draw(struct ws_form *form, WINDOW *window, int y, int x, int rows, int columns);

/* True if the key was taken: typing, moving within and between fields. Up in the first field and
 * down in the last one are not taken, nor are enter and escape. */
bool ws_form_key(struct ws_form *form, ws_key key);

int ws_form_at(const struct ws_form *form);
void ws_form_go(struct ws_form *form, int field);
/* Puts `text` into the field, the cursor behind it: what is typed next follows it. */
void ws_form_set(struct ws_form *form, int field, const char *text);
/* The cursor stands behind the last character of its field. */
bool ws_form_at_end(const struct ws_form *form);

#endif
