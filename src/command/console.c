/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside console: opens the console, which lies beside this layer and is handed in. */
#include "wetside/command/call.h"

#include "wetside/port/paths.h"

const char ws_help_console[] =
    "usage: wetside [--book FILE] console\n"
    "\n"
    "Opens the full-screen console on the book; the same as wetside without a verb. A book that\n"
    "is not there yet is begun.\n"
    "\n"
    "example: wetside --book ~/darkroom.db\n";

enum ws_status ws_verb_console(struct ws_call *call, struct ws_message *why)
{
    char path[4096];
    enum ws_status status;

    if (!ws_call_options(call, NULL, why))
        return call->status;
    if (ws_call_no_more(call, why) != WS_OK)
        return WS_BAD_INPUT;
    if (call->json)
        return ws_fail(why, WS_BAD_INPUT,
                       "--json: the console has no such form: name a verb, see wetside help");
    status = ws_path_book(call->book_given, path, sizeof path, why);
    if (status != WS_OK)
        return status;
    if (call->hooks == NULL || call->hooks->console == NULL)
        return ws_fail(why, WS_IO, "there is no console in this program");
    call->exit_status = call->hooks->console(path, false, why);
    return WS_OK;
}
