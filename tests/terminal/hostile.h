/* Text that would steer a terminal, and a book full of it. */
#ifndef WETSIDE_TESTS_TERMINAL_HOSTILE_H
#define WETSIDE_TESTS_TERMINAL_HOSTILE_H

#include <stdbool.h>
#include <stddef.h>

/* Each begins with HOSTILE_MARK, so that it is seen whether it came out at all. Null past the last.
 * No zero in them. */
#define HOSTILE_MARK "Zx"
const char *hostile_text(int index);

/* Puts such text into every place of the demo's book that holds words: names, numbers, remarks,
 * notes, reasons, corrections, settings, and the frozen plans of its runs. With `broken` also where
 * a word of a few is expected, so that pages can't be read at all. */
void hostile_book(const char *path, bool broken);

/* What a terminal got, its own sequences taken out: null, or what of it would have steered it, and
 * *at: where that ends. The bytes may end within a sequence. */
const char *hostile_seen(const char *bytes, size_t length, size_t *at);

/* Fails the test where hostile_seen finds anything; `what` was done. */
void hostile_expect_clean(const char *bytes, size_t length, const char *what);

#endif
