/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What of a choice comes from the book and goes into it; all on the book's thread. */
#include "wetside/drive/choice.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/book/process.h"
#include "wetside/calc/units.h"

enum {
    QUEUE_ROOM = 64,
    RUNS_BACK = 50 /* how far back a bottle of the same process is looked for */
};

/* What a ledger may be off by: sums of doubles printed to hundredths. */
#define SAME_ML 0.005

/* ---- repeating ---- */

/* The frozen plan's baths as a process again: what was measured then is taken out. */
static void process_of_plan(const struct ws_plan *plan, struct ws_process *out)
{
    memset(out, 0, sizeof *out);
    ws_text_copy(out->name, sizeof out->name, plan->process);
    out->baths = plan->baths;
    for (int i = 0; i < plan->baths; i++) {
        struct ws_bath *bath = &out->bath[i];

        *bath = plan->bath[i];
        memset(bath->part, 0, sizeof bath->part);
        bath->parts = 0;
        bath->start_c = NAN;
        if (bath->points > 0)
            bath->time_ms = 0;
    }
}

static enum ws_status bottles_of_plan(struct ws_book *book, const struct ws_plan *plan,
                                      struct ws_choice *choice)
{
    for (int i = 0; i < plan->baths; i++) {
        int stock = 0;

        for (int k = 0; k < plan->bath[i].parts; k++) {
            const struct ws_part *part = &plan->bath[i].part[k];
            struct ws_batch *batch;
            enum ws_status status;

            if (part->water || stock >= ws_choice_bottles(choice, i))
                continue;
            batch = &choice->bottle[i][stock++].batch;
            if (ws_id_none(&part->batch)) {
                /* Parts without a bottle bear the bath's own name: that is no bottle. */
                if (strcmp(part->name, plan->bath[i].name) != 0)
                    ws_text_copy(batch->number, sizeof batch->number, part->name);
                batch->left_ml = NAN;
                continue;
            }
            status = ws_batch_get(book, &part->batch, batch);
            if (status != WS_OK && status != WS_NOT_FOUND)
                return status;
        }
    }
    return WS_OK;
}

/* A new roll like one of that run. */
static enum ws_status roll_like(struct ws_book *book, const struct ws_place *place,
                                const struct ws_choice *choice, struct ws_roll *out)
{
    struct ws_roll then = { 0 };
    enum ws_status status = ws_roll_by_id(book, &place->roll, &then);

    if (status != WS_OK && status != WS_NOT_FOUND)
        return status;
    memset(out, 0, sizeof *out);
    ws_text_copy(out->film, sizeof out->film, place->film);
    out->format = status == WS_OK ? then.format : WS_FORMAT_135_36;
    out->ei = status == WS_OK ? then.ei : 0;
    return ws_choice_next_number(book, choice, out->format, out->number);
}

/* The first waiting roll of that film that is not chosen yet; 0: none. */
static int64_t waiting_roll(const struct ws_roll_line *queue, int n, const char *film,
                            const struct ws_choice *choice)
{
    for (int i = 0; i < n; i++) {
        bool taken = strcmp(queue[i].film, film) != 0;

        for (int k = 0; k < choice->rolls; k++)
            taken = taken || choice->roll[k].row == queue[i].row;
        if (!taken)
            return queue[i].row;
    }
    return 0;
}

static enum ws_status rolls_like(struct ws_book *book, const struct ws_plan *plan,
                                 struct ws_choice *choice)
{
    struct ws_roll_line *queue = calloc(QUEUE_ROOM, sizeof *queue);
    enum ws_status status;
    int n = 0;

    if (queue == NULL)
        return WS_NO_MEMORY;
    status = ws_roll_queue(book, queue, QUEUE_ROOM, &n);
    for (int i = 0; status == WS_OK && i < plan->places; i++) {
        struct ws_roll *roll = &choice->roll[choice->rolls];
        int64_t row = waiting_roll(queue, n, plan->place[i].film, choice);

        status = row != 0 ? ws_roll_get(book, row, roll)
                          : roll_like(book, &plan->place[i], choice, roll);
        if (status == WS_OK)
            choice->rolls++;
    }
    free(queue);
    return status;
}

/* Whether stock that could have been pre-diluted to be measurable was not. */
static bool measured_as_it_is(const struct ws_plan *plan)
{
    struct ws_predilution mix;
    bool could = false;

    for (int i = 0; i < plan->baths; i++) {
        double total_ml = 0;

        for (int k = 0; k < plan->bath[i].parts; k++)
            total_ml += plan->bath[i].part[k].ml;
        for (int k = 0; k < plan->bath[i].parts; k++) {
            const struct ws_part *part = &plan->bath[i].part[k];

            if (part->drawn_ml > 0)
                return false;
            could = could || (!part->water && ws_dilution_premix(part->ml, total_ml, &mix));
        }
    }
    return could;
}

enum ws_status ws_choice_repeat(struct ws_book *book, int64_t run, struct ws_choice *choice,
                                struct ws_message *why)
{
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_process *process = calloc(1, sizeof *process);
    enum ws_status status;

    if (plan == NULL || process == NULL) {
        status = ws_fail(why, WS_NO_MEMORY, "not enough memory for a run");
        goto out;
    }
    status = ws_run_plan(book, run, plan, why);
    if (status != WS_OK)
        goto out;
    ws_choice_default(choice);
    process_of_plan(plan, process);
    ws_choice_set_process(choice, process);
    for (int i = 0; i < plan->baths; i++)
        if (plan->bath[i].kind == WS_BATH_DEVELOPER)
            choice->bath_c[i] = plan->bath[i].start_c;
    choice->as_then = true;
    choice->repeats = plan->id;
    choice->no_premix = measured_as_it_is(plan);
    ws_text_copy(choice->who, sizeof choice->who, plan->who);
    choice->fill_ml = plan->fill_ml;
    if (plan->tank[0] != '\0' && ws_tank_find(book, plan->tank, &choice->tank, NULL) != WS_OK)
        ws_text_copy(choice->tank.name, sizeof choice->tank.name, plan->tank);
    status = bottles_of_plan(book, plan, choice);
    if (status == WS_OK)
        status = rolls_like(book, plan, choice);
    if (status != WS_OK)
        ws_fail(why, status, "the book could not be read for the run");
out:
    free(process);
    free(plan);
    return status;
}

static enum ws_status bottle_of_run(struct ws_book *book, int64_t run, int part,
                                    struct ws_id *batch)
{
    struct ws_plan *plan = calloc(1, sizeof *plan);
    enum ws_status status = WS_NO_MEMORY;

    if (plan == NULL)
        return status;
    status = ws_run_plan(book, run, plan, NULL);
    for (int i = 0; status == WS_OK && i < plan->baths; i++) {
        const struct ws_bath *bath = &plan->bath[i];

        if (bath->kind != WS_BATH_DEVELOPER)
            continue;
        if (part < bath->parts)
            *batch = bath->part[part].batch;
        break;
    }
    free(plan);
    return status;
}

enum ws_status ws_choice_last_bottle(struct ws_book *book, const char *process, int part,
                                     struct ws_id *batch)
{
    struct ws_run_line *run = calloc(RUNS_BACK, sizeof *run);
    enum ws_status status;
    int n = 0;

    memset(batch, 0, sizeof *batch);
    if (run == NULL)
        return WS_NO_MEMORY;
    status = ws_run_list(book, true, 0, run, RUNS_BACK, &n);
    for (int i = 0; status == WS_OK && i < n; i++) {
        if (strcmp(run[i].process, process) != 0)
            continue;
        status = bottle_of_run(book, run[i].row, part, batch);
        break;
    }
    free(run);
    return status;
}

/* ---- keeping ---- */

static enum ws_status keep_bottles(struct ws_book *book, struct ws_choice *choice, int64_t wall_ms,
                                   struct ws_message *why)
{
    for (int i = 0; i < choice->process.baths; i++) {
        for (int k = 0; k < WS_PARTS; k++) {
            struct ws_choice_bottle *bottle = &choice->bottle[i][k];
            enum ws_status status;

            if (!bottle->add)
                continue;
            status = ws_batch_add(book, &bottle->batch, wall_ms, why);
            if (status != WS_OK)
                return status;
            bottle->add = false;
        }
    }
    return WS_OK;
}

enum ws_status ws_choice_keep(struct ws_book *book, struct ws_choice *choice, int64_t wall_ms,
                              struct ws_message *why)
{
    enum ws_status status = WS_OK;

    if (ws_id_none(&choice->run))
        ws_id_make(&choice->run);
    for (int i = 0; status == WS_OK && i < choice->rolls; i++)
        if (choice->roll[i].row == 0)
            status = ws_roll_add(book, &choice->roll[i], why);
    if (status == WS_OK)
        status = keep_bottles(book, choice, wall_ms, why);
    if (status == WS_OK && choice->keep_process) {
        status = ws_process_keep(book, &choice->process, wall_ms, why);
        choice->keep_process = status != WS_OK;
    }
    return status;
}

/* ---- what a batch holds ---- */

static double asked_of(const struct ws_plan *plan, const struct ws_id *batch)
{
    double ml = 0;

    for (int i = 0; i < plan->baths; i++)
        for (int k = 0; k < plan->bath[i].parts; k++)
            if (ws_id_equal(&plan->bath[i].part[k].batch, batch))
                ml += ws_part_drawn_ml(&plan->bath[i].part[k]);
    return ml;
}

bool ws_choice_short(struct ws_book *book, const struct ws_plan *plan, struct ws_batch *batch,
                     double *asked_ml)
{
    for (int i = 0; i < plan->baths; i++) {
        for (int k = 0; k < plan->bath[i].parts; k++) {
            const struct ws_id *id = &plan->bath[i].part[k].batch;

            if (ws_id_none(id) || ws_batch_get(book, id, batch) != WS_OK)
                continue;
            *asked_ml = asked_of(plan, id);
            if (!isnan(batch->left_ml) && batch->left_ml < *asked_ml - SAME_ML)
                return true;
        }
    }
    return false;
}

void ws_choice_refresh(struct ws_choice *choice, const struct ws_batch *batch)
{
    for (int i = 0; i < WS_BATHS; i++)
        for (int k = 0; k < WS_PARTS; k++)
            if (choice->bottle[i][k].batch.row != 0 && choice->bottle[i][k].batch.row == batch->row)
                choice->bottle[i][k].batch = *batch;
}

/* ---- numbers of rolls ---- */

/* The last run of digits: where it begins, and how long it is. */
static size_t last_digits(const char *number, size_t *length)
{
    size_t end = strlen(number), begin;

    while (end > 0 && (number[end - 1] < '0' || number[end - 1] > '9'))
        end--;
    begin = end;
    while (begin > 0 && number[begin - 1] >= '0' && number[begin - 1] <= '9')
        begin--;
    *length = end - begin;
    return begin;
}

enum ws_status ws_choice_next_number(struct ws_book *book, const struct ws_choice *choice,
                                     enum ws_format format, char number[WS_NUMBER])
{
    for (int i = choice->rolls; i-- > 0;) {
        if (choice->roll[i].row == 0 &&
            ws_format_sheet(choice->roll[i].format) == ws_format_sheet(format)) {
            ws_roll_number_after(choice->roll[i].number, number);
            return WS_OK;
        }
    }
    return ws_roll_next_number(book, format, number);
}

/* How many numbers lie from `next` to before `number`, when they differ only in their last digits;
 * 0: none, or not to be told. */
static int64_t gap(const char *next, const char *number)
{
    size_t length, other, begin = last_digits(next, &length);
    const char *a, *b;

    if (begin != last_digits(number, &other) || strncmp(next, number, begin) != 0 || length == 0 ||
        other == 0 || length > 15 || other > 15)
        return 0;
    a = next + begin;
    b = number + begin;
    if (strcmp(a + length, b + other) != 0)
        return 0;
    return strtoll(b, NULL, 10) - strtoll(a, NULL, 10);
}

void ws_choice_number_note(struct ws_book *book, const struct ws_choice *choice, const char *number,
                           char *text, size_t size)
{
    char next[WS_NUMBER];
    struct ws_roll there;
    struct ws_roll_line first;
    int count = 0;
    int64_t missing;

    text[0] = '\0';
    if (number[0] == '\0')
        return;
    for (int i = 0; i < choice->rolls; i++) {
        if (strcmp(choice->roll[i].number, number) == 0) {
            snprintf(text, size, "a double: %s is on reel %d already", number, i + 1);
            return;
        }
    }
    if (book == NULL)
        return;
    if (ws_roll_count_number(book, number, &count) == WS_OK && count > 0) {
        if (ws_roll_find(book, number, &there, NULL) == WS_OK)
            snprintf(text, size, "a double: %s is in the book already (%s)", number, there.film);
        return;
    }
    /* In an empty book any number is the first. */
    if (ws_roll_search(book, "", 0, &first, 1, &count) != WS_OK || count == 0 ||
        ws_choice_next_number(book, choice, WS_FORMAT_135_36, next) != WS_OK)
        return;
    missing = gap(next, number);
    /* It may be of the other series: rolls and sheets are told apart by their numbers alone. */
    if (missing == 0 && ws_choice_next_number(book, choice, WS_FORMAT_4X5, next) == WS_OK)
        missing = gap(next, number);
    if (missing == 1)
        snprintf(text, size, "a gap: %s is not in the book", next);
    else if (missing > 1)
        snprintf(text, size, "a gap: %lld numbers from %s on are not in the book",
                 (long long)missing, next);
}
