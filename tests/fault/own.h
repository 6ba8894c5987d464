/* Calls of the system that the linker puts in place of the system's own in the tests of faults. */
#ifndef WETSIDE_TESTS_FAULT_OWN_H
#define WETSIDE_TESTS_FAULT_OWN_H

#include <stdint.h>

/* From here on getrandom gives a sequence that is always the same for that seed (0: random). */
void own_random(uint64_t seed);

#endif
