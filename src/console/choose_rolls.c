/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which rolls: reel by reel, by number, before the lights go out. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/console/list.h"

#include "choose.h"

enum { WIDE = 60 }; /* columns from which a line has the exposure index too */
enum { QUEUE = 200, FILMS = 500, MOST_EI = 1000000 };
enum { FILM, NUMBER, FORMAT, EI, ROLL_FIELDS };

/* ---- typing a roll ---- */

struct typing {
    struct choosing *c;
    char (*film)[WS_NAME]; /* the book's films */
    int films;
    const char *number; /* what was typed, for the job */
    char note[200], next[WS_NUMBER];
};

/* Of another one what the last was; the first into trays is a sheet. */
static enum ws_format usual_format(const struct choosing *c)
{
    if (c->choice.rolls > 0)
        return c->choice.roll[c->choice.rolls - 1].format;
    return choose_in_trays(c) ? WS_FORMAT_4X5 : WS_FORMAT_135_36;
}

static void films_job(struct ws_book *book, void *arg)
{
    struct typing *typing = arg;
    enum ws_status status = ws_film_list(book, typing->film, FILMS, &typing->films);

    if (status != WS_OK)
        typing->films = 0;
    if (ws_choice_next_number(book, &typing->c->choice, usual_format(typing->c), typing->next) !=
        WS_OK)
        typing->next[0] = '\0';
}

static void note_job(struct ws_book *book, void *arg)
{
    struct typing *typing = arg;

    ws_choice_number_note(book, &typing->c->choice, typing->number, typing->note,
                          sizeof typing->note);
}

static void look_at_roll(void *self, const struct ws_field *field, int at, struct ws_notes *notes)
{
    struct typing *typing = self;
    const struct ws_choice *choice = &typing->c->choice;

    (void)at;
    typing->number = field[NUMBER].text;
    ws_drive_book(typing->c->console->drive, note_job, typing);
    if (typing->note[0] != '\0')
        ws_note(notes, true, "%s", typing->note);
    if (choice->process.film[0] != '\0' && field[FILM].text[0] != '\0' &&
        strcmp(choice->process.film, field[FILM].text) != 0)
        ws_note(notes, false, "the process is for %s", choice->process.film);
}

/* The first film of the book that begins as the text does. */
static bool suggest_film(void *self, const struct ws_field *field, int at, char *text, size_t size)
{
    const struct typing *typing = self;
    size_t length = strlen(field[FILM].text);

    if (at != FILM || length == 0)
        return false;
    for (int i = 0; i < typing->films; i++) {
        if (strncmp(typing->film[i], field[FILM].text, length) == 0 &&
            typing->film[i][length] != '\0') {
            ws_text_copy(text, size, typing->film[i]);
            return true;
        }
    }
    return false;
}

static enum ws_status read_ei(const char *text, int *ei, struct ws_message *why)
{
    struct ws_message inner;
    double value = 0;

    if (text[0] == '\0') {
        *ei = 0;
        return WS_OK;
    }
    if (ws_number_read(text, &value, &inner) != WS_OK || value < 1 || value > MOST_EI ||
        value > (double)(int)value)
        return ws_fail(why, WS_BAD_INPUT,
                       "the exposure index \"%.40s\" is no whole number above 0, such as 125",
                       text);
    *ei = (int)value;
    return WS_OK;
}

static enum ws_status accept_roll(void *self, const struct ws_field *field, int *at,
                                  struct ws_message *why)
{
    struct typing *typing = self;
    struct ws_choice *choice = &typing->c->choice;
    struct ws_roll roll = { 0 };

    if (strlen(field[NUMBER].text) >= sizeof roll.number) {
        *at = NUMBER;
        return ws_fail(why, WS_BAD_INPUT, "a number has %d characters at most",
                       (int)sizeof roll.number - 1);
    }
    if (strlen(field[FILM].text) >= sizeof roll.film) {
        *at = FILM;
        return ws_fail(why, WS_BAD_INPUT, "a film's name has %d characters at most",
                       (int)sizeof roll.film - 1);
    }
    *at = EI;
    if (read_ei(field[EI].text, &roll.ei, why) != WS_OK)
        return WS_BAD_INPUT;
    ws_text_copy(roll.film, sizeof roll.film, field[FILM].text);
    ws_text_copy(roll.number, sizeof roll.number, field[NUMBER].text);
    ws_format_read(field[FORMAT].text, &roll.format);
    choice->roll[choice->rolls++] = roll;
    return WS_OK;
}

/* What stands in the fields at first: an answer given before, or what is likely. */
static void fill_in(const struct typing *typing, const struct ws_roll *before,
                    struct ws_field *field)
{
    ws_text_copy(field[FILM].text, WS_FIELD_BYTES,
                 before != NULL ? before->film : typing->c->choice.process.film);
    ws_text_copy(field[NUMBER].text, WS_FIELD_BYTES,
                 before != NULL ? before->number : typing->next);
    ws_text_copy(field[FORMAT].text, WS_FIELD_BYTES,
                 ws_format_name(before != NULL ? before->format : usual_format(typing->c)));
    if (before != NULL && before->ei > 0)
        snprintf(field[EI].text, WS_FIELD_BYTES, "%d", before->ei);
}

/* Asks for one roll and puts it on the next reel. `before`: what was answered before; may be null.
 */
static enum ws_answer type_roll(struct choosing *c, const char *title, const char *about,
                                const struct ws_roll *before)
{
    const char *format[WS_FORMATS + 1] = { NULL };
    struct ws_field field[ROLL_FIELDS] = {
        [FILM] = { .label = "film",
                   .columns = 30,
                   .needed = true,
                   .example = "Tarn 125, as on the box" },
        [NUMBER] = { .label = "roll number",
                     .columns = 20,
                     .needed = true,
                     .example = "2026-0143; any pattern of your own, it goes on the sleeve too" },
        [FORMAT] = { .label = "format", .columns = 8, .choice = format },
        [EI] = { .label = "exposure index", .columns = 8, .example = "125; empty: not stated" },
    };
    struct typing typing = { .c = c };
    struct ws_ask page = { .title = title,
                           .about = about,
                           .field = field,
                           .fields = ROLL_FIELDS,
                           .accept = accept_roll,
                           .look = look_at_roll,
                           .suggest = suggest_film };
    enum ws_answer answer = WS_ANSWER_LEAVE;
    char what[CHOOSE_LINE];

    typing.film = calloc(FILMS, sizeof *typing.film);
    if (typing.film == NULL)
        return answer;
    for (int i = 0; i < WS_FORMATS; i++)
        format[i] = ws_format_name((enum ws_format)i);
    ws_drive_book(c->console->drive, films_job, &typing);
    fill_in(&typing, before, field);
    choose_page(c, &page, what);
    page.self = &typing;
    answer = ws_ask(c->console, &page);
    free(typing.film);
    return answer;
}

enum ws_answer choose_film(struct choosing *c)
{
    struct ws_roll before = c->choice.roll[0];
    bool again = c->choice.rolls > 0;
    enum ws_answer answer;

    /* Coming back to it, what was answered stands there again. */
    c->choice.rolls = c->choice.numbered = 0;
    answer = type_roll(c, "Which film is it?",
                       "It gets a number, which is written on its sleeve too. The number stands "
                       "there already; write your own if you like.",
                       again ? &before : NULL);
    if (answer != WS_ANSWER_NEXT)
        c->choice.rolls = 0;
    return answer;
}

/* ---- reel by reel, or sheet by sheet ---- */

static void name_place(const struct choosing *c, int place, char *title, size_t size)
{
    if (!choose_in_trays(c))
        snprintf(title, size, "Which roll is on reel %d%s?", place,
                 place == 1 ? ", the lowest" : "");
    else if (place == 1)
        snprintf(title, size, "Which sheet goes in first?");
    else
        snprintf(title, size, "Which sheet goes in as number %d?", place);
}

struct reels {
    struct choosing *c;
    struct ws_roll_line *queue;
    int n;
    int row[QUEUE + 2]; /* which of the queue a line of the list is */
    int64_t roll_row;   /* for the job */
    struct ws_roll roll;
    enum ws_status status;
};

enum { LINE_DONE = -1, LINE_TYPED = -2 };

static void queue_job(struct ws_book *book, void *arg)
{
    struct reels *reels = arg;

    reels->status = ws_roll_queue(book, reels->queue, QUEUE, &reels->n);
    if (reels->status != WS_OK)
        reels->n = 0;
}

static void roll_job(struct ws_book *book, void *arg)
{
    struct reels *reels = arg;

    reels->status = ws_roll_get(book, reels->roll_row, &reels->roll);
}

static bool is_chosen(const struct ws_choice *choice, int64_t row)
{
    for (int i = 0; i < choice->rolls; i++)
        if (choice->roll[i].row == row)
            return true;
    return false;
}

static void print_waiting(const struct ws_roll_line *roll, char *line, size_t size)
{
    char ei[24] = "";

    if (roll->ei > 0)
        snprintf(ei, sizeof ei, "EI %d", roll->ei);
    line[0] = '\0';
    ws_list_cell(line, size, roll->number, COLS < WIDE ? 10 : 12);
    ws_list_cell(line, size, roll->film, COLS < WIDE ? 18 : 20);
    ws_list_cell(line, size, ws_format_name(roll->format), 7);
    if (COLS >= WIDE)
        ws_list_cell(line, size, ei, 8);
}

/* Lines of the list: done (once there is a roll), the waiting ones, one that is typed. Gives how
 * many, and where the cursor begins: on a roll of the process's film, or on done. */
static int make_lines(struct reels *reels, char (*text)[CHOOSE_LINE], const char **line, int *at)
{
    const struct ws_choice *choice = &reels->c->choice;
    bool found = choice->rolls > 0;
    int n = 0;

    *at = 0;
    if (choice->rolls > 0) {
        reels->row[n] = LINE_DONE;
        line[n++] = "that is all: go on";
    }
    for (int i = 0; i < reels->n; i++) {
        if (is_chosen(choice, reels->queue[i].row))
            continue;
        if (!found && choice->process.film[0] != '\0' &&
            strcmp(reels->queue[i].film, choice->process.film) == 0) {
            *at = n;
            found = true;
        }
        reels->row[n] = i;
        print_waiting(&reels->queue[i], text[n], CHOOSE_LINE);
        line[n] = text[n];
        n++;
    }
    reels->row[n] = LINE_TYPED;
    line[n++] = choose_in_trays(reels->c) ? "a sheet that is not in the book yet"
                                          : "a roll that is not in the book yet";
    return n;
}

static void tell_reels(const struct choosing *c, char *text, size_t size)
{
    const struct ws_choice *choice = &c->choice;
    const char *place = choose_in_trays(c) ? "sheet" : "reel";
    size_t used = 0;

    text[0] = '\0';
    for (int i = 0; i < choice->rolls; i++) {
        char piece[WS_NUMBER + WS_NAME + 32];

        snprintf(piece, sizeof piece, "%s%s %d: %s %s", i > 0 ? "; " : "", place, i + 1,
                 choice->roll[i].number, choice->roll[i].film);
        used += ws_text_copy(text + used, size - used, piece);
    }
}

/* One reel. BACK: the last one is taken off again, or out. */
static enum ws_answer one_reel(struct reels *reels, bool *done)
{
    struct choosing *c = reels->c;
    struct ws_choice *choice = &c->choice;
    char(*text)[CHOOSE_LINE] = calloc(QUEUE + 2, sizeof *text);
    const char **line = calloc(QUEUE + 2, sizeof *line);
    char what[CHOOSE_LINE], title[64], about[1024];
    struct ws_pick pick = { .room = &ws_room_sink,
                            .what = choose_what(c, what, sizeof what),
                            .title = title,
                            .about = about,
                            .line = line };
    enum ws_answer answer = WS_ANSWER_LEAVE;

    if (text == NULL || line == NULL)
        goto out;
    name_place(c, choice->rolls + 1, title, sizeof title);
    tell_reels(c, about, sizeof about);
    pick.lines = make_lines(reels, text, line, &pick.at);
    answer = ws_pick(c->console, &pick);
    if (answer != WS_ANSWER_NEXT)
        goto out;
    if (reels->row[pick.at] == LINE_DONE) {
        *done = true;
    } else if (reels->row[pick.at] == LINE_TYPED) {
        if (type_roll(c, title, NULL, NULL) == WS_ANSWER_LEAVE)
            answer = WS_ANSWER_LEAVE;
    } else {
        reels->roll_row = reels->queue[reels->row[pick.at]].row;
        ws_drive_book(c->console->drive, roll_job, reels);
        if (reels->status == WS_OK)
            choice->roll[choice->rolls++] = reels->roll;
    }
out:
    free(line);
    free(text);
    return answer;
}

/* With no roll waiting there is nothing to choose from: the first one is typed. */
static enum ws_answer first_typed(struct choosing *c)
{
    char title[64];

    name_place(c, 1, title, sizeof title);
    return type_roll(c, title, NULL, NULL);
}

enum ws_answer choose_rolls(struct choosing *c)
{
    struct reels *reels = calloc(1, sizeof *reels);
    struct ws_choice *choice = &c->choice;
    enum ws_answer answer = WS_ANSWER_LEAVE;
    bool done = false;

    if (reels != NULL)
        reels->queue = calloc(QUEUE, sizeof *reels->queue);
    if (reels == NULL || reels->queue == NULL)
        goto out;
    reels->c = c;
    ws_choice_unnumber_sheets(choice);
    ws_drive_book(c->console->drive, queue_job, reels);
    do {
        if (reels->n == 0 && choice->rolls == 0)
            answer = first_typed(c);
        else
            answer = one_reel(reels, &done);
        if (answer == WS_ANSWER_BACK && choice->rolls > 0) {
            choice->rolls--;
            answer = WS_ANSWER_NEXT;
        }
    } while (answer == WS_ANSWER_NEXT && !done && choice->rolls < WS_PLACES);
out:
    if (reels != NULL)
        free(reels->queue);
    free(reels);
    return answer;
}
