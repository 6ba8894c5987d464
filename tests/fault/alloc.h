/* Memory that runs out: every allocation of the program's own code, of its JSON library and of
 * SQLite is counted, and from the n-th on, or only there, fails. The linker puts this in the place
 * of malloc, calloc, realloc and strdup (see the Makefile); what other libraries allocate for
 * themselves is left alone. */
#ifndef WETSIDE_TESTS_FAULT_ALLOC_H
#define WETSIDE_TESTS_FAULT_ALLOC_H

#include <stdbool.h>

/* Before anything of SQLite is used: SQLite and the JSON library come here for memory. */
void alloc_begin(void);

/* The nth allocation from now on fails (0: none), and with `for_good` all after it. */
void alloc_arm(int nth, bool for_good);
/* From here on nothing fails. True if something did. */
bool alloc_disarm(void);
/* How many there were between the two. */
int alloc_counted(void);

#endif
