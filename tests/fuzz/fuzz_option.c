/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Command lines: the options of a verb, with every reader of values there is.
 *
 * Method: the input is cut into words at line breaks. What is taken lies within what the table
 * says; what is refused is wrong input and says one line. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "wetside/command/call.h"

enum { WORDS = 40 };

static struct {
    const char *text;
    char copy[12], day[WS_DAY];
    int whole;
    double number, volume;
    enum ws_bath_kind kind;
    enum ws_colon colon;
    enum ws_scale scale;
    bool flag;
} to;

static const struct ws_option table[] = {
    { .name = "text", .read = ws_option_text, .to = &to.text },
    { .name = "copy", .read = ws_option_copy, .to = to.copy, .size = sizeof to.copy },
    { .name = "whole", .read = ws_option_whole, .to = &to.whole, .least = -3, .most = 400 },
    { .name = "number", .read = ws_option_number, .to = &to.number, .least = 0, .most = 99.5 },
    { .name = "volume", .read = ws_option_volume, .to = &to.volume, .repeats = true },
    { .name = "day", .read = ws_option_day, .to = to.day },
    { .name = "kind", .read = ws_option_kind, .to = &to.kind },
    { .name = "colon", .read = ws_option_colon, .to = &to.colon },
    { .name = "unit", .read = ws_option_scale, .to = &to.scale },
    { .name = "flag", .to = &to.flag },
    { .name = NULL },
};

static int cut(char *text, char *word[WORDS + 1])
{
    int words = 0;

    while (text != NULL && words < WORDS)
        word[words++] = strsep(&text, "\n");
    word[words] = NULL;
    return words;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = fuzz_text(data, size), *word[WORDS + 2];
    struct ws_message why = { "" };
    struct ws_call call = { .verb = "verb" };
    static char verb[] = "verb";
    bool going_on;

    memset(&to, 0, sizeof to);
    to.number = to.volume = 1;
    word[0] = verb;
    call.argc = 1 + cut(text, word + 1);
    call.argv = word;
    going_on = ws_call_options(&call, table, &why);
    fuzz_message(call.status, &why);
    FUZZ_MUST(going_on || call.status == WS_BAD_INPUT || call.help || call.version);
    FUZZ_MUST(memchr(to.copy, '\0', sizeof to.copy) != NULL);
    FUZZ_MUST(to.day[0] == '\0' || ws_day_exists(to.day));
    FUZZ_MUST(to.whole >= -3 && to.whole <= 400);
    FUZZ_MUST(to.number > 0 && to.number <= 99.5);
    FUZZ_MUST(to.volume > 0 && to.volume <= 1e6);
    FUZZ_MUST(to.kind < WS_BATH_KINDS && to.colon <= WS_COLON_IN);
    FUZZ_MUST(to.scale == WS_CELSIUS || to.scale == WS_FAHRENHEIT);
    while (going_on && ws_call_words(&call) > 0)
        FUZZ_MUST(ws_call_word(&call) != NULL);
    free(text);
    return 0;
}
