/* How much the fault tests do, how one case of them is repeated alone, and the figures they leave.
 *
 * WETSIDE_TORTURE=1   everything; without it a part of it that ends in seconds
 * WETSIDE_SEED=n      another seed than the fixed one
 * WETSIDE_CASE=text   only the case of that name, as a failing one prints it
 * WETSIDE_FIGURES=f   figures are added to that file, one line each */
#ifndef WETSIDE_TESTS_FAULT_TORTURE_H
#define WETSIDE_TESTS_FAULT_TORTURE_H

#include <stdbool.h>
#include <stdint.h>

bool torture(void);
/* `full` in torture, else `small`; a tenth of it, at least 1, under valgrind. */
int torture_size(int small, int full);
uint64_t torture_seed(void);

/* Whether the case is wanted: all are unless one was named. */
bool torture_wants(const char *name);
/* Whether one alone is wanted: then nothing is left out for its size. */
bool torture_alone(void);

/* One thing that went wrong in a case, in one line, with how to repeat it. The test goes on: */
void torture_wrong(const char *name, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* how many there were. To be asserted zero at the end of each test. */
int torture_wrongs(void);

/* Counts from the begin of a test to its figures. */
void torture_begin(const char *program);
/* "test_cut: 1234 cases ..., seed 1, 3.2 s". */
void torture_figure(const char *format, ...) __attribute__((format(printf, 1, 2)));

#endif
