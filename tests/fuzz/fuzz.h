/* What the fuzz targets share: the input as exact bytes, and what every text of the program must
 * be.
 *
 * A target is one file fuzz_NAME.c with LLVMFuzzerTestOneInput; its seeds are the files in
 * seeds/NAME, its words (if any) those of NAME.dict. With clang it is linked with libFuzzer;
 * without it with driver.c, which plays the seeds and a fixed number of mutations of them. */
#ifndef WETSIDE_TESTS_FUZZ_FUZZ_H
#define WETSIDE_TESTS_FUZZ_FUZZ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "wetside/calc/status.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* The input is no counterexample if this holds; else the program ends on it, as on a crash. */
#define FUZZ_MUST(condition) ((condition) ? (void)0 : fuzz_failed(#condition, __FILE__, __LINE__))
_Noreturn void fuzz_failed(const char *condition, const char *file, int line);

/* A malloced copy with a zero behind it and nothing more, so that reading past its end is seen. */
char *fuzz_text(const uint8_t *data, size_t size);

/* Well-formed UTF-8 (RFC 3629) without a control character, U+0080 to U+009F included; with
 * `steers` false also without what turns or hides text. Written down apart from the program's own
 * tables. */
bool fuzz_is_clean(const char *text, bool steers);

/* A failure says one line, and a clean one; a success needs none. */
void fuzz_message(enum ws_status status, const struct ws_message *why);

#endif
