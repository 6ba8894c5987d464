/* Drawing helpers: roles, cleaned text, words in lines.
 *
 * Text that came from anywhere but this program's own source goes through ws_draw_text (or
 * ws_draw_clean) and nothing else, and is placed last on its row: a terminal may give a character
 * another width than wcwidth does. All functions accept any y, x and size, even outside of the
 * window, and draw what fits. */
#ifndef WETSIDE_CONSOLE_DRAW_H
#define WETSIDE_CONSOLE_DRAW_H

#include <stdbool.h>
#include <stddef.h>

/* Wide characters of <curses.h>: feature macro first, in every file of the console. */
#ifndef NCURSES_WIDECHAR
#define NCURSES_WIDECHAR 1
#endif
#include <curses.h>

/* What a text is, never which colour it has. Each has an attribute and a word, so that nothing is
 * said by hue: the word is what the screen writes where the attribute alone would carry meaning. */
enum ws_role {
    WS_ROLE_PLAIN,
    WS_ROLE_LOUD,   /* bold: what matters now */
    WS_ROLE_QUIET,  /* dim: what may be overlooked */
    WS_ROLE_CHOSEN, /* inverse: where the cursor is; marked ">" as well */
    WS_ROLE_ALARM,  /* inverse and bold: act now; its text begins with a word such as "NOT KEPT" */
    WS_ROLE_FIELD,  /* underlined: to be typed into; in brackets as well */
    WS_ROLE_TITLE,  /* bold: head of a page */
    WS_ROLES
};

/* Called by ws_terminal_start: makes pairs and attributes of the roles for this terminal. */
void ws_draw_begin(bool colour);
attr_t ws_draw_attr(enum ws_role role);
void ws_draw_role(WINDOW *window, enum ws_role role); /* attrset */
/* What has no colour of its own, above all what the terminal clears by itself before it is drawn,
 * is black from now on, or again as it was. For terminals that clear to nothing else. */
void ws_draw_darken(bool dark);
/* Makes the whole window blank, and black where the terminal can be told so. */
void ws_draw_black(WINDOW *window);
/* Whether it can. False: blank is the terminal's own ground, which may be white. */
bool ws_draw_has_black(void);

/* Cleans `text` into `out` (UTF-8): what ws_text_visible makes visible; besides, a character of
 * unknown width and, without UTF-8, every character above ASCII becomes ?. Cut to at most `columns`
 * columns (INT_MAX: no limit) at a character's boundary. Returns the columns used. */
int ws_draw_clean(char *out, size_t size, const char *text, int columns);

/* Draws cleaned text at y, x in at most `columns` columns; returns the columns used. A text that is
 * cut ends in ~. The cursor and the window's attributes are left as they were. */
int ws_draw_text(WINDOW *window, int y, int x, int columns, enum ws_role role, const char *text);
int ws_draw_format(WINDOW *window, int y, int x, int columns, enum ws_role role, const char *format,
                   ...) __attribute__((format(printf, 6, 7)));
/* Right-aligned, so that the text's last column is `right`; returns its first column. */
int ws_draw_right(WINDOW *window, int y, int right, int columns, enum ws_role role,
                  const char *text);
/* Breaks at blanks into lines of `columns`; at most `lines` of them, the last one cut. Returns how
 * many lines were used. */
int ws_draw_wrap(WINDOW *window, int y, int x, int columns, int lines, enum ws_role role,
                 const char *text);
/* How many columns cleaned `text` takes. */
int ws_draw_columns(const char *text);

/* A frame just inside the window: lines where they can be shown, else + - |. */
void ws_draw_box(WINDOW *window);
/* A row in one role from edge to edge, blank. */
void ws_draw_bar(WINDOW *window, int y, enum ws_role role);

/* The cells of the screen as text (UTF-8), one line a row, blanks at line ends dropped; malloced.
 * Without UTF-8 an inverse blank is written as #: big type is made of them. For tests and
 * captures. */
char *ws_draw_dump(void);

#endif
