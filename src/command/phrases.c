/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside phrases: what the voice says, as a file to edit, and whether such a file is sound. */
#include "wetside/command/call.h"

#include <stdlib.h>
#include <unistd.h>

#include "wetside/port/phrases.h"
#include "wetside/port/text.h"

const char ws_help_phrases[] =
    "usage: wetside phrases [LANGUAGE]\n"
    "       wetside phrases --check FILE\n"
    "\n"
    "What the voice says, as a file of phrases: those of the language (en, de, one of your own,\n"
    "else the locale's), with your own file's in their place. Write it to a file, edit it, check\n"
    "it, and put it where wetside looks for it (man wetside-phrases).\n"
    "\n"
    "  --check FILE    says in a line each what of FILE would not be taken, or is missing\n"
    "  --json          language, file, phrases; with --check: file, sound, faults\n"
    "\n"
    "example: wetside phrases de > my.de\n";

/* A file is UTF-8 whatever the locale; a terminal gets what it can show. */
static void put_line(void *self, const char *line)
{
    struct ws_call *call = self;
    int fd = fileno(call->out);

    if (fd >= 0 && isatty(fd)) {
        ws_call_put(call, line);
        return;
    }
    fputs(line, call->out);
    fputc('\n', call->out);
}

/* A line beside the answer, on `err`; what can't be shown of it as in every such line. */
static void warn(struct ws_call *call, const char *says)
{
    char shown[WS_VISIBLE_SIZE(WS_MESSAGE_BYTES)];
    struct ws_message line;

    ws_fail(&line, WS_BAD_INPUT, "%s", says);
    ws_text_plain(line.text, shown, sizeof shown);
    fprintf(call->err, "wetside: %s\n", shown);
}

static json_t *answer(const struct ws_phrases *phrases)
{
    json_t *texts = json_object();
    char path[4096] = "";
    struct ws_message none;
    bool own = ws_phrases_path(phrases->language, path, sizeof path, &none) == WS_OK &&
               access(path, F_OK) == 0;

    for (int i = 0; i < WS_PHRASES; i++)
        json_object_set_new(texts, ws_phrase_name((enum ws_phrase)i),
                            ws_json_text(phrases->text[i]));
    return json_pack("{s:o, s:o, s:o}", "language", ws_json_text(phrases->language), "file",
                     own ? ws_json_text(path) : json_null(), "phrases", texts);
}

static enum ws_status show(struct ws_call *call, const char *language, struct ws_message *why)
{
    struct ws_phrases phrases;
    struct ws_message line = { "" };

    if (language != NULL && !ws_phrases_may_be(language))
        return ws_fail(why, WS_BAD_INPUT, "'%.40s' is no language: write one such as en or de",
                       language);
    /* What is in force is whole all the same: it is shown, and the line is said beside it. */
    if (ws_phrases_load(language, &phrases, &line) != WS_OK)
        warn(call, line.text);
    if (call->json)
        return ws_call_json(call, answer(&phrases), why);
    ws_phrases_print(&phrases, put_line, call);
    return WS_OK;
}

struct faults {
    struct ws_call *call;
    json_t *list; /* null: said as they come */
};

static void take_fault(void *self, enum ws_phrase_fault fault, int line, const char *says)
{
    struct faults *faults = self;

    if (faults->list == NULL)
        warn(faults->call, says);
    else
        json_array_append_new(faults->list,
                              json_pack("{s:o, s:b, s:o}", "line",
                                        line > 0 ? json_integer(line) : json_null(), "left_out",
                                        fault == WS_PHRASE_LEFT_OUT, "says", ws_json_text(says)));
}

static enum ws_status check(struct ws_call *call, const char *path, struct ws_message *why)
{
    struct faults faults = { .call = call, .list = call->json ? json_array() : NULL };
    struct ws_phrases phrases;
    char *bytes = NULL;
    size_t length = 0;
    bool sound;
    enum ws_status status = ws_call_file(path, &bytes, &length, why);

    if (status != WS_OK)
        goto out;
    ws_phrases_shipped("en", &phrases);
    sound = ws_phrases_check(bytes, length, path, &phrases, take_fault, &faults) == WS_OK;
    call->exit_status = sound ? 0 : ws_status_exit(WS_BAD_INPUT);
    if (call->json)
        status = ws_call_json(call,
                              json_pack("{s:o, s:b, s:O}", "file", ws_json_text(path), "sound",
                                        sound, "faults", faults.list),
                              why);
    else if (sound)
        ws_call_say(call, "%s: sound, all %d phrases", path, WS_PHRASES);
out:
    json_decref(faults.list);
    free(bytes);
    return status;
}

enum ws_status ws_verb_phrases(struct ws_call *call, struct ws_message *why)
{
    const char *file = NULL, *language;
    const struct ws_option own[] = { { .name = "check", .read = ws_option_text, .to = &file },
                                     { .name = NULL } };

    if (!ws_call_options(call, own, why))
        return call->status;
    language = file == NULL ? ws_call_word(call) : NULL;
    if (ws_call_no_more(call, why) != WS_OK)
        return WS_BAD_INPUT;
    return file != NULL ? check(call, file, why) : show(call, language, why);
}
