/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets in trays: whether, how many, and in which rhythm. */
#include <stdio.h>
#include <string.h>

#include "choose.h"

enum { SHEETS, EVERY, SHUFFLE, TRAY_FIELDS };
enum { MOST_SHEETS = 64, MOST_SECONDS = 3600 };

bool choose_are_sheets(const struct choosing *c)
{
    return c->choice.rolls > 0 && ws_format_sheet(c->choice.roll[0].format);
}

/* While a process is made of answers, it has no trays yet. */
static bool trays_of(const struct choosing *c, struct ws_trays *trays)
{
    if (!c->making)
        return ws_choice_trays(&c->choice, trays);
    *trays = c->few.trays;
    return trays->sheets > 0 && choose_are_sheets(c);
}

bool choose_in_trays(const struct choosing *c)
{
    struct ws_trays trays;

    return trays_of(c, &trays);
}

/* A rhythm; a fraction of a second is kept. */
static void print_every(int64_t time_ms, char *text, size_t size)
{
    if (time_ms % 1000 == 0)
        ws_time_print(time_ms, text, size);
    else
        snprintf(text, size, "%.7g s", (double)time_ms / 1000);
}

void choose_trays_line(const struct choosing *c, char *text, size_t size)
{
    struct ws_trays trays;
    char every[24], shuffle[24];

    text[0] = '\0';
    if (!trays_of(c, &trays))
        return;
    print_every(trays.every_ms, every, sizeof every);
    print_every(trays.shuffle_ms, shuffle, sizeof shuffle);
    snprintf(text, size, "%d sheet%s%s%s%s%s", trays.sheets, trays.sheets == 1 ? "" : "s",
             trays.sheets > 1 ? ", one in every " : "", trays.sheets > 1 ? every : "",
             trays.shuffle_ms > 0 ? ", one shuffled every " : ", no shuffle",
             trays.shuffle_ms > 0 ? shuffle : "");
}

/* ---- what is typed ---- */

/* In a field that says seconds a bare number is one of seconds, with or without a fraction. */
static enum ws_status read_seconds(const char *text, int64_t *time_ms, struct ws_message *why)
{
    char seconds[WS_FIELD_BYTES + 2];
    enum ws_status status;

    if (text[strspn(text, "0123456789.,")] == '\0')
        snprintf(seconds, sizeof seconds, "%ss", text);
    else
        ws_text_copy(seconds, sizeof seconds, text);
    status = ws_time_read(seconds, time_ms, NULL, why);
    if (status == WS_OK && (*time_ms < 1000 || *time_ms > MOST_SECONDS * INT64_C(1000)))
        status = ws_fail(why, WS_BAD_INPUT, "%s: from 1 second to an hour, such as 10", text);
    return status;
}

static enum ws_status read_sheets(const char *text, int *sheets, struct ws_message *why)
{
    struct ws_message inner;
    double value = 0;

    if (ws_number_read(text, &value, &inner) != WS_OK || !(value >= 1 && value <= MOST_SHEETS) ||
        value > (double)(int)value)
        return ws_fail(why, WS_BAD_INPUT, "\"%.40s\" sheets: a whole number from 1 to %d", text,
                       MOST_SHEETS);
    *sheets = (int)value;
    return WS_OK;
}

/* *at: the field that is wrong. */
static enum ws_status read_trays(const struct ws_field *field, struct ws_trays *trays, int *at,
                                 struct ws_message *why)
{
    enum ws_status status;

    memset(trays, 0, sizeof *trays);
    *at = SHEETS;
    status = read_sheets(field[SHEETS].text, &trays->sheets, why);
    if (status != WS_OK)
        return status;
    *at = EVERY;
    status = read_seconds(field[EVERY].text, &trays->every_ms, why);
    if (status != WS_OK || field[SHUFFLE].text[0] == '\0')
        return status;
    *at = SHUFFLE;
    return read_seconds(field[SHUFFLE].text, &trays->shuffle_ms, why);
}

/* ---- the page ---- */

struct number_job {
    struct ws_choice *choice;
    int sheets;
    enum ws_status status;
    struct ws_message *why;
};

static void number_job(struct ws_book *book, void *arg)
{
    struct number_job *job = arg;

    job->status = ws_choice_number_sheets(book, job->choice, job->sheets, job->why);
}

/* Other trays and the numbers of their sheets, or nothing of it. */
static enum ws_status take_trays(struct choosing *c, const struct ws_trays *trays,
                                 struct ws_message *why)
{
    struct number_job job = { .choice = &c->choice, .sheets = trays->sheets, .why = why };
    bool changed = c->choice.changed;
    struct ws_trays was;

    trays_of(c, &was);
    if (!c->making && ws_choice_set_trays(&c->choice, trays, why) != WS_OK)
        return WS_BAD_INPUT;
    ws_drive_book(c->console->drive, number_job, &job);
    if (c->making && job.status == WS_OK)
        c->few.trays = *trays;
    if (!c->making && job.status != WS_OK) {
        ws_choice_set_trays(&c->choice, &was, NULL);
        c->choice.changed = changed;
    }
    return job.status;
}

static enum ws_status accept_trays(void *self, const struct ws_field *field, int *at,
                                   struct ws_message *why)
{
    struct ws_trays trays;
    enum ws_status status = read_trays(field, &trays, at, why);

    if (status != WS_OK)
        return status;
    *at = SHEETS;
    return take_trays(self, &trays, why);
}

/* Which of the sheets are kept by number. */
static void note_numbers(const struct ws_choice *choice, int sheets, struct ws_notes *notes)
{
    int chosen = choice->rolls - choice->numbered, kept = sheets < WS_PLACES ? sheets : WS_PLACES;
    const char *last = chosen > 0 ? choice->roll[chosen - 1].number : "";

    if (chosen == 0)
        return;
    if (kept > chosen)
        ws_note(notes, false, "%s: %d of them get%s the number%s after %s", "for the log",
                kept - chosen, kept - chosen == 1 ? "s" : "", kept - chosen == 1 ? "" : "s", last);
    if (sheets > kept)
        ws_note(notes, false, "%d of them are kept by number, a run has no more places", kept);
}

static void look_at_trays(void *self, const struct ws_field *field, int at, struct ws_notes *notes)
{
    const struct choosing *c = self;
    struct ws_trays trays;
    char text[24];

    if (read_trays(field, &trays, &at, NULL) != WS_OK)
        return;
    if (trays.sheets > 1) {
        print_every((trays.sheets - 1) * trays.every_ms, text, sizeof text);
        ws_note(notes, true, "the last sheet is in at %s, and out %s after the first", text, text);
    }
    if (trays.shuffle_ms > 0 && trays.sheets > 1) {
        print_every(trays.sheets * trays.shuffle_ms, text, sizeof text);
        ws_note(notes, false, "the whole pile is gone through every %s", text);
    }
    note_numbers(&c->choice, trays.sheets, notes);
}

/* As it is typed: read again it is the same. */
static void print_seconds(int64_t time_ms, char *text, size_t size)
{
    snprintf(text, size, "%.7g", (double)time_ms / 1000);
}

/* What stands there at first: what was answered, tonight's sheets, or common practice. */
static void fill_in(const struct choosing *c, struct ws_field *field)
{
    struct ws_trays trays;
    bool known = trays_of(c, &trays);
    int chosen = c->choice.rolls - c->choice.numbered;
    bool as_known = known && (c->making || chosen == 0 || c->choice.numbered > 0);
    int sheets = as_known ? trays.sheets : chosen;

    if (known || chosen > 1)
        snprintf(field[SHEETS].text, sizeof field[SHEETS].text, "%d", sheets);
    if (known && trays.every_ms > 0)
        print_seconds(trays.every_ms, field[EVERY].text, sizeof field[EVERY].text);
    if (known && trays.shuffle_ms == 0)
        field[SHUFFLE].text[0] = '\0';
    else if (known)
        print_seconds(trays.shuffle_ms, field[SHUFFLE].text, sizeof field[SHUFFLE].text);
}

static enum ws_answer ask_trays(struct choosing *c)
{
    struct ws_field field[TRAY_FIELDS] = {
        [SHEETS] = { .label = "sheets", .columns = 6, .needed = true, .example = "6" },
        [EVERY] = { .label = "seconds between two",
                    .columns = 8,
                    .needed = true,
                    .text = "10",
                    .example = "10, in and out" },
        [SHUFFLE] = { .label = "seconds between shuffles",
                      .columns = 8,
                      .text = "5",
                      .example = "5: a tick to move one, bottom to top; empty: none" },
    };
    struct ws_ask page = { .title = "How do the sheets go through the trays?",
                           .about = "One by one, out in the order they went in, so that each has "
                                    "its full time in every tray. Common practice stands there.",
                           .field = field,
                           .fields = TRAY_FIELDS,
                           .accept = accept_trays,
                           .look = look_at_trays };
    char what[CHOOSE_LINE];

    fill_in(c, field);
    choose_page(c, &page, what);
    return ws_ask(c->console, &page);
}

/* ---- trays or a tank ---- */

enum ws_answer choose_trays(struct choosing *c)
{
    static const char *const line[] = { "in open trays, one by one, in the dark",
                                        "in a closed tank or drum, like film on a reel" };
    char what[CHOOSE_LINE];
    struct ws_pick pick = { .room = &ws_room_sink,
                            .what = choose_what(c, what, sizeof what),
                            .title = "In what are the sheets developed?",
                            .about = "Over open trays the screen is black and cues are heard, not "
                                     "seen.",
                            .line = line,
                            .lines = 2,
                            .at = c->closed_sheets };
    enum ws_answer answer;

    if (!c->making)
        return ask_trays(c);
    do {
        answer = ws_pick(c->console, &pick);
        if (answer != WS_ANSWER_NEXT)
            return answer;
        c->closed_sheets = pick.at == 1;
        if (!c->closed_sheets) {
            answer = ask_trays(c);
        } else {
            memset(&c->few.trays, 0, sizeof c->few.trays);
            ws_choice_unnumber_sheets(&c->choice);
        }
    } while (answer == WS_ANSWER_BACK);
    return answer;
}
