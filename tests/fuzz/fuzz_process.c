/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Process files.
 *
 * Method: what is read passes the check of processes, is written, and reads back as the same bytes
 * of the same struct, every one of them. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "wetside/book/process.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct ws_process process, again;
    struct ws_message why = { "" };
    char *text = fuzz_text(data, size), *written, *rewritten;
    enum ws_status status = ws_process_from_json(text, size, &process, &why);

    fuzz_message(status, &why);
    if (status == WS_OK) {
        FUZZ_MUST(ws_process_check(&process, NULL) == WS_OK);
        written = ws_process_to_json(&process);
        FUZZ_MUST(written != NULL);
        status = ws_process_from_json(written, strlen(written), &again, &why);
        if (status != WS_OK)
            fprintf(stderr, "%s\n%s\n", why.text, written);
        FUZZ_MUST(status == WS_OK);
        FUZZ_MUST(memcmp(&process, &again, sizeof process) == 0);
        rewritten = ws_process_to_json(&again);
        FUZZ_MUST(rewritten != NULL && strcmp(written, rewritten) == 0);
        free(rewritten);
        free(written);
    } else {
        FUZZ_MUST(status == WS_BAD_INPUT || status == WS_BAD_PLAN);
    }
    free(text);
    return 0;
}
