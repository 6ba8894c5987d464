/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What keys at the sink are for, in words, and the baths that can be put in. */
#include <string.h>

#include "sink.h"

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

/* Every key of sink_keys.c, and those of panels, questions and numbers. A capital means the same:
 * shift may be locked by the same foot. */
const char *sink_key_means(ws_key key)
{
    static const struct {
        const char *keys, *means;
    } keys[] = {
        { "u", "takes the last press back" },
        { "t", "says the last press was on time" },
        { "+", "adds a minute" },
        { "n", "ends a bath early" },
        { "o", "takes an offer" },
        { "x", "refuses an offer" },
        { "a", "says that nobody is at the tank" },
        { "i", "inserts a bath" },
        { "r", "leads to another room" },
        { "?", "shows all keys" },
        { "c", "begins a temperature" },
        { "g", "gives the run up" },
        { "l", "is for the lights" },
        { "s", "has the time left said" },
        { "q", "leaves wetside" },
        { "y", "answers yes" },
        { "0123456789", "chooses from lists, and is typed in a temperature" },
        { "f.,-", "is typed in a temperature" },
    };
    int small = key >= 'A' && key <= 'Z' ? key - 'A' + 'a' : key;

    if (key == WS_KEY_ESC || key == WS_KEY_BACK)
        return "leads back while a temperature is typed";
    for (size_t i = 0; small > 0 && small < 0x80 && i < sizeof keys / sizeof *keys; i++)
        if (strchr(keys[i].keys, small) != NULL)
            return keys[i].means;
    return NULL;
}
