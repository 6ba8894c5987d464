/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside watch: shows runs that another wetside drives; the screen lies beside this layer and is
 * handed in. */
#include "wetside/command/call.h"

#include "wetside/port/paths.h"

const char ws_help_watch[] =
    "usage: wetside [--book FILE] watch\n"
    "\n"
    "Shows the open runs of the book as their own screens do, on another terminal of the same\n"
    "machine: the word for the hands, the clock, what comes next. Nothing can be pressed here,\n"
    "nothing sounds, and nothing is written to the book. While film lies open this screen is\n"
    "black too. Where no run is open it waits for one. q leaves.\n"
    "\n"
    "  --unit C or F   temperatures; as the book is set where it is not given\n"
    "\n"
    "example: wetside watch\n";

/* A book that can't be read is told here, not on a screen that is blank otherwise. */
static enum ws_status look_at_book(struct ws_call *call, enum ws_scale *scale,
                                   struct ws_message *why)
{
    struct ws_book *book = NULL;
    enum ws_status status = ws_call_book(call, WS_BOOK_READ, &book, why);

    if (status == WS_OK)
        *scale = ws_call_scale_in(book, *scale);
    ws_book_close(book);
    return status;
}

enum ws_status ws_verb_watch(struct ws_call *call, struct ws_message *why)
{
    enum ws_scale scale = WS_SCALE_UNSAID;
    const struct ws_option options[] = {
        { .name = "unit", .read = ws_option_scale, .to = &scale },
        { .name = NULL },
    };
    char path[4096];
    enum ws_status status;

    if (!ws_call_options(call, options, why))
        return call->status;
    if (ws_call_no_more(call, why) != WS_OK)
        return WS_BAD_INPUT;
    if (call->json)
        return ws_fail(why, WS_BAD_INPUT,
                       "--json: what is watched has no such form: name a verb, see wetside help");
    status = ws_path_book(call->book_given, path, sizeof path, why);
    if (status == WS_OK)
        status = look_at_book(call, &scale, why);
    if (status != WS_OK)
        return status;
    if (call->hooks == NULL || call->hooks->watch == NULL)
        return ws_fail(why, WS_IO, "there is no screen to watch on in this program");
    call->exit_status = call->hooks->watch(path, scale, why);
    return WS_OK;
}
