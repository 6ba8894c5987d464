/* The words in braces of a phrase: known to whoever reads a file of phrases and whoever fills one.
 */
#ifndef WETSIDE_SRC_PORT_PHRASES_FILL_H
#define WETSIDE_SRC_PORT_PHRASES_FILL_H

#include <stddef.h>

enum ws_phrase_word {
    WS_WORD_TANK,
    WS_WORD_FILM,
    WS_WORD_BATH,
    WS_WORD_COUNT,
    WS_WORD_OF,
    WS_WORD_SECONDS,
    WS_WORD_TIME,
    WS_WORDS
};

/* The word that begins at `at`, an opening brace; *length is of it with both braces. WS_WORDS: no
 * known word; *length is then up to the closing brace, 0 when there is none. */
enum ws_phrase_word ws_phrase_word_at(const char *at, size_t *length);

#endif
