/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From which bottle, and how it is thinned. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "choose.h"

struct batch_job {
    const char *process; /* the bottle it was last poured from is the first offered, */
    int part;            /* of that stock part */
    struct ws_id last;
    enum ws_bath_kind use;
    struct ws_batch *batch;
    int n;
    const char *number;
    struct ws_batch found;
    enum ws_colon colon;
    enum ws_status status;
    struct ws_message why;
};

static void list_job(struct ws_book *book, void *arg)
{
    struct batch_job *job = arg;

    ws_shelf_read(book, job->use, &job->batch, &job->n);
    if (ws_choice_last_bottle(book, job->process, job->part, &job->last) != WS_OK)
        memset(&job->last, 0, sizeof job->last);
}

static void find_job(struct ws_book *book, void *arg)
{
    struct batch_job *job = arg;

    job->status = ws_batch_find(book, job->number, &job->found, &job->why);
}

static void colon_job(struct ws_book *book, void *arg)
{
    struct batch_job *job = arg;

    job->status = ws_batch_set_colon(book, job->found.row, job->colon, &job->why);
}

/* A bottle that is known by its name only. */
static void by_name(const char *name, struct ws_batch *batch)
{
    memset(batch, 0, sizeof *batch);
    ws_text_copy(batch->number, sizeof batch->number, name);
    batch->volume_ml = batch->left_ml = NAN;
}

void choose_bottle_by_text(struct choosing *c, const char *text, struct ws_batch *batch)
{
    struct batch_job job = { .number = text };

    by_name(text, batch);
    if (text[0] == '\0')
        return;
    ws_drive_book(c->console->drive, find_job, &job);
    if (job.status == WS_OK)
        *batch = job.found;
}

/* ---- a stranger's bottle ---- */

enum { LABEL, VOLUME, BOTTLE_FIELDS };

static enum ws_status accept_bottle(void *self, const struct ws_field *field, int *at,
                                    struct ws_message *why)
{
    struct choosing *c = self;
    struct ws_choice_bottle *bottle = &c->choice.bottle[0][0];
    struct ws_batch batch;

    *at = LABEL;
    if (strlen(field[LABEL].text) >= sizeof batch.number)
        return ws_fail(why, WS_BAD_INPUT, "the name of a bottle has %d characters at most",
                       (int)sizeof batch.number - 1);
    choose_bottle_by_text(c, field[LABEL].text, &batch);
    if (batch.row == 0) {
        ws_text_copy(batch.what, sizeof batch.what, field[LABEL].text);
        batch.kind = WS_BATCH_CONCENTRATE;
        batch.use = WS_BATH_DEVELOPER;
        *at = VOLUME;
        if (field[VOLUME].text[0] != '\0' &&
            ws_volume_read(field[VOLUME].text, &batch.volume_ml, why) != WS_OK)
            return WS_BAD_INPUT;
    }
    bottle->batch = batch;
    bottle->add = batch.row == 0 && !c->rehearsal;
    return WS_OK;
}

enum ws_answer choose_new_bottle(struct choosing *c)
{
    const struct ws_batch *before = &c->choice.bottle[0][0].batch;
    struct ws_field field[BOTTLE_FIELDS] = {
        [LABEL] = { .label = "on the label",
                    .columns = 40,
                    .needed = true,
                    .example =
                        "MQB concentrate; with a number or date, if there will be more of it" },
        [VOLUME] = { .label = "how much is in it",
                     .columns = 12,
                     .example = "250 ml; empty: not known" },
    };
    struct ws_ask page = { .title = "Which bottle of developer?",
                           .about = "Every roll will be found again under its bottle, and the "
                                    "bottle with all its rolls.",
                           .field = field,
                           .fields = BOTTLE_FIELDS,
                           .accept = accept_bottle };
    char what[CHOOSE_LINE];

    ws_text_copy(field[LABEL].text, sizeof field[LABEL].text, before->number);
    if (before->number[0] != '\0' && !isnan(before->volume_ml))
        ws_volume_print(before->volume_ml, field[VOLUME].text, sizeof field[VOLUME].text);
    choose_page(c, &page, what);
    return ws_ask(c->console, &page);
}

/* ---- a bottle of the book ---- */

static enum ws_answer type_name(struct choosing *c, struct ws_choice_bottle *bottle)
{
    struct ws_field field[1] = { { .label = "its name",
                                   .columns = 40,
                                   .needed = true,
                                   .example = "the club's bottle of 3 March" } };
    struct ws_ask page = { .title = "Which bottle is it?",
                           .about = "It is written with the rolls by this name; what is left in it "
                                    "is not counted.",
                           .field = field,
                           .fields = 1 };
    enum ws_answer answer;
    char what[CHOOSE_LINE];

    choose_page(c, &page, what);
    answer = ws_ask(c->console, &page);
    if (answer == WS_ANSWER_NEXT) {
        by_name(field[0].text, &bottle->batch);
        bottle->add = false;
    }
    return answer;
}

/* What was chosen from the list, by its place. */
static enum ws_answer take_bottle(struct choosing *c, const struct batch_job *job, int at,
                                  struct ws_choice_bottle *bottle)
{
    struct ws_batch added;

    if (at < job->n) {
        bottle->batch = job->batch[at];
        bottle->add = false;
        return WS_ANSWER_NEXT;
    }
    if (at == job->n)
        return type_name(c, bottle);
    if (!ws_shelf_add(c->console, &ws_room_sink, job->use, &added))
        return ws_console_leaving(c->console) ? WS_ANSWER_LEAVE : WS_ANSWER_BACK;
    bottle->batch = added;
    bottle->add = false;
    return WS_ANSWER_NEXT;
}

/* Where the cursor begins: on the bottle chosen before, or the one last used for this process. */
static int first_offer(const struct batch_job *job, const struct ws_choice_bottle *bottle)
{
    int at = 0;

    for (int i = 0; i < job->n; i++) {
        if (bottle->batch.row != 0 && bottle->batch.row == job->batch[i].row)
            return i;
        if (!ws_id_none(&job->last) && ws_id_equal(&job->last, &job->batch[i].id))
            at = i;
    }
    return at;
}

static enum ws_answer pick_bottle(struct choosing *c, const char *title, int part,
                                  struct ws_choice_bottle *bottle)
{
    struct batch_job job = { .process = c->choice.process.name,
                             .part = part,
                             .use = WS_BATH_DEVELOPER };
    char(*text)[CHOOSE_LINE] = NULL;
    const char **line = NULL;
    char what[CHOOSE_LINE];
    struct ws_pick pick = { .room = &ws_room_sink,
                            .what = choose_what(c, what, sizeof what),
                            .title = title };
    enum ws_answer answer = WS_ANSWER_LEAVE;
    int64_t wall_ms = ws_console_wall_ms(c->console);

    ws_drive_book(c->console->drive, list_job, &job);
    text = calloc((size_t)job.n + 1, sizeof *text);
    line = calloc((size_t)job.n + 2, sizeof *line);
    if (text == NULL || line == NULL)
        goto out;
    pick.line = line;
    for (int i = 0; i < job.n; i++) {
        ws_shelf_line(&job.batch[i], wall_ms, text[i], sizeof text[i]);
        line[i] = text[i];
    }
    pick.at = first_offer(&job, bottle);
    line[job.n] = "a bottle that is not in the book";
    line[job.n + 1] = "add a bottle to the book";
    pick.lines = job.n + (c->rehearsal ? 1 : 2);
    do {
        answer = ws_pick(c->console, &pick);
        if (answer == WS_ANSWER_NEXT)
            answer = take_bottle(c, &job, pick.at, bottle);
        else
            break;
    } while (answer == WS_ANSWER_BACK);
out:
    free(job.batch);
    free(line);
    free(text);
    return answer;
}

enum ws_answer choose_bottles(struct choosing *c)
{
    int bath = ws_choice_developer(&c->choice), k = 0;

    if (bath < 0)
        return WS_ANSWER_NEXT;
    while (k < ws_choice_bottles(&c->choice, bath)) {
        enum ws_answer answer;
        char title[64];

        if (ws_choice_bottles(&c->choice, bath) > 1)
            snprintf(title, sizeof title, "From which bottle, part %c?", 'A' + k);
        else
            ws_text_copy(title, sizeof title, "From which bottle?");
        answer = pick_bottle(c, title, k, &c->choice.bottle[bath][k]);
        if (answer == WS_ANSWER_LEAVE || (answer == WS_ANSWER_BACK && k == 0))
            return answer;
        k += answer == WS_ANSWER_NEXT ? 1 : -1;
    }
    return WS_ANSWER_NEXT;
}

/* ---- the dilution ---- */

bool choose_parts_line(const struct choosing *c, const struct ws_dilution *dilution, double fill_ml,
                       char *text, size_t size)
{
    int bath = ws_choice_developer(&c->choice), stocks = ws_dilution_stock_parts(dilution);
    double part_ml[WS_PARTS];
    size_t used = 0;

    if (!(fill_ml > 0) || bath < 0 || ws_dilution_split(dilution, fill_ml, part_ml, NULL) != WS_OK)
        return false;
    text[0] = '\0';
    for (int k = 0; k < dilution->parts; k++) {
        const char *bottle = c->choice.bottle[bath][k].batch.number;
        char piece[WS_NUMBER + 64], ml[24];

        ws_volume_print(part_ml[k], ml, sizeof ml);
        snprintf(piece, sizeof piece, "%s%s %s", k > 0 ? " + " : "", ml,
                 k >= stocks         ? "water"
                 : bottle[0] != '\0' ? bottle
                                     : "developer");
        used += ws_text_copy(text + used, size - used, piece);
    }
    return true;
}

/* Which bottle a colon is asked of. */
static struct ws_batch *colon_bottle(struct choosing *c)
{
    int bath = ws_choice_developer(&c->choice);

    return &c->choice.bottle[bath < 0 ? 0 : bath][0].batch;
}

/* In the millilitres of this tank, or of one as common as any: two ratios are told apart by what
 * stands in the graduate. */
static void print_meaning(const struct choosing *c, const char *words,
                          const struct ws_dilution *dilution, char *line, size_t size)
{
    char ratio[64], stock[24], total[24];
    double fill_ml = c->choice.fill_ml > 0 ? c->choice.fill_ml : 600, part_ml[WS_PARTS] = { 0 };

    ws_dilution_print(dilution, ratio, sizeof ratio);
    ws_dilution_split(dilution, fill_ml, part_ml, NULL);
    ws_volume_print(part_ml[0], stock, sizeof stock);
    ws_volume_print(fill_ml, total, sizeof total);
    snprintf(line, size, "%s: %s in %s   (%s)", ratio, stock, total, words);
}

/* Once for each bottle: what a colon on it means. False: not told. */
static bool ask_colon(struct choosing *c, const char *text, struct ws_message *why)
{
    struct ws_batch *batch = colon_bottle(c);
    struct ws_dilution plus, in;
    char meaning[2][2 * CHOOSE_LINE], title[CHOOSE_LINE], what[CHOOSE_LINE];
    const char *line[2] = { meaning[0], meaning[1] };
    struct ws_pick pick = { .room = &ws_room_sink,
                            .what = choose_what(c, what, sizeof what),
                            .title = title,
                            .about =
                                "Both are in use, and they differ. The answer is kept with the "
                                "bottle; from then on only plus is written.",
                            .line = line,
                            .lines = 2 };
    struct batch_job job = { .found = *batch };

    if (ws_dilution_read(text, WS_COLON_PLUS, &plus, why) != WS_OK ||
        ws_dilution_read(text, WS_COLON_IN, &in, why) != WS_OK)
        return false;
    snprintf(title, sizeof title, "What does %.40s mean on %s?", text,
             batch->number[0] != '\0' ? batch->number : "this bottle");
    print_meaning(c, "one plus so many", &plus, meaning[0], sizeof meaning[0]);
    print_meaning(c, "one in so many", &in, meaning[1], sizeof meaning[1]);
    if (ws_pick(c->console, &pick) != WS_ANSWER_NEXT) {
        ws_dilution_read(text, WS_COLON_ASK, &plus, why);
        return false;
    }
    batch->colon = job.colon = pick.at == 0 ? WS_COLON_PLUS : WS_COLON_IN;
    if (batch->row != 0 && !c->rehearsal) {
        ws_drive_book(c->console->drive, colon_job, &job);
        *why = job.why;
        return job.status == WS_OK;
    }
    return true;
}

static enum ws_status accept_dilution(void *self, const struct ws_field *field, int *at,
                                      struct ws_message *why)
{
    struct choosing *c = self;
    struct ws_batch *batch = colon_bottle(c);
    struct ws_dilution dilution;
    enum ws_status status;

    *at = 0;
    if (strchr(field[0].text, ':') != NULL && batch->colon == WS_COLON_ASK &&
        !ask_colon(c, field[0].text, why))
        return WS_BAD_INPUT;
    status = ws_dilution_read(field[0].text, batch->colon, &dilution, why);
    if (status == WS_OK)
        c->choice.dilution = dilution;
    return status;
}

static void look_at_dilution(void *self, const struct ws_field *field, int at,
                             struct ws_notes *notes)
{
    struct choosing *c = self;
    struct ws_dilution dilution;
    char text[CHOOSE_LINE];

    (void)at;
    if (ws_dilution_read(field[0].text, colon_bottle(c)->colon, &dilution, NULL) != WS_OK)
        return;
    if (choose_parts_line(c, &dilution, c->choice.fill_ml, text, sizeof text)) {
        ws_note(notes, true, "%s", text);
    } else if (dilution.parts > 1) {
        ws_dilution_print(&dilution, text, sizeof text);
        ws_note(notes, false, "%s: the last of it is water", text);
    }
}

enum ws_answer choose_dilution(struct choosing *c)
{
    int bath = ws_choice_developer(&c->choice);
    struct ws_field field[1] = { { .label = "dilution",
                                   .columns = 20,
                                   .needed = true,
                                   .example = "1+31, or 1+1+100 (A, B, water), or stock" } };
    struct ws_ask page = { .title = "How is the developer thinned?",
                           .about = "As the box or the data sheet says for the time you will use.",
                           .field = field,
                           .fields = 1,
                           .accept = accept_dilution,
                           .look = look_at_dilution };
    char what[CHOOSE_LINE];

    if (bath < 0)
        return WS_ANSWER_NEXT;
    ws_dilution_print(ws_choice_dilution(&c->choice, bath), field[0].text, sizeof field[0].text);
    choose_page(c, &page, what);
    return ws_ask(c->console, &page);
}
