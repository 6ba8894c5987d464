/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside help: the list of verbs, or the help of one. */
#include "wetside/command/call.h"

const char ws_help_help[] = "usage: wetside help [VERB]\n"
                            "\n"
                            "Lists the verbs, or shows what `wetside VERB --help` shows.\n"
                            "\n"
                            "example: wetside help time\n";

void ws_help_overview(struct ws_call *call)
{
    fputs("usage: wetside [--book FILE] [--json] [VERB ...]\n"
          "\n"
          "Drives black-and-white film through its baths at the sink, keeps the stocks it was\n"
          "developed in, and remembers every roll. Without a verb the console opens.\n"
          "\n",
          call->out);
    for (const struct ws_verb *verb = ws_verbs; verb->name != NULL; verb++)
        fprintf(call->out, "  %-9s %s\n", verb->name, verb->summary);
    fputs("\n"
          "  --book FILE  the book to use, else $WETSIDE_BOOK, else\n"
          "               $XDG_DATA_HOME/wetside/book.db\n"
          "  --json       the answer for a script\n"
          "  --version, --help (also after a verb)\n"
          "\n"
          "example: wetside time --point 20C=6:30 --point 24C=4:45 --at 22.4C\n"
          "\n"
          "Exit status: 0 done, 1 could not, 2 wrong usage or input. More: man wetside\n",
          call->out);
}

static json_t *list_verbs(void)
{
    json_t *list = json_array();

    for (const struct ws_verb *verb = ws_verbs; verb->name != NULL; verb++)
        json_array_append_new(list,
                              json_pack("{s:s, s:s}", "verb", verb->name, "does", verb->summary));
    return list;
}

enum ws_status ws_verb_help(struct ws_call *call, struct ws_message *why)
{
    const struct ws_verb *verb;
    const char *name;

    if (!ws_call_options(call, NULL, why))
        return call->status;
    name = ws_call_word(call);
    if (ws_call_no_more(call, why) != WS_OK)
        return WS_BAD_INPUT;
    if (name == NULL) {
        if (call->json)
            return ws_call_json(call, list_verbs(), why);
        ws_help_overview(call);
        return WS_OK;
    }
    verb = ws_verb_find(name);
    if (verb == NULL)
        return ws_fail(why, WS_BAD_INPUT, "%s is no verb: wetside help lists them", name);
    if (call->json)
        return ws_call_json(call,
                            json_pack("{s:s, s:s, s:s}", "verb", verb->name, "does", verb->summary,
                                      "help", verb->help),
                            why);
    fputs(verb->help, call->out);
    return WS_OK;
}
