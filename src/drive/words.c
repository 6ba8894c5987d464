/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is said: which words, so that a number in them is true when they end, and rendered ahead in
 * order of due. On the sound's thread. Lengths of words are real time; moments are the clock's. */
#include "mouth.h"

#include <stdlib.h>
#include <string.h>

#define SECOND_NS INT64_C(1000000000)

/* From a cue's moment to the end of its words: a tone of at most 1.6 s with its gap, words of at
 * most 4 s, and up to the next number that is said five more. */
enum { TO_THE_END_MS = 11000 };

/* ---- words ---- */

/* What a saying is in words, with `seconds` left. */
static void compose(const struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                    const struct ws_saying *saying, int64_t seconds, char text[WS_SPOKEN_BYTES])
{
    char letter[2] = { (char)('A' + tank), '\0' };
    struct ws_phrase_facts facts = { .count = saying->count, .of = saying->of, .seconds = seconds };

    if (list->several && !saying->bare && saying->phrase != WS_PHRASE_INVERT)
        facts.tank = letter;
    if (saying->named && !saying->bare) {
        facts.tank = letter;
        facts.film = list->film[0] != '\0' ? list->film : NULL;
    }
    if ((unsigned)saying->bath < WS_BATH_KINDS)
        facts.bath = mouth->phrases.text[ws_phrase_of_bath(saying->bath)];
    ws_phrase_say(&mouth->phrases, saying->phrase, &facts, text, WS_SPOKEN_BYTES);
}

bool ws_words_are_said(const struct ws_mouth *mouth, const struct ws_saying *saying)
{
    return mouth->speech_state == WS_SPEECH_READY && saying->phrase < WS_PHRASES &&
           mouth->voice.level >= saying->least;
}

static bool is_open_ended(const struct ws_saying *saying)
{
    return saying->to_ns != INT64_MAX && saying->seconds < 0;
}

/* Numbers that are easily heard and that hands can do something with. None is farther than five
 * seconds from the next: so long words wait for their moment, and no longer. */
static bool is_said_number(int64_t n)
{
    return n > 0 && (n % 5 == 0 || n == 12 || n == 8 || n == 6 || (n < 5 && n > 1));
}

static int64_t length_ns(const struct ws_mouth *mouth, int frames)
{
    return ws_mouth_lasts_ns(mouth, frames * 1000.0 / WS_SOUND_HZ);
}

/* When the words are to begin so that `seconds` are left at their end. */
static int64_t begin_at(const struct ws_mouth *mouth, const struct ws_saying *saying,
                        int64_t seconds, int frames)
{
    return saying->to_ns - seconds * SECOND_NS - length_ns(mouth, frames);
}

/* The least number that may be said when so many seconds are left. */
static int64_t least_number(const struct ws_mouth *mouth, int64_t most)
{
    int64_t least = most - ws_mouth_lasts_ns(mouth, TO_THE_END_MS) / SECOND_NS;

    return least > 2 ? least : 2;
}

bool ws_words_choose(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                     const struct ws_saying *saying, int64_t from_ns, char text[WS_SPOKEN_BYTES],
                     int64_t *begin_ns)
{
    bool open = is_open_ended(saying);
    int64_t most = open ? (saying->to_ns - from_ns) / SECOND_NS : saying->seconds;
    int64_t least = open ? least_number(mouth, most) : most;

    *begin_ns = 0;
    if (!ws_words_are_said(mouth, saying))
        return false;
    for (int64_t seconds = most; seconds >= least; seconds--) {
        int frames;

        if (open && !is_said_number(seconds))
            continue;
        compose(mouth, tank, list, saying, seconds, text);
        frames = ws_speech_frames(mouth->speech, text);
        if (saying->to_ns != INT64_MAX)
            *begin_ns = begin_at(mouth, saying, seconds, frames);
        if (frames > 0 && (saying->to_ns == INT64_MAX || *begin_ns >= from_ns))
            return true;
    }
    return false;
}

/* ---- the answer to a key ---- */

/* How it is with a text that is wanted now. */
static enum ws_words look_for(struct ws_mouth *mouth, const char *text, int *frames)
{
    *frames = 0;
    if (!ws_speech_knows(mouth->speech, text)) {
        ws_speech_want(mouth->speech, text);
        return WS_WORDS_WAIT;
    }
    *frames = ws_speech_frames(mouth->speech, text);
    return *frames > 0 ? WS_WORDS_READY : WS_WORDS_NONE;
}

static int64_t seconds_left(const struct ws_saying *saying, int64_t from_ns)
{
    return saying->to_ns > from_ns ? (saying->to_ns - from_ns) / SECOND_NS : 0;
}

enum ws_words ws_words_answer(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                              struct ws_saying *saying, int64_t from_ns)
{
    char text[WS_SPOKEN_BYTES];
    enum ws_words words;
    int64_t left;
    int frames;

    if (saying->to_ns == INT64_MAX) {
        compose(mouth, tank, list, saying, saying->seconds, text);
        return look_for(mouth, text, &frames);
    }
    /* The words' length is known once they are rendered: then they are asked for with what will be
     * left, until it fits. */
    saying->seconds = seconds_left(saying, from_ns);
    for (;;) {
        compose(mouth, tank, list, saying, saying->seconds, text);
        words = look_for(mouth, text, &frames);
        if (words != WS_WORDS_READY || saying->seconds == 0 ||
            begin_at(mouth, saying, saying->seconds, frames) >= from_ns)
            return words;
        left = seconds_left(saying, from_ns + length_ns(mouth, frames));
        saying->seconds = left < saying->seconds ? left : saying->seconds - 1;
    }
}

bool ws_words_are_late(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                       const struct ws_ring_item *item)
{
    char text[WS_SPOKEN_BYTES];
    int frames;

    if (mouth->last_frames > 0 || item->cue.kind == WS_CUE_KINDS ||
        item->saying.to_ns != INT64_MAX || !ws_words_are_said(mouth, &item->saying))
        return false;
    compose(mouth, tank, list, &item->saying, item->saying.seconds, text);
    return look_for(mouth, text, &frames) != WS_WORDS_NONE;
}

/* ---- ahead ---- */

/* One time that an item is said. */
struct due {
    int64_t at_ns;
    int tank, item;
    bool bare; /* a repeat */
};

/* What one tank says, at most each item once and once more as a repeat. */
enum { DUES = WS_TANKS * WS_RING_ITEMS * 2 };

static int add_dues(const struct ws_mouth *mouth, const struct ws_mouth_tank *from, int tank,
                    int64_t now_ns, struct due *due)
{
    int n = 0;

    for (int i = 0; i < from->list->items; i++) {
        const struct ws_ring_item *item = &from->list->item[i];
        int64_t at_ns = from->next_ns[i];
        bool again = item->again_ns > 0 && (item->standing || at_ns > item->due_ns);

        /* What only a press makes due may be due at once. */
        if (item->due_ns == INT64_MAX)
            at_ns = now_ns;
        if (at_ns == INT64_MAX || !ws_words_are_said(mouth, &item->saying))
            continue;
        due[n++] = (struct due){ at_ns, tank, i, again };
        if (item->again_ns > 0)
            due[n++] = (struct due){ at_ns + item->again_ns, tank, i, true };
    }
    return n;
}

static int compare_dues(const void *one, const void *two)
{
    const struct due *a = one, *b = two;

    if (a->at_ns != b->at_ns)
        return a->at_ns < b->at_ns ? -1 : 1;
    return a->tank != b->tank ? a->tank - b->tank : a->item - b->item;
}

/* Puts a text at the end of those expected, unless it is among them; their number. */
static int add_text(struct ws_mouth *mouth, int n, int tank, const struct ws_ring_list *list,
                    const struct ws_saying *saying, int64_t seconds)
{
    char *text = mouth->ahead[n];

    compose(mouth, tank, list, saying, seconds, text);
    for (int i = 0; i < n; i++)
        if (strcmp(mouth->ahead[i], text) == 0)
            return n;
    return n + 1;
}

/* Every text a saying may have when its time comes. */
static int add_texts(struct ws_mouth *mouth, int n, const struct ws_mouth_tank *from,
                     const struct due *due)
{
    struct ws_saying saying = from->list->item[due->item].saying;
    int64_t most, least;

    saying.bare = due->bare;
    if (!is_open_ended(&saying))
        return add_text(mouth, n, due->tank, from->list, &saying, saying.seconds);
    most = (saying.to_ns - due->at_ns) / SECOND_NS;
    least = least_number(mouth, most);
    for (int64_t seconds = most; seconds >= least && n < WS_SPEECH_EXPECTED; seconds--)
        if (is_said_number(seconds))
            n = add_text(mouth, n, due->tank, from->list, &saying, seconds);
    return n;
}

void ws_mouth_expect(struct ws_mouth *mouth, const struct ws_mouth_tank tank[WS_TANKS],
                     int64_t now_ns)
{
    const char *text[WS_SPEECH_EXPECTED];
    struct due due[DUES];
    int dues = 0, n = 0;

    if (mouth->speech == NULL || mouth->speech_state != WS_SPEECH_READY)
        return;
    for (int i = 0; i < WS_TANKS; i++)
        dues += add_dues(mouth, &tank[i], i, now_ns, due + dues);
    qsort(due, (size_t)dues, sizeof due[0], compare_dues);
    for (int i = 0; i < dues && n < WS_SPEECH_EXPECTED; i++)
        n = add_texts(mouth, n, &tank[due[i].tank], &due[i]);
    for (int i = 0; i < n; i++)
        text[i] = mouth->ahead[i];
    ws_speech_expect(mouth->speech, text, n);
}
