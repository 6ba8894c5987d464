/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Events files: the journal of a run that the book did not take.
 *
 * Method: what is read has sequences that go up, is written, and reads back as the same rows. */
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "wetside/book/events_file.h"

static void check(const struct ws_id *plan, const struct ws_journal_row *row, int rows)
{
    struct ws_message why = { "" };
    struct ws_journal_row *row_again = NULL;
    struct ws_id plan_again;
    int rows_again = 0;
    char *text = NULL, *text_again = NULL;
    size_t length = 0, length_again = 0;

    FUZZ_MUST(rows >= 1 && rows <= WS_EVENTS_MOST);
    for (int i = 1; i < rows; i++)
        FUZZ_MUST(row[i].event.sequence > row[i - 1].event.sequence);
    FUZZ_MUST(ws_events_to_json(plan, row, rows, &text, &length, &why) == WS_OK);
    FUZZ_MUST(ws_events_from_json(text, length, &plan_again, &row_again, &rows_again, &why) ==
              WS_OK);
    FUZZ_MUST(rows_again == rows && ws_id_equal(plan, &plan_again));
    FUZZ_MUST(ws_events_to_json(&plan_again, row_again, rows, &text_again, &length_again, &why) ==
              WS_OK);
    FUZZ_MUST(length == length_again && memcmp(text, text_again, length) == 0);
    free(text);
    free(text_again);
    free(row_again);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = fuzz_text(data, size);
    struct ws_message why = { "" };
    struct ws_journal_row *row = NULL;
    struct ws_id plan;
    int rows = 0;
    enum ws_status status = ws_events_from_json(text, size, &plan, &row, &rows, &why);

    fuzz_message(status, &why);
    if (status == WS_OK) {
        check(&plan, row, rows);
        free(row);
    } else {
        FUZZ_MUST(row == NULL);
    }
    free(text);
    return 0;
}
