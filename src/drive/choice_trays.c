/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets in trays: how many, in which rhythm, and by which numbers. */
#include <stdio.h>
#include <string.h>

#include "wetside/calc/units.h"
#include "wetside/drive/choice.h"

enum { SECOND_MS = 1000 };

/* Common practice: by then a fixer has done so much that light does no harm. */
enum { LIGHT_AFTER_MS = 120 * SECOND_MS };

bool ws_choice_trays(const struct ws_choice *choice, struct ws_trays *trays)
{
    const struct ws_process *process = &choice->process;

    memset(trays, 0, sizeof *trays);
    for (int i = 0; i < process->baths; i++) {
        const struct ws_bath *bath = &process->bath[i];

        if (bath->pieces == 0)
            continue;
        if (trays->sheets == 0) {
            trays->sheets = bath->pieces;
            trays->every_ms = bath->piece_every_ms;
        }
        if (trays->shuffle_ms == 0 && bath->agitation.rhythm == WS_SHUFFLE)
            trays->shuffle_ms = bath->agitation.every_ms;
    }
    return trays->sheets > 0;
}

int64_t ws_trays_least_ms(const struct ws_trays *trays)
{
    return trays->sheets > 1 ? (trays->sheets - 1) * trays->every_ms + SECOND_MS : SECOND_MS;
}

enum ws_status ws_trays_check(const struct ws_trays *trays, const char *name, int64_t time_ms,
                              struct ws_message *why)
{
    char is[24], every[24], least[24];

    if (time_ms >= ws_trays_least_ms(trays))
        return WS_OK;
    ws_time_print(time_ms, is, sizeof is);
    ws_time_print(trays->every_ms, every, sizeof every);
    ws_time_print(ws_trays_least_ms(trays), least, sizeof least);
    return ws_fail(why, WS_BAD_INPUT,
                   "%s of %s: the first of %d sheets would be due out before the last is in, one "
                   "every %s; at least %s",
                   name, is, trays->sheets, every, least);
}

/* The longest the bath is said to last: its time, or that of its points. */
static int64_t known_ms(const struct ws_bath *bath)
{
    int64_t longest_ms = bath->time_ms;

    for (int k = 0; bath->time_ms == 0 && k < bath->points; k++)
        if (bath->point[k].time_ms > longest_ms)
            longest_ms = bath->point[k].time_ms;
    return longest_ms;
}

static void set_sheets(struct ws_bath *bath, const struct ws_trays *trays)
{
    bath->pieces = trays->sheets;
    bath->piece_every_ms = trays->sheets > 1 ? trays->every_ms : 0;
}

static void set_shuffle(struct ws_bath *bath, const struct ws_trays *trays)
{
    bath->agitation.rhythm = trays->shuffle_ms > 0 ? WS_SHUFFLE : WS_STAND;
    bath->agitation.every_ms = trays->shuffle_ms;
}

void ws_trays_bath(const struct ws_trays *trays, struct ws_bath *bath)
{
    bath->clock_from = WS_FROM_FIRST_LIQUID;
    bath->open_film = true;
    memset(&bath->agitation, 0, sizeof bath->agitation);
    set_sheets(bath, trays);
    set_shuffle(bath, trays);
    if (bath->kind == WS_BATH_FIXER)
        bath->light_ms = LIGHT_AFTER_MS;
}

enum ws_status ws_choice_set_trays(struct ws_choice *choice, const struct ws_trays *trays,
                                   struct ws_message *why)
{
    struct ws_process process = choice->process;
    struct ws_trays was;

    if (!ws_choice_trays(choice, &was))
        return ws_fail(why, WS_BAD_INPUT, "this process has no trays");
    for (int i = 0; i < process.baths; i++) {
        struct ws_bath *bath = &process.bath[i];

        if (bath->pieces == 0)
            continue;
        if (ws_trays_check(trays, bath->name, known_ms(bath), why) != WS_OK)
            return WS_BAD_INPUT;
        set_sheets(bath, trays);
        /* A tray that is agitated otherwise stays so; one that stands beside others that are
         * shuffled does too. */
        if (bath->agitation.rhythm == WS_SHUFFLE ||
            (bath->agitation.rhythm == WS_STAND && was.shuffle_ms == 0))
            set_shuffle(bath, trays);
    }
    if (ws_process_check(&process, why) != WS_OK)
        return WS_BAD_INPUT;
    if (was.sheets != trays->sheets || (trays->sheets > 1 && was.every_ms != trays->every_ms) ||
        was.shuffle_ms != trays->shuffle_ms)
        choice->changed = true;
    choice->process = process;
    return WS_OK;
}

/* ---- the numbers of the sheets ---- */

void ws_choice_unnumber_sheets(struct ws_choice *choice)
{
    choice->rolls -= choice->numbered < choice->rolls ? choice->numbered : choice->rolls;
    choice->numbered = 0;
}

/* One more like the last, with the number that follows. */
static enum ws_status number_next(struct ws_book *book, struct ws_choice *choice)
{
    const struct ws_roll *last = &choice->roll[choice->rolls - 1];
    struct ws_roll next = { .format = last->format, .ei = last->ei };
    enum ws_status status;

    ws_text_copy(next.film, sizeof next.film, last->film);
    ws_text_copy(next.wish, sizeof next.wish, last->wish);
    status = ws_choice_next_number(book, choice, next.format, next.number);
    if (status == WS_OK) {
        choice->roll[choice->rolls++] = next;
        choice->numbered++;
    }
    return status;
}

enum ws_status ws_choice_number_sheets(struct ws_book *book, struct ws_choice *choice, int sheets,
                                       struct ws_message *why)
{
    int rolls = choice->rolls, numbered = choice->numbered, chosen = rolls - numbered;
    struct ws_roll before[WS_PLACES];

    if (sheets < chosen)
        return ws_fail(why, WS_BAD_INPUT,
                       "%d sheets are chosen by number, and %d would go in: at least as many",
                       chosen, sheets);
    memcpy(before, choice->roll, sizeof before);
    ws_choice_unnumber_sheets(choice);
    while (choice->rolls > 0 && choice->rolls < sheets && choice->rolls < WS_PLACES) {
        enum ws_status status = number_next(book, choice);

        if (status == WS_OK)
            continue;
        memcpy(choice->roll, before, sizeof before);
        choice->rolls = rolls;
        choice->numbered = numbered;
        return ws_fail(why, status, "the next number can't be read from the book");
    }
    return WS_OK;
}
