/* What a terminal shows, cell by cell: read from a capture with attributes, and written down so
 * that a person can look at it in a file. */
#ifndef WETSIDE_TESTS_CONSOLE_AID_PANE_H
#define WETSIDE_TESTS_CONSOLE_AID_PANE_H

#include <stdbool.h>
#include <stddef.h>

enum { AID_COLUMNS = 300, AID_LINES = 100, AID_SIGN_BYTES = 8, AID_PAGE_BYTES = 1 << 20 };

/* What is seen in one cell. A colour of -1 is the terminal's own. */
struct aid_cell {
    char sign[AID_SIGN_BYTES];
    bool bold, dim, underlined, inverse;
    int colour, ground;
};

struct aid_pane {
    int lines, columns;
    struct aid_cell cell[AID_LINES][AID_COLUMNS];
};

/* Text that grows; fails the test when it is full. */
struct aid_page {
    char bytes[AID_PAGE_BYTES];
    size_t used;
};
void aid_page_add(struct aid_page *page, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Lines of text with sequences that set attributes; the pane's size is given. An attribute that the
 * program does not use fails the test. */
void aid_pane_read(struct aid_pane *pane, const char *captured);

/* The text, where a lit blank is written as #. `folded`: rows that are alike stand there once. */
void aid_pane_text(const struct aid_pane *pane, bool folded, struct aid_page *page);
/* How each row looks: `row 3: 2-64 bold 15/0`, columns, attributes, colour on ground. */
void aid_pane_looks(const struct aid_pane *pane, struct aid_page *page);

#endif
