/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside batches: batches and bottles with what is left in them. */
#include "wetside/command/call.h"

#include <math.h>
#include <stdlib.h>

#include "wetside/command/answer.h"

const char ws_help_batches[] =
    "usage: wetside batches [--use KIND]\n"
    "\n"
    "Batches and bottles, the newest first, with what is left and the film they have seen.\n"
    "\n"
    "  --use KIND      developer, stop, fixer, wash_aid, wetting, ...\n"
    "  --json          an array of objects\n"
    "\n"
    "example: wetside batches --use developer\n";

/* The number is what `batch` wants typed: its column is as wide as the longest. */
static int number_columns(const struct ws_batch *list, int n)
{
    int most = 10;

    for (int i = 0; i < n; i++) {
        int wide = ws_page_characters(list[i].number);

        most = wide > most ? wide : most;
    }
    return most;
}

static void say_batch(struct ws_call *call, const struct ws_batch *batch, int wide)
{
    char text[WS_NUMBER * 4 + 32] = "", left[24] = "not known";

    if (isfinite(batch->left_ml))
        ws_volume_print(batch->left_ml, left, sizeof left);
    ws_page_column(text, sizeof text, batch->number, wide);
    ws_page_column(text, sizeof text, batch->made_day[0] != '\0' ? batch->made_day : "-", 10);
    ws_call_say(call, "%s%10s left  %5.4g roll%s  %s  (%s, %s)", text, left, batch->rolls,
                fabs(batch->rolls - 1) < 1e-9 ? " " : "s", batch->what,
                ws_bath_kind_name(batch->use), ws_batch_kind_name(batch->kind));
}

static enum ws_status read_list(struct ws_book *book, enum ws_bath_kind use, struct ws_batch **list,
                                int *n, struct ws_message *why)
{
    for (int room = 64;; room *= 2) {
        struct ws_batch *grown = realloc(*list, (size_t)room * sizeof **list);
        enum ws_status status;

        if (grown == NULL)
            return ws_fail(why, WS_NO_MEMORY, "no memory for the batches");
        *list = grown;
        status = ws_batch_list(book, use, *list, room, n);
        if (status != WS_OK)
            return ws_fail(why, status, "the batches can't be read from the book");
        if (*n < room)
            return WS_OK;
    }
}

enum ws_status ws_verb_batches(struct ws_call *call, struct ws_message *why)
{
    enum ws_bath_kind use = WS_BATH_KINDS;
    const struct ws_option own[] = { { .name = "use", .read = ws_option_kind, .to = &use },
                                     { .name = NULL } };
    struct ws_batch *list = NULL;
    struct ws_book *book = NULL;
    int n = 0, wide;
    enum ws_status status;

    if (!ws_call_options(call, own, why))
        return call->status;
    status = ws_call_no_more(call, why);
    if (status == WS_OK)
        status = ws_call_book(call, WS_BOOK_READ, &book, why);
    if (status == WS_OK)
        status = read_list(book, use, &list, &n, why);
    wide = number_columns(list, n);
    for (int i = 0; status == WS_OK && i < n; i++) {
        if (call->json)
            status = ws_call_json_entry(call, ws_answer_batch(&list[i]), why);
        else
            say_batch(call, &list[i], wide);
    }
    if (status == WS_OK && call->json)
        ws_call_list_end(call);
    else if (status == WS_OK && n == 0)
        ws_call_say(call, "no batches yet: name a bottle at the sink, or wetside batch add");
    free(list);
    ws_book_close(book);
    return status;
}
