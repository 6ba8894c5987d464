/* What a terminal has been told by all the bytes it was sent (ECMA-48 and what xterm adds to it):
 * enough to say whether, at the end, it is as it was at the beginning. */
#ifndef WETSIDE_TESTS_TERMINAL_MODES_H
#define WETSIDE_TESTS_TERMINAL_MODES_H

#include <stdbool.h>
#include <stddef.h>

enum { MODES_PRIVATE = 32, MODES_SEQUENCE = 256, MODES_LINES = 512 };

struct modes {
    /* Private modes that were ever set or reset: ?25 the cursor, ?1049 the second screen, ?1 the
     * keys of the cursor, ?7 the wrap, ?5 the whole screen inverse, ?1000 the mouse, ?2004 paste.
     */
    struct {
        int number;
        bool on;
    } private_mode[MODES_PRIVATE];
    int private_modes;
    bool insert, keypad, drawn_lines, shifted_out, attributes, colour, ground, scroll_region;
    int commands; /* strings to the terminal itself: titles, the palette, the clipboard, queries */
    int titles_aside;
    /* Sizes it had: a region of all lines is none, and may come in after the next size. */
    bool had_lines[MODES_LINES];
    int ever; /* sequences seen at all */
    char sequence[MODES_SEQUENCE];
    size_t length; /* of the sequence that is coming in */
};

void modes_begin(struct modes *modes, int lines);
/* Another size: terminals let the whole of it scroll again. */
void modes_resized(struct modes *modes, int lines);
void modes_take(struct modes *modes, const char *bytes, size_t length);
/* Null when all is as at the beginning, else what is not, in a buffer of its own. */
const char *modes_changed(const struct modes *modes);
bool modes_private(const struct modes *modes, int number, bool otherwise);

#endif
