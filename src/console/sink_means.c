/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What keys at the sink are for: each key once, with its line in the list of all keys, its meaning
 * in a sentence, and the keys that go on from it. And the baths that can be put in. */
#include <string.h>

#include "sink.h"

/* `means` follows "in a run it"; null: it is the hand's, or has no meaning of its own. `shown` and
 * `line` stand in the list; null: the key stands in the line of another. `second` are the keys that
 * answer what it asks or choose from what it shows, a blank for the hand keys. */
static const struct {
    const char *keys, *shown, *line, *means, *second;
} meanings[] = {
    { " ", "space", "I did what you asked", NULL, NULL },
    { "", "enter", "the same", NULL, NULL },
    { "n", "n space", "pour out now, early", "ends a bath early", " " },
    { "i", "i", "insert a bath", "inserts a bath", "123456789" },
    { "o", "o x", "take, refuse an offer", "takes an offer", NULL },
    { "x", NULL, NULL, "refuses an offer", NULL },
    { "l", "l", "lights out, step by step", "is for the lights", "y" },
    { "r", "r", "to another room", "leads to another room", "234567" },
    { "7", "7", "settings: volume, speech", "opens the settings", "1234" },
    { "u", "u", "take the last press back", "takes the last press back", NULL },
    { "t", "t", "the last press was on time", "says the last press was on time", NULL },
    { "+", "+", "a minute more (not developer)", "adds a minute", NULL },
    { "c", "c", "type the temperature now", "begins a temperature", NULL },
    { "a", "a", "away from the tank, and back", "says that nobody is at the tank", NULL },
    { "g", "g y", "give the run up", "gives the run up", "y" },
    { "q", "q y", "leave wetside", "leaves wetside", "y" },
    { "s", "s", "say the time left", "has the time left said", NULL },
    /* The key of the list itself; those of questions, lists and numbers. */
    { "?", NULL, NULL, "shows all keys", NULL },
    { "y", NULL, NULL, "answers yes", NULL },
    { "0123456789", NULL, NULL, "chooses from lists, and is typed in a temperature", NULL },
    { "f.,-", NULL, NULL, "is typed in a temperature", NULL },
};
enum { MEANINGS = sizeof meanings / sizeof *meanings };

/* A capital means the same: shift may be locked by the same foot. */
static int meaning_of(ws_key key)
{
    int small = key >= 'A' && key <= 'Z' ? key - 'A' + 'a' : key;

    for (int i = 0; small > 0 && small < 0x80 && i < MEANINGS; i++)
        if (strchr(meanings[i].keys, small) != NULL)
            return i;
    return -1;
}

const char *sink_key_means(ws_key key)
{
    int i = meaning_of(key);

    if (key == WS_KEY_ESC || key == WS_KEY_BACK)
        return "leads back while a temperature is typed";
    return i >= 0 ? meanings[i].means : NULL;
}

bool sink_key_line(int number, const char **shown, const char **line)
{
    for (int i = 0; i < MEANINGS; i++) {
        if (meanings[i].line == NULL || number-- > 0)
            continue;
        *shown = meanings[i].shown;
        *line = meanings[i].line;
        return true;
    }
    return false;
}

bool sink_key_goes_on(ws_key first, ws_key second, bool hand)
{
    int i = meaning_of(first);
    const char *seconds = i >= 0 ? meanings[i].second : NULL;

    if (seconds == NULL)
        return false;
    return strchr(seconds, hand ? ' ' : second > 0 && second < 0x80 ? (int)second : '\n') != NULL;
}

/* ---- baths to put in ---- */

static const struct {
    enum ws_bath_kind kind;
    int64_t time_ms;
    const char *name;
} inserts[] = {
    /* Times as commonly practised; + adds minutes. */
    { WS_BATH_WASH, 30000, "wash 0:30, a rinse" }, { WS_BATH_WASH, 300000, "wash 5:00" },
    { WS_BATH_STOP, 30000, "stop 0:30" },          { WS_BATH_FIXER, 300000, "fixer 5:00" },
    { WS_BATH_WASH_AID, 120000, "wash aid 2:00" }, { WS_BATH_WETTING, 60000, "wetting agent 1:00" },
};

bool sink_insert_choice(int number, enum ws_bath_kind *kind, int64_t *time_ms, const char **name)
{
    if (number < 1 || number > (int)(sizeof inserts / sizeof *inserts))
        return false;
    *kind = inserts[number - 1].kind;
    *time_ms = inserts[number - 1].time_ms;
    *name = inserts[number - 1].name;
    return true;
}
