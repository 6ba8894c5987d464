/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The names of phrases, and reading a file of them. */
#include "wetside/port/phrases.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "phrases_fill.h"
#include "wetside/calc/character.h"

enum { NAME_SHOWN = 60 };

static const char *const phrase_name[WS_PHRASES] = {
    [WS_PHRASE_GET_READY] = "get_ready",
    [WS_PHRASE_COUNT_IN] = "count_in",
    [WS_PHRASE_POUR_IN] = "pour_in",
    [WS_PHRASE_AGITATE] = "agitate",
    [WS_PHRASE_INVERT] = "invert",
    [WS_PHRASE_REST] = "rest",
    [WS_PHRASE_TAP_REST] = "tap_rest",
    [WS_PHRASE_COME_BACK] = "come_back",
    [WS_PHRASE_READING_DUE] = "reading_due",
    [WS_PHRASE_READY_TO_POUR] = "ready_to_pour",
    [WS_PHRASE_POUR_OUT] = "pour_out",
    [WS_PHRASE_OVERTIME] = "overtime",
    [WS_PHRASE_STOP_NOW] = "stop_now",
    [WS_PHRASE_DONE] = "done",
    [WS_PHRASE_OUT_OF_RANGE] = "out_of_range",
    [WS_PHRASE_OFFER] = "offer",
    [WS_PHRASE_PIECE_IN] = "piece_in",
    [WS_PHRASE_PIECE_OUT] = "piece_out",
    [WS_PHRASE_FIRST_OUT_IN] = "first_out_in",
    [WS_PHRASE_LIGHTS_MAY] = "lights_may",
    [WS_PHRASE_LIGHTS_OUT] = "lights_out",
    [WS_PHRASE_LIGHTS_ASK] = "lights_ask",
    [WS_PHRASE_LIGHTS_STAY] = "lights_stay",
    [WS_PHRASE_LIGHTS_ON] = "lights_on",
    [WS_PHRASE_LEFT] = "left",
    [WS_PHRASE_WAITS] = "waits",
    [WS_PHRASE_NOTHING] = "nothing",
    [WS_PHRASE_TEST] = "test",
    [WS_PHRASE_MINUTES] = "minutes",
    [WS_PHRASE_MINUTE] = "minute",
    [WS_PHRASE_SECONDS] = "seconds",
    [WS_PHRASE_SECOND] = "second",
    [WS_PHRASE_TANK] = "tank",
    [WS_PHRASE_PRESOAK] = "presoak",
    [WS_PHRASE_DEVELOPER] = "developer",
    [WS_PHRASE_STOP] = "stop",
    [WS_PHRASE_FIXER] = "fixer",
    [WS_PHRASE_WASH_AID] = "wash_aid",
    [WS_PHRASE_WASH] = "wash",
    [WS_PHRASE_WETTING] = "wetting",
    [WS_PHRASE_OTHER] = "other",
};

const char *ws_phrase_name(enum ws_phrase phrase)
{
    return (int)phrase >= 0 && phrase < WS_PHRASES ? phrase_name[phrase] : "";
}

enum ws_phrase ws_phrase_of_bath(enum ws_bath_kind kind)
{
    static const enum ws_phrase of[WS_BATH_KINDS] = {
        [WS_BATH_PRESOAK] = WS_PHRASE_PRESOAK,   [WS_BATH_DEVELOPER] = WS_PHRASE_DEVELOPER,
        [WS_BATH_STOP] = WS_PHRASE_STOP,         [WS_BATH_FIXER] = WS_PHRASE_FIXER,
        [WS_BATH_WASH_AID] = WS_PHRASE_WASH_AID, [WS_BATH_WASH] = WS_PHRASE_WASH,
        [WS_BATH_WETTING] = WS_PHRASE_WETTING,   [WS_BATH_OTHER] = WS_PHRASE_OTHER,
    };

    return (int)kind >= 0 && kind < WS_BATH_KINDS ? of[kind] : WS_PHRASE_OTHER;
}

static enum ws_phrase find_phrase(const char *name, size_t length)
{
    for (int i = 0; i < WS_PHRASES; i++)
        if (strlen(phrase_name[i]) == length && memcmp(phrase_name[i], name, length) == 0)
            return (enum ws_phrase)i;
    return WS_PHRASES;
}

/* ---- reading a file ---- */

struct reader {
    const char *file;
    struct ws_phrases *out;
    ws_phrase_fault_put *put;
    void *self;
    int line, stands_in[WS_PHRASES]; /* the line of a phrase, 0: not yet */
    bool left_out, odd, returns;     /* returns: lines that end in CR LF */
};

static void say_fault(struct reader *reader, enum ws_phrase_fault fault, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void say_fault(struct reader *reader, enum ws_phrase_fault fault, const char *format, ...)
{
    char what[WS_MESSAGE_BYTES];
    struct ws_message says;
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    if (fault == WS_PHRASE_MISSING)
        ws_fail(&says, WS_NOT_FOUND, "%s: %s", reader->file, what);
    else
        ws_fail(&says, WS_BAD_INPUT, "%s, line %d: %s", reader->file, reader->line, what);
    reader->left_out = reader->left_out || fault == WS_PHRASE_LEFT_OUT;
    reader->odd = reader->odd || fault == WS_PHRASE_ODD;
    if (reader->put != NULL)
        reader->put(reader->self, fault, fault == WS_PHRASE_MISSING ? 0 : reader->line, says.text);
}

/* Whether all of it is text; a tab is one. */
static bool is_text(struct reader *reader, const char *at, size_t length)
{
    uint32_t point;

    for (size_t i = 0, bytes; i < length; i += bytes) {
        bytes = ws_character_read(at + i, length - i, &point);
        if (bytes == 0) {
            say_fault(reader, WS_PHRASE_LEFT_OUT, "is no UTF-8: left out; save the file as UTF-8");
            return false;
        }
        if (point == 0) {
            say_fault(reader, WS_PHRASE_LEFT_OUT, "holds a zero byte: left out");
            return false;
        }
        if (point != '\t' && (ws_character_is_control(point) || ws_character_steers(point))) {
            say_fault(reader, WS_PHRASE_LEFT_OUT, "holds a control character, U+%04X: left out",
                      (unsigned)point);
            return false;
        }
    }
    return true;
}

/* Whether every brace belongs to a word that is known. */
static bool has_known_words(struct reader *reader, const char *text)
{
    for (size_t used; *text != '\0'; text += used) {
        used = 1;
        if (*text == '}') {
            say_fault(reader, WS_PHRASE_LEFT_OUT,
                      "} without {: left out; a word is written {film}");
            return false;
        }
        if (*text != '{' || ws_phrase_word_at(text, &used) != WS_WORDS)
            continue;
        if (used == 0)
            say_fault(reader, WS_PHRASE_LEFT_OUT,
                      "{ without }: left out; a word is written {film}");
        else
            say_fault(reader, WS_PHRASE_LEFT_OUT,
                      "%.*s is no word: left out; there are {tank} {film} {bath} {count} {of} "
                      "{seconds} {time}",
                      (int)(used < NAME_SHOWN ? used : NAME_SHOWN), text);
        return false;
    }
    return true;
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static void trim(const char **at, size_t *length)
{
    while (*length > 0 && is_blank(**at))
        (*at)++, (*length)--;
    while (*length > 0 && is_blank((*at)[*length - 1]))
        (*length)--;
}

/* A line with a name and a text; no blanks about it. */
static void take_phrase(struct reader *reader, const char *at, size_t length)
{
    const char *colon = memchr(at, ':', length), *text;
    size_t name_length, text_length;
    char taken[WS_PHRASE_BYTES];
    enum ws_phrase phrase;

    if (!is_text(reader, at, length))
        return;
    if (colon == NULL) {
        say_fault(reader, WS_PHRASE_LEFT_OUT, "has no colon: left out; write name: text");
        return;
    }
    name_length = (size_t)(colon - at);
    text = colon + 1;
    text_length = length - name_length - 1;
    trim(&at, &name_length);
    trim(&text, &text_length);
    phrase = find_phrase(at, name_length);
    if (phrase == WS_PHRASES) {
        say_fault(reader, WS_PHRASE_LEFT_OUT,
                  "'%.*s' is no phrase: left out; wetside phrases lists them",
                  (int)(name_length < NAME_SHOWN ? name_length : NAME_SHOWN), at);
        return;
    }
    if (reader->stands_in[phrase] > 0)
        say_fault(reader, WS_PHRASE_ODD, "%s stands in line %d already: the last one counts",
                  phrase_name[phrase], reader->stands_in[phrase]);
    /* Also when its text is left out: that it is missing is said by then. */
    reader->stands_in[phrase] = reader->line;
    if (text_length >= sizeof taken) {
        say_fault(reader, WS_PHRASE_LEFT_OUT, "%s is too long, %zu bytes: left out; %zu at most",
                  phrase_name[phrase], text_length, sizeof taken - 1);
        return;
    }
    memcpy(taken, text, text_length);
    taken[text_length] = '\0';
    for (char *c = taken; *c != '\0'; c++)
        *c = *c == '\t' ? ' ' : *c;
    if (has_known_words(reader, taken))
        memcpy(reader->out->text[phrase], taken, text_length + 1);
}

/* The length of the line at `at` without its end, which *end gets. */
static size_t line_length(struct reader *reader, const char *at, size_t left, size_t *end)
{
    const char *feed = memchr(at, '\n', left);
    size_t length = feed != NULL ? (size_t)(feed - at) : left;

    *end = length + (feed != NULL);
    if (length == 0 || at[length - 1] != '\r')
        return length;
    if (!reader->returns)
        say_fault(reader, WS_PHRASE_ODD, "ends in CR LF: read all the same");
    reader->returns = true;
    return length - 1;
}

enum ws_status ws_phrases_check(const char *bytes, size_t length, const char *name,
                                struct ws_phrases *out, ws_phrase_fault_put *put, void *self)
{
    static const char mark[] = { '\xEF', '\xBB', '\xBF' };
    struct reader reader = { .file = name, .out = out, .put = put, .self = self };
    bool missing = false;

    for (size_t end; length > 0; bytes += end, length -= end) {
        const char *at = bytes;
        size_t size;

        reader.line++;
        size = line_length(&reader, at, length, &end);
        if (reader.line == 1 && size >= sizeof mark && memcmp(at, mark, sizeof mark) == 0) {
            say_fault(&reader, WS_PHRASE_ODD,
                      "begins with a mark of byte order: read all the same");
            at += sizeof mark;
            size -= sizeof mark;
        }
        trim(&at, &size);
        if (size > 0 && *at != '#')
            take_phrase(&reader, at, size);
    }
    for (int i = 0; i < WS_PHRASES; i++) {
        if (reader.stands_in[i] > 0)
            continue;
        missing = true;
        say_fault(&reader, WS_PHRASE_MISSING, "%s is missing: the shipped one is said",
                  phrase_name[i]);
    }
    if (reader.left_out || reader.odd)
        return WS_BAD_INPUT;
    return missing ? WS_NOT_FOUND : WS_OK;
}

/* One line out of many. */
struct gist {
    struct ws_message left_out, odd;
    int missing_count;
};

static void keep_gist(void *self, enum ws_phrase_fault fault, int line, const char *says)
{
    struct gist *gist = self;

    (void)line;
    if (fault == WS_PHRASE_LEFT_OUT && gist->left_out.text[0] == '\0')
        ws_fail(&gist->left_out, WS_BAD_INPUT, "%s", says);
    if (fault == WS_PHRASE_ODD && gist->odd.text[0] == '\0')
        ws_fail(&gist->odd, WS_BAD_INPUT, "%s", says);
    gist->missing_count += fault == WS_PHRASE_MISSING;
}

enum ws_status ws_phrases_read(const char *bytes, size_t length, const char *name,
                               struct ws_phrases *out, struct ws_message *why)
{
    struct gist gist = { .missing_count = 0 };
    enum ws_status status = ws_phrases_check(bytes, length, name, out, keep_gist, &gist);

    if (status == WS_OK)
        return WS_OK;
    if (gist.left_out.text[0] != '\0')
        return ws_fail(why, status, "%s", gist.left_out.text);
    if (gist.missing_count == 0)
        return ws_fail(why, status, "%s", gist.odd.text);
    return ws_fail(why, status,
                   "%s: of %d phrases %d %s missing, and said as shipped: wetside phrases --check "
                   "%s names them",
                   name, WS_PHRASES, gist.missing_count, gist.missing_count == 1 ? "is" : "are",
                   name);
}
