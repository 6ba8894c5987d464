/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the person chose once: from the book and into it. */
#include "wetside/drive/settings.h"

#include <stdio.h>
#include <string.h>

enum { MS = 1000, MOST_PERCENT = 100 };

static const char *const names[WS_SETTINGS] = {
    [WS_SETTING_SCALE] = "temperatures",  [WS_SETTING_HAND] = "hand_keys",
    [WS_SETTING_VOLUME] = "volume",       [WS_SETTING_SPEECH] = "speech",
    [WS_SETTING_LANGUAGE] = "language",   [WS_SETTING_COUNT_IN] = "count_in",
    [WS_SETTING_GET_READY] = "get_ready", [WS_SETTING_FLASH] = "flash",
};

static const char *const scales[] = { [WS_CELSIUS] = "celsius", [WS_FAHRENHEIT] = "fahrenheit" };
static const char *const speaks[] = {
    [WS_SPEAKS_NOT] = "off", [WS_SPEAKS_CUES] = "cues", [WS_SPEAKS_MINUTES] = "cues_and_minutes"
};
static const char *const switches[] = { "off", "on" };
#define COUNT(words) ((int)(sizeof(words) / sizeof *(words)))

void ws_settings_default(struct ws_settings *out)
{
    struct ws_plan plan;
    struct ws_bath developer;

    ws_plan_default(&plan);
    ws_bath_default(WS_BATH_DEVELOPER, &developer);
    memset(out, 0, sizeof *out);
    out->scale = WS_CELSIUS;
    out->volume_percent = 70;
    out->speech = WS_SPEAKS_CUES;
    out->count_in_ms = developer.count_in_ms;
    out->get_ready_ms = plan.ready_lead_ms;
    out->flash = true;
}

const char *ws_setting_name(enum ws_setting which)
{
    return names[which];
}

/* ---- as text --------------------------------------------------------------------------------- */

static void print_hand(const struct ws_settings *settings, char *text, size_t size)
{
    size_t used = 0;

    text[0] = '\0';
    for (int i = 0; i < settings->hands; i++) {
        if (i > 0)
            used += ws_text_copy(text + used, size - used, " ");
        used += ws_text_copy(text + used, size - used, settings->hand[i]);
    }
}

void ws_setting_print(const struct ws_settings *settings, enum ws_setting which, char *text,
                      size_t size)
{
    switch (which) {
    case WS_SETTING_SCALE:
        ws_text_copy(text, size, scales[settings->scale]);
        return;
    case WS_SETTING_HAND:
        print_hand(settings, text, size);
        return;
    case WS_SETTING_VOLUME:
        snprintf(text, size, "%d", settings->volume_percent);
        return;
    case WS_SETTING_SPEECH:
        ws_text_copy(text, size, speaks[settings->speech]);
        return;
    case WS_SETTING_LANGUAGE:
        ws_text_copy(text, size, settings->language);
        return;
    case WS_SETTING_COUNT_IN:
        snprintf(text, size, "%d", (int)(settings->count_in_ms / MS));
        return;
    case WS_SETTING_GET_READY:
        snprintf(text, size, "%d", (int)(settings->get_ready_ms / MS));
        return;
    case WS_SETTING_FLASH:
        ws_text_copy(text, size, switches[settings->flash]);
        return;
    case WS_SETTINGS:
        break;
    }
    text[0] = '\0';
}

/* ---- from text ------------------------------------------------------------------------------- */

static enum ws_status refuse(enum ws_setting which, const char *text, const char *right,
                             struct ws_message *why)
{
    return ws_fail(why, WS_BAD_INPUT, "%s: \"%.40s\" is none: %s", names[which], text, right);
}

/* One of a few words; its place, or -1 with a line. */
static int read_word(enum ws_setting which, const char *text, const char *const *word, int words,
                     struct ws_message *why)
{
    char right[WS_SETTING_BYTES] = "";
    size_t used = 0;

    for (int i = 0; i < words; i++) {
        if (strcmp(text, word[i]) == 0)
            return i;
        used += ws_text_copy(right + used, sizeof right - used, i > 0 ? " or " : "");
        used += ws_text_copy(right + used, sizeof right - used, word[i]);
    }
    refuse(which, text, right, why);
    return -1;
}

/* A whole number; -1 with a line. */
static int read_whole(enum ws_setting which, const char *text, int least, int most,
                      const char *unit, struct ws_message *why)
{
    char right[WS_SETTING_BYTES];
    double value;

    if (ws_number_read(text, &value, NULL) == WS_OK && value >= least && value <= most &&
        value == (int)value)
        return (int)value;
    snprintf(right, sizeof right, "a whole number from %d to %d%s", least, most, unit);
    refuse(which, text, right, why);
    return -1;
}

/* Names of keys have no blanks and no control characters; whether there is such a key is not known
 * here. */
static enum ws_status read_hand(const char *text, struct ws_settings *out, struct ws_message *why)
{
    static const char right[] = "up to three names of keys, each once, with blanks between";
    struct ws_settings read = *out;
    const char *at = text;

    read.hands = 0;
    for (at += strspn(at, " "); *at != '\0'; at += strspn(at, " ")) {
        size_t length = strcspn(at, " ");

        if (read.hands == WS_HAND_KEYS || length >= WS_HAND_KEY_BYTES)
            return refuse(WS_SETTING_HAND, text, right, why);
        memcpy(read.hand[read.hands], at, length);
        read.hand[read.hands][length] = '\0';
        for (int i = 0; i < read.hands; i++)
            if (strcmp(read.hand[i], read.hand[read.hands]) == 0)
                return refuse(WS_SETTING_HAND, text, right, why);
        for (size_t i = 0; i < length; i++)
            if ((unsigned char)at[i] < ' ' || at[i] == 0x7F)
                return refuse(WS_SETTING_HAND, text, right, why);
        read.hands++;
        at += length;
    }
    *out = read;
    return WS_OK;
}

/* A language as locales name it: two or three letters, and what may follow: de, de_CH, pt-BR. */
static bool is_language(const char *text)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
    static const char others[] = "0123456789_-.@";
    size_t own = strspn(text, letters), at = own;

    while (text[at] != '\0' &&
           (strchr(letters, text[at]) != NULL || strchr(others, text[at]) != NULL))
        at++;
    return own >= 2 && own <= 3 && text[at] == '\0' && at < WS_LANGUAGE_BYTES;
}

static enum ws_status read_language(const char *text, struct ws_settings *out,
                                    struct ws_message *why)
{
    if (text[0] != '\0' && !is_language(text))
        return refuse(WS_SETTING_LANGUAGE, text,
                      "a language by its letters, such as en or de, or empty", why);
    ws_text_copy(out->language, sizeof out->language, text);
    return WS_OK;
}

enum ws_status ws_setting_read(enum ws_setting which, const char *text, struct ws_settings *out,
                               struct ws_message *why)
{
    int value = -1;

    switch (which) {
    case WS_SETTING_SCALE:
        value = read_word(which, text, scales, COUNT(scales), why);
        if (value >= 0)
            out->scale = (enum ws_scale)value;
        break;
    case WS_SETTING_HAND:
        return read_hand(text, out, why);
    case WS_SETTING_VOLUME:
        value = read_whole(which, text, 0, MOST_PERCENT, "", why);
        if (value >= 0)
            out->volume_percent = value;
        break;
    case WS_SETTING_SPEECH:
        value = read_word(which, text, speaks, COUNT(speaks), why);
        if (value >= 0)
            out->speech = (enum ws_speaks)value;
        break;
    case WS_SETTING_LANGUAGE:
        return read_language(text, out, why);
    case WS_SETTING_COUNT_IN:
        value = read_whole(which, text, 0, WS_COUNT_IN_MOST_S, " seconds", why);
        if (value >= 0)
            out->count_in_ms = (int64_t)value * MS;
        break;
    case WS_SETTING_GET_READY:
        value = read_whole(which, text, WS_GET_READY_LEAST_S, WS_GET_READY_MOST_S, " seconds", why);
        if (value >= 0)
            out->get_ready_ms = (int64_t)value * MS;
        break;
    case WS_SETTING_FLASH:
        value = read_word(which, text, switches, COUNT(switches), why);
        if (value >= 0)
            out->flash = value == 1;
        break;
    case WS_SETTINGS:
        break;
    }
    return value >= 0 ? WS_OK : WS_BAD_INPUT;
}

/* ---- the book -------------------------------------------------------------------------------- */

/* The line about the first that fell back: what stands there, and what holds instead. */
static void tell(const struct ws_message *first, int broken, struct ws_message *why)
{
    char more[40] = "";

    if (broken > 1)
        snprintf(more, sizeof more, " (and %d more)", broken - 1);
    ws_fail(why, WS_BAD_INPUT, "Setting %.220s; the usual one holds%s", first->text, more);
}

enum ws_status ws_settings_load(struct ws_book *book, struct ws_settings *out,
                                struct ws_message *why)
{
    struct ws_message first;
    int broken = 0;

    ws_settings_default(out);
    for (int i = 0; book != NULL && i < WS_SETTINGS; i++) {
        enum ws_setting which = (enum ws_setting)i;
        /* Longer than any that is right, so that a longer one is not cut to one that is. */
        char text[2 * WS_SETTING_BYTES];
        struct ws_message line;
        enum ws_status status = ws_setting_get(book, names[i], text, sizeof text);

        if (status == WS_NOT_FOUND)
            continue;
        if (status != WS_OK) {
            ws_settings_default(out);
            return ws_fail(why, status, "The settings can't be read: the usual ones hold");
        }
        if (ws_setting_read(which, text, out, &line) == WS_OK)
            continue;
        if (broken++ == 0)
            first = line;
        tell(&first, broken, why);
    }
    return broken > 0 ? WS_BAD_INPUT : WS_OK;
}

enum ws_status ws_settings_keep(struct ws_book *book, const struct ws_settings *settings,
                                enum ws_setting which, struct ws_message *why)
{
    char text[WS_SETTING_BYTES];

    if (book == NULL)
        return ws_fail(why, WS_NOT_FOUND, "there is no book to keep it in");
    ws_setting_print(settings, which, text, sizeof text);
    return ws_setting_set(book, names[which], text, why);
}

/* ---- the run --------------------------------------------------------------------------------- */

void ws_settings_lead(const struct ws_settings *settings, struct ws_plan *plan)
{
    struct ws_bath usual;

    ws_bath_default(WS_BATH_DEVELOPER, &usual);
    plan->ready_lead_ms = settings->get_ready_ms;
    for (int i = 0; i < plan->baths; i++)
        if (plan->bath[i].kind == WS_BATH_DEVELOPER &&
            plan->bath[i].count_in_ms == usual.count_in_ms)
            plan->bath[i].count_in_ms = settings->count_in_ms;
}
