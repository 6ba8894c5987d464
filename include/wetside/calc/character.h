/* UTF-8 character by character, and what of it can be seen. No locale. */
#ifndef WETSIDE_CALC_CHARACTER_H
#define WETSIDE_CALC_CHARACTER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The character at `at`, of which `left` bytes can be read (any number where a zero ends them). Its
 * length in bytes; 0 if none is there: broken, cut short, overlong, a surrogate, or past U+10FFFF
 * (RFC 3629, section 4). A zero is a character. */
size_t ws_character_read(const char *at, size_t left, uint32_t *point);

/* U+0000 to U+001F, U+007F, U+0080 to U+009F. */
bool ws_character_is_control(uint32_t point);

/* Not seen, but changes how what is about it is shown or cut: marks of direction, joiners, line and
 * paragraph separators, the byte order mark, tags. */
bool ws_character_steers(uint32_t point);

/* Whether there is anything to be seen in `text`: a character that is no blank, control or filler,
 * steers nothing, and stands by itself. A byte that is no character can be seen. */
bool ws_text_is_seen(const char *text);

#endif
