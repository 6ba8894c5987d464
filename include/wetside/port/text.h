/* Text from anywhere (the book, a file, the environment) made fit to be shown.
 *
 * No control character, no escape sequence and no broken UTF-8 of it reaches a terminal raw: they
 * are shown as what they are. The console and the commands both ask here. */
#ifndef WETSIDE_PORT_TEXT_H
#define WETSIDE_PORT_TEXT_H

#include <stddef.h>

/* Copies `from` so that it can be shown: a control character below 0x20 and 0x7F as `^[`, `^?`;
 * U+0080 to U+009F, the direction and line controls of Unicode (U+061C, U+200B to U+200F, U+2028
 * to U+202E, U+2060 to U+206F, U+FEFF and the like) as `<U+202E>`; bytes that are no UTF-8 as
 * `<FF>`. Of marks that stand on another character two do; a third, and one that stands on none, is
 * shown by its number too: a tower of them would be one cell for us and many rows for a terminal.
 * (Which characters are marks the locale says, by wcwidth.) Everything else is copied as it is. Cut
 * at a whole piece; always terminated; gives the length written. `size` of
 * WS_VISIBLE_SIZE(strlen(from)) never cuts. */
size_t ws_text_visible(const char *from, char *text, size_t size);

/* The same for `length` bytes, which may hold zeros (shown as `^@`). */
size_t ws_text_visible_bytes(const char *from, size_t length, char *text, size_t size);

/* The same as ws_text_visible, and in the encoding of LC_CTYPE, for plain lines: where that is not
 * UTF-8, bytes of a character could be controls of the terminal. A character the encoding does not
 * have is shown as `<U+2019>`. */
size_t ws_text_plain(const char *from, char *text, size_t size);

/* The calling thread keeps the locale of the process as it is now, whatever another thread makes of
 * that later (the library of the voice switches LC_CTYPE while it starts). For threads that ask the
 * locale about text: wcwidth, mbrtowc, ncurses, ws_text_plain. Again: as it is then. Without memory
 * the thread goes on sharing. */
void ws_text_own_locale(void);
/* Shares again; before the thread ends. */
void ws_text_share_locale(void);

#define WS_VISIBLE_SIZE(length) (4 * (size_t)(length) + 1)

#endif
