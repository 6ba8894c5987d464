/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A phrase as it is said: its words filled in, names made fit to be spoken.
 *
 * Names are other people's text. What reaches the voice of them is letters, digits and blanks, so
 * that no markup, no command and no pause of theirs is taken for one of ours. */
#include "wetside/port/phrases.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "phrases_fill.h"
#include "wetside/calc/character.h"

/* In characters. A film of the length allowed is spelt in about two seconds. */
enum { FILM_WORD = 16, FILM_ENOUGH = 3, TANK_NAME = 24, BATH_NAME = 32, A_WORD = 3 };

static const char *const word_name[WS_WORDS] = {
    [WS_WORD_TANK] = "{tank}",   [WS_WORD_FILM] = "{film}", [WS_WORD_BATH] = "{bath}",
    [WS_WORD_COUNT] = "{count}", [WS_WORD_OF] = "{of}",     [WS_WORD_SECONDS] = "{seconds}",
    [WS_WORD_TIME] = "{time}",
};

enum ws_phrase_word ws_phrase_word_at(const char *at, size_t *length)
{
    const char *close = strchr(at, '}');

    *length = close != NULL ? (size_t)(close - at) + 1 : 0;
    for (int i = 0; *length > 0 && i < WS_WORDS; i++)
        if (strlen(word_name[i]) == *length && memcmp(word_name[i], at, *length) == 0)
            return (enum ws_phrase_word)i;
    return WS_WORDS;
}

/* ---- text that grows up to its room, and then takes no more ---- */

struct spoken {
    char *text;
    size_t size, length;
    bool full;
};

static void add_bytes(struct spoken *to, const char *bytes, size_t length)
{
    if (to->full || length >= to->size - to->length) {
        to->full = to->full || length > 0;
        return;
    }
    memcpy(to->text + to->length, bytes, length);
    to->length += length;
    to->text[to->length] = '\0';
}

/* Whole characters only: a cut one would be broken. */
static void add(struct spoken *to, const char *text)
{
    uint32_t point;

    for (size_t bytes; *text != '\0' && !to->full; text += bytes) {
        bytes = ws_character_read(text, strlen(text), &point);
        if (bytes == 0)
            bytes = 1;
        else
            add_bytes(to, text, bytes);
    }
}

/* ---- names ---- */

static bool is_digit(uint32_t point)
{
    return point >= '0' && point <= '9';
}

/* A letter or digit, as far as it can be told without the tables of Unicode: ASCII by name, the
 * rest but for the blocks of signs, private use and pictures (Unicode 15, Blocks.txt). */
static bool is_spoken(uint32_t point)
{
    if (point < 0x80)
        return is_digit(point) || (point >= 'a' && point <= 'z') || (point >= 'A' && point <= 'Z');
    return point >= 0xC0 && point != 0xD7 && point != 0xF7 && !ws_character_steers(point) &&
           !(point >= 0x2000 && point <= 0x2BFF) && !(point >= 0x3000 && point <= 0x303F) &&
           !(point >= 0xE000 && point <= 0xF8FF) && !(point >= 0xFE00 && point <= 0xFE6F) &&
           !(point >= 0xFFE0 && point <= 0xFFFF) && point < 0x1F000;
}

/* Whether the character at `at`, which is none to be spoken, holds two others together: the point
 * in 1.5, the apostrophe in a word. */
static bool joins(const char *name, const char *at)
{
    uint32_t next;

    if ((*at != '.' && *at != '\'') || at == name ||
        ws_character_read(at + 1, strlen(at + 1), &next) == 0)
        return false;
    if (*at == '.')
        return is_digit((unsigned char)at[-1]) && is_digit(next);
    return ((unsigned char)at[-1] >= 0x80 || is_spoken((unsigned char)at[-1])) && is_spoken(next);
}

/* The next word of a name: gives its characters, 0 when there is no other, and moves *at behind it.
 */
static int take_word(const char *name, const char **at, struct spoken *to, int most)
{
    int characters = 0;

    for (const char *c = *at; *c != '\0';) {
        uint32_t point = 0;
        size_t bytes = ws_character_read(c, strlen(c), &point);
        bool spoken = bytes > 0 && (is_spoken(point) || joins(name, c));

        if (spoken && characters < most)
            add_bytes(to, c, bytes);
        characters += spoken;
        c += bytes > 0 ? bytes : 1;
        *at = c;
        if (!spoken && characters > 0)
            break;
    }
    return characters;
}

/* Words of a name, until `enough` characters are together; at most `most`. Null: none. */
static void speakable(const char *name, int enough, int most, struct spoken *to)
{
    const char *at = name;
    int characters = 0;

    while (name != NULL && characters < enough && characters < most) {
        struct spoken before = *to;
        int more;

        if (to->length > 0)
            add_bytes(to, " ", 1);
        more = take_word(name, &at, to, most - characters);
        if (more == 0) {
            to->length = before.length;
            to->text[to->length] = '\0';
            return;
        }
        characters += more;
    }
}

/* Whether a name holds a word, as "tray" does and "A2" does not. */
static bool has_word(const char *name)
{
    uint32_t point;
    int letters = 0;

    for (size_t bytes; *name != '\0' && letters<A_WORD; name += bytes> 0 ? bytes : 1) {
        bytes = ws_character_read(name, strlen(name), &point);
        letters = bytes > 0 && is_spoken(point) && !is_digit(point) ? letters + 1 : 0;
    }
    return letters >= A_WORD;
}

/* ---- filling ---- */

/* Of a phrase that is part of another no word is made of phrases again. */
struct filler {
    const struct ws_phrases *phrases;
    const struct ws_phrase_facts *facts;
    bool inner;
};

static void fill(const struct filler *filler, enum ws_phrase phrase, struct spoken *to);

static void add_number(struct spoken *to, int64_t number)
{
    char digits[24];

    if (number < 0)
        return;
    snprintf(digits, sizeof digits, "%lld", (long long)number);
    add(to, digits);
}

static void add_part(const struct filler *filler, enum ws_phrase one, enum ws_phrase many,
                     int64_t count, struct spoken *to)
{
    struct ws_phrase_facts facts = { .count = (int)count, .of = -1, .seconds = -1 };
    struct filler part = { filler->phrases, &facts, true };

    if (to->length > 0)
        add(to, " ");
    fill(&part, count == 1 ? one : many, to);
}

static void add_time(const struct filler *filler, struct spoken *to)
{
    /* A run lasts days at most; what is longer is no time. */
    int64_t seconds = filler->facts->seconds, minutes = seconds / 60;

    if (seconds < 0 || minutes > 100000)
        return;
    if (minutes > 0)
        add_part(filler, WS_PHRASE_MINUTE, WS_PHRASE_MINUTES, minutes, to);
    if (minutes == 0 || seconds % 60 > 0)
        add_part(filler, WS_PHRASE_SECOND, WS_PHRASE_SECONDS, seconds % 60, to);
}

static void add_tank(const struct filler *filler, struct spoken *to)
{
    char name[WS_SPOKEN_BYTES] = "";
    struct spoken spoken = { .text = name, .size = sizeof name };
    struct ws_phrase_facts facts = { .tank = name, .count = -1, .of = -1, .seconds = -1 };
    struct filler part = { filler->phrases, &facts, true };

    speakable(filler->facts->tank, TANK_NAME, TANK_NAME, &spoken);
    if (filler->inner || has_word(name))
        add(to, name);
    else if (spoken.length > 0)
        fill(&part, WS_PHRASE_TANK, to);
}

/* One word, into room of its own: blanks about it are not its business. */
static void add_word(const struct filler *filler, enum ws_phrase_word word, struct spoken *to)
{
    const struct ws_phrase_facts *facts = filler->facts;
    char text[WS_SPOKEN_BYTES] = "";
    struct spoken spoken = { .text = text, .size = sizeof text };

    switch (word) {
    case WS_WORD_TANK:
        add_tank(filler, &spoken);
        break;
    case WS_WORD_FILM:
        speakable(facts->film, FILM_ENOUGH, FILM_WORD, &spoken);
        break;
    case WS_WORD_BATH:
        speakable(facts->bath, BATH_NAME, BATH_NAME, &spoken);
        break;
    case WS_WORD_COUNT:
        add_number(&spoken, facts->count);
        break;
    case WS_WORD_OF:
        add_number(&spoken, facts->of);
        break;
    case WS_WORD_SECONDS:
        add_number(&spoken, facts->seconds);
        break;
    case WS_WORD_TIME:
        if (!filler->inner)
            add_time(filler, &spoken);
        break;
    default:
        break;
    }
    add(to, text);
}

/* Takes blanks off both ends and all but one between words. */
static void close_up(char *text)
{
    char *to = text;

    for (const char *from = text; *from != '\0'; from++)
        if (*from != ' ' || (to > text && to[-1] != ' '))
            *to++ = *from;
    if (to > text && to[-1] == ' ')
        to--;
    *to = '\0';
}

/* Whether anything of it can be heard: a question mark alone can't. */
static bool is_heard(const char *text)
{
    uint32_t point;

    for (size_t bytes; *text != '\0'; text += bytes) {
        bytes = ws_character_read(text, strlen(text), &point);
        if (bytes == 0)
            bytes = 1;
        else if (is_spoken(point))
            return true;
    }
    return false;
}

/* Up to the next comma before a blank or the end; a comma within a number parts nothing. */
static size_t part_length(const char *text)
{
    size_t length = 0;

    while (text[length] != '\0' &&
           !(text[length] == ',' && (text[length + 1] == ' ' || text[length + 1] == '\0')))
        length++;
    return length;
}

static void fill_part(const struct filler *filler, const char *part, size_t length,
                      struct spoken *to)
{
    char text[WS_SPOKEN_BYTES] = "";
    struct spoken spoken = { .text = text, .size = sizeof text };
    size_t used;

    for (size_t i = 0; i < length; i += used) {
        enum ws_phrase_word word = WS_WORDS;

        used = 1;
        if (part[i] == '{')
            word = ws_phrase_word_at(part + i, &used);
        if (word != WS_WORDS) {
            add_word(filler, word, &spoken);
        } else {
            used = 1;
            add_bytes(&spoken, part + i, 1);
        }
    }
    close_up(text);
    if (!is_heard(text))
        return;
    if (to->length > 0)
        add(to, ", ");
    add(to, text);
}

static void fill(const struct filler *filler, enum ws_phrase phrase, struct spoken *to)
{
    const char *text = filler->phrases->text[phrase];
    char whole[WS_SPOKEN_BYTES] = "";
    struct spoken spoken = { .text = whole, .size = sizeof whole };

    for (size_t length; *text != '\0'; text += length + (text[length] == ',')) {
        length = part_length(text);
        fill_part(filler, text, length, &spoken);
    }
    add(to, whole);
}

size_t ws_phrase_say(const struct ws_phrases *phrases, enum ws_phrase phrase,
                     const struct ws_phrase_facts *facts, char *text, size_t size)
{
    struct filler filler = { .phrases = phrases, .facts = facts };
    struct spoken spoken = { .text = text, .size = size };

    if (size == 0)
        return 0;
    text[0] = '\0';
    /* The parts of {time} and {tank} can be asked for by themselves, too. */
    filler.inner =
        phrase == WS_PHRASE_TANK || (phrase >= WS_PHRASE_MINUTES && phrase <= WS_PHRASE_SECOND);
    if ((int)phrase >= 0 && phrase < WS_PHRASES)
        fill(&filler, phrase, &spoken);
    return spoken.length;
}
