/* What every test needs beside cmocka: doubles compared as doubles, and the headers in its order.
 */
#ifndef WETSIDE_TESTS_AID_H
#define WETSIDE_TESTS_AID_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* cmocka 1.1.5 compares floats: a difference in the eighth digit of a double is lost on it. */
#define ws_assert_near(got, want, within)                                                          \
    ws_near_at((got), (want), (within), #got, __FILE__, __LINE__)

static inline void ws_near_at(double got, double want, double within, const char *what,
                              const char *file, int line)
{
    if (!(fabs(got - want) <= within)) {
        print_error("%s is %.12g, wanted %.12g within %g\n", what, got, want, within);
        _fail(file, line);
    }
}

#endif
