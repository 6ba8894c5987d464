/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside batch: one batch's page; a new batch; a stock-take. */
#include "wetside/command/call.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/command/answer.h"

const char ws_help_batch[] =
    "usage: wetside batch NUMBER\n"
    "       wetside batch add NUMBER --what TEXT [--use KIND] [--kind KIND] [--volume V]\n"
    "                         [--made DAY] [--who TEXT] [--least V] [--colon plus|in]\n"
    "                         [--note TEXT]\n"
    "       wetside batch take-stock NUMBER VOLUME --reason TEXT\n"
    "\n"
    "A batch's page: what is left, every millilitre in and out, and all rolls that went through\n"
    "it. add keeps a new one; take-stock sets what is left when the book is wrong, with a reason.\n"
    "\n"
    "  --what TEXT     what is in it\n"
    "  --use KIND      developer (else), stop, fixer, wash_aid, wetting, ...\n"
    "  --kind KIND     stock (else), concentrate, working\n"
    "  --volume V      how much there is at first (else not known, and stays so)\n"
    "  --made DAY      YYYY-MM-DD, mixed or opened\n"
    "  --least V       the least stock of it for one roll\n"
    "  --colon C       what 1:4 on this bottle means: plus (1+4) or in (1+3)\n"
    "  --json          the same as one object\n"
    "\n"
    "example: wetside batch take-stock MQB-014 600 --reason 'measured'\n";

struct asked {
    struct ws_batch batch;
    const char *reason;
};

static enum ws_status read_kind(const struct ws_option *option, const char *text,
                                struct ws_message *why)
{
    enum ws_batch_kind *kind = option->to;

    for (int i = 0; i < WS_BATCH_KINDS; i++)
        if (strcmp(text, ws_batch_kind_token((enum ws_batch_kind)i)) == 0) {
            *kind = (enum ws_batch_kind)i;
            return WS_OK;
        }
    return ws_fail(why, WS_BAD_INPUT, "--kind: '%s' is none: write stock, concentrate or working",
                   text);
}

static bool read_options(struct ws_call *call, struct asked *asked, struct ws_message *why)
{
    struct ws_batch *batch = &asked->batch;
    const struct ws_option own[] = {
        { .name = "what", .read = ws_option_copy, .to = batch->what, .size = sizeof batch->what },
        { .name = "use", .read = ws_option_kind, .to = &batch->use },
        { .name = "kind", .read = read_kind, .to = &batch->kind },
        { .name = "volume", .read = ws_option_volume, .to = &batch->volume_ml },
        { .name = "made", .read = ws_option_day, .to = batch->made_day },
        { .name = "who", .read = ws_option_copy, .to = batch->who, .size = sizeof batch->who },
        { .name = "least", .read = ws_option_volume, .to = &batch->least_ml },
        { .name = "colon", .read = ws_option_colon, .to = &batch->colon },
        { .name = "note", .read = ws_option_copy, .to = batch->note, .size = sizeof batch->note },
        { .name = "reason", .read = ws_option_text, .to = &asked->reason },
        { .name = NULL },
    };

    return ws_call_options(call, own, why);
}

static enum ws_status do_show(struct ws_call *call, const char *number, struct ws_message *why)
{
    struct ws_book *book = NULL;
    struct ws_page_batch page = { .ledger = NULL, .roll = NULL };
    struct ws_batch batch;
    enum ws_status status = ws_call_no_more(call, why);

    if (status == WS_OK)
        status = ws_call_book(call, WS_BOOK_READ, &book, why);
    if (status == WS_OK)
        status = ws_batch_find(book, number, &batch, why);
    if (status == WS_OK)
        status = ws_page_read_batch(book, batch.row, &page, why);
    if (status == WS_OK && call->json)
        status = ws_call_json(call, ws_answer_batch_page(&page), why);
    else if (status == WS_OK)
        ws_page_batch_write(&page, ws_call_put, call);
    ws_page_batch_free(&page);
    ws_book_close(book);
    return status;
}

/* What a change left, for a script or in one line. */
static enum ws_status say_kept(struct ws_call *call, struct ws_book *book, const char *number,
                               struct ws_message *why)
{
    struct ws_batch batch;
    char left[24] = "not known";
    enum ws_status status = ws_batch_find(book, number, &batch, why);

    if (status != WS_OK)
        return status;
    if (call->json)
        return ws_call_json(call, ws_answer_batch(&batch), why);
    if (isfinite(batch.left_ml))
        ws_volume_print(batch.left_ml, left, sizeof left);
    ws_call_say(call, "kept: batch %s, %s, %s left", batch.number, batch.what, left);
    return WS_OK;
}

static enum ws_status do_add(struct ws_call *call, struct asked *asked, struct ws_message *why)
{
    struct ws_batch *batch = &asked->batch;
    const char *number = ws_call_word(call);
    struct ws_book *book = NULL;
    enum ws_status status = ws_call_no_more(call, why);

    if (status == WS_OK && number == NULL)
        status = ws_fail(why, WS_BAD_INPUT,
                         "the number on the bottle is missing: wetside batch add MQB-014 ...");
    if (status == WS_OK && batch->what[0] == '\0')
        status = ws_fail(why, WS_BAD_INPUT, "--what is missing: what is in the bottle?");
    if (status == WS_OK)
        status = ws_call_copy("the number", number, batch->number, sizeof batch->number, why);
    if (status == WS_OK)
        status = ws_call_book(call, WS_BOOK_WRITE, &book, why);
    if (status == WS_OK)
        status = ws_batch_add(book, batch, ws_call_wall_ms(), why);
    if (status == WS_OK)
        ws_call_kept(call, "batch %s", batch->number);
    if (status == WS_OK)
        status = say_kept(call, book, batch->number, why);
    ws_book_close(book);
    return status;
}

static enum ws_status do_take_stock(struct ws_call *call, const struct asked *asked,
                                    struct ws_message *why)
{
    const char *number = ws_call_word(call), *volume = ws_call_word(call);
    struct ws_book *book = NULL;
    struct ws_batch batch;
    double left_ml = 0;
    enum ws_status status = ws_call_no_more(call, why);

    if (status != WS_OK)
        return status;
    if (number == NULL || volume == NULL)
        return ws_fail(why, WS_BAD_INPUT,
                       "write the batch and what is left in it: batch take-stock MQB-014 600");
    if (asked->reason == NULL || asked->reason[0] == '\0')
        return ws_fail(why, WS_BAD_INPUT, "--reason is missing: how do you know?");
    /* Empty is a volume too, though nothing that could be poured. */
    if (strcmp(volume, "0") != 0) {
        status = ws_volume_read(volume, &left_ml, why);
        if (status != WS_OK)
            return status;
    }
    status = ws_call_book(call, WS_BOOK_WRITE, &book, why);
    if (status == WS_OK)
        status = ws_batch_find(book, number, &batch, why);
    if (status == WS_OK)
        status =
            ws_batch_stock_take(book, batch.row, left_ml, asked->reason, ws_call_wall_ms(), why);
    if (status == WS_OK)
        ws_call_kept(call, "the stock-take of batch %s", batch.number);
    if (status == WS_OK)
        status = say_kept(call, book, number, why);
    ws_book_close(book);
    return status;
}

enum ws_status ws_verb_batch(struct ws_call *call, struct ws_message *why)
{
    struct asked asked = { .batch = { .use = WS_BATH_DEVELOPER, .volume_ml = NAN } };
    const char *what;

    if (!read_options(call, &asked, why))
        return call->status;
    what = ws_call_word(call);
    if (what == NULL)
        return ws_fail(why, WS_BAD_INPUT,
                       "the batch's number is missing: wetside batches shows them");
    if (strcmp(what, "add") == 0)
        return do_add(call, &asked, why);
    if (strcmp(what, "take-stock") == 0)
        return do_take_stock(call, &asked, why);
    if (strcmp(what, "show") == 0 && ws_call_words(call) > 0)
        what = ws_call_word(call);
    return do_show(call, what, why);
}
