/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The phrases a voice has rendered or is to render. */
#include "rendered.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/calc/units.h"

enum { BY_ITSELF = -1, NOT_EXPECTED = INT_MAX };

static void forget(struct ws_rendered_phrase *phrase)
{
    free(phrase->frame);
    *phrase = (struct ws_rendered_phrase){ .text = "" };
}

void ws_rendered_free(struct ws_rendered *rendered)
{
    for (int i = 0; i < WS_SPEECH_PHRASES; i++)
        forget(&rendered->phrase[i]);
}

/* FNV-1a (Fowler, Noll, Vo), 32 bits. */
static uint32_t sum_of(const char *text)
{
    uint32_t sum = 2166136261u;

    for (; *text != '\0'; text++)
        sum = (sum ^ (unsigned char)*text) * 16777619u;
    return sum;
}

struct ws_rendered_phrase *ws_rendered_find(struct ws_rendered *rendered, const char *text)
{
    uint32_t sum = sum_of(text);

    for (int i = 0; i < WS_SPEECH_PHRASES; i++) {
        struct ws_rendered_phrase *phrase = &rendered->phrase[i];

        if (phrase->sum == sum && phrase->text[0] != '\0' && strcmp(phrase->text, text) == 0)
            return phrase;
    }
    return NULL;
}

const struct ws_rendered_phrase *ws_rendered_ready(struct ws_rendered *rendered, const char *text)
{
    const struct ws_rendered_phrase *phrase = ws_rendered_find(rendered, text);

    return phrase != NULL && phrase->stage == WS_RENDER_DONE ? phrase : NULL;
}

/* Whether of two phrases the first comes before the other. */
static bool is_before(const struct ws_rendered_phrase *a, const struct ws_rendered_phrase *b)
{
    return a->rank != b->rank ? a->rank < b->rank : a->asked < b->asked;
}

struct ws_rendered_phrase *ws_rendered_next(struct ws_rendered *rendered)
{
    struct ws_rendered_phrase *next = NULL;

    for (int i = 0; i < WS_SPEECH_PHRASES; i++) {
        struct ws_rendered_phrase *phrase = &rendered->phrase[i];

        if (phrase->text[0] != '\0' && phrase->stage == WS_RENDER_WANTED &&
            (next == NULL || is_before(phrase, next)))
            next = phrase;
    }
    return next;
}

bool ws_rendered_all(const struct ws_rendered *rendered)
{
    for (int i = 0; i < WS_SPEECH_PHRASES; i++)
        if (rendered->phrase[i].text[0] != '\0' && rendered->phrase[i].stage != WS_RENDER_DONE)
            return false;
    return true;
}

/* A free place, or that of the first to be forgotten: of the highest rank, and of those the one
 * asked for longest ago. */
static struct ws_rendered_phrase *find_place(struct ws_rendered *rendered)
{
    struct ws_rendered_phrase *last = &rendered->phrase[0];

    for (int i = 0; i < WS_SPEECH_PHRASES; i++) {
        struct ws_rendered_phrase *phrase = &rendered->phrase[i];

        if (phrase->text[0] == '\0')
            return phrase;
        if (phrase->rank > last->rank ||
            (phrase->rank == last->rank && phrase->asked < last->asked))
            last = phrase;
    }
    return last;
}

/* Puts a text that has no place into one. */
static struct ws_rendered_phrase *place(struct ws_rendered *rendered, const char *text)
{
    struct ws_rendered_phrase *phrase = find_place(rendered);

    forget(phrase);
    ws_text_copy(phrase->text, sizeof phrase->text, text);
    phrase->sum = sum_of(text);
    return phrase;
}

static void give_rank(struct ws_rendered *rendered, struct ws_rendered_phrase *phrase, int rank)
{
    phrase->rank = rank;
    phrase->asked = ++rendered->asked;
}

static bool may_be_said(const char *text)
{
    return text[0] != '\0' && strlen(text) < WS_SPEECH_BYTES;
}

bool ws_rendered_want(struct ws_rendered *rendered, const char *text)
{
    struct ws_rendered_phrase *phrase;
    bool new;

    if (!may_be_said(text))
        return false;
    phrase = ws_rendered_find(rendered, text);
    new = phrase == NULL;
    give_rank(rendered, new ? place(rendered, text) : phrase, BY_ITSELF);
    return new;
}

bool ws_rendered_expect(struct ws_rendered *rendered, const char *const *text, int texts)
{
    int n = texts < WS_SPEECH_EXPECTED ? texts : (int)WS_SPEECH_EXPECTED;
    bool any = false;

    /* First all that are there get their new ranks, so that none of them makes room for another. */
    for (int i = 0; i < WS_SPEECH_PHRASES; i++) {
        struct ws_rendered_phrase *phrase = &rendered->phrase[i];

        if (phrase->rank != BY_ITSELF || phrase->stage == WS_RENDER_DONE)
            phrase->rank = NOT_EXPECTED;
    }
    /* From the end, so that of a text given twice the first place counts. */
    for (int i = n - 1; i >= 0; i--) {
        struct ws_rendered_phrase *phrase = ws_rendered_find(rendered, text[i]);

        if (phrase != NULL && phrase->rank != BY_ITSELF)
            give_rank(rendered, phrase, i);
    }
    for (int i = 0; i < n; i++) {
        if (!may_be_said(text[i]) || ws_rendered_find(rendered, text[i]) != NULL)
            continue;
        give_rank(rendered, place(rendered, text[i]), i);
        any = true;
    }
    return any;
}
