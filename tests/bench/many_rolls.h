/* A book of very many rolls, for the figures that depend on it. */
#ifndef WETSIDE_TESTS_BENCH_MANY_ROLLS_H
#define WETSIDE_TESTS_BENCH_MANY_ROLLS_H

#include <stdbool.h>

/* Makes a book at `path` with that many rolls, developed four at a time over the years, most of
 * them judged, from a fixed seed. False, with a line on stderr, if that failed. */
bool many_rolls_make(const char *path, int rolls);

#endif
