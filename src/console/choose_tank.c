/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which tank, and how much it is filled: enough for every reel in every bath. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/console/list.h"

#include "choose.h"

enum { TANKS = 64 };

struct tank_job {
    struct ws_tank tank[TANKS];
    int n;
    struct ws_tank *keep;
    enum ws_status status;
    struct ws_message why;
};

static void tanks_job(struct ws_book *book, void *arg)
{
    struct tank_job *job = arg;

    job->status = ws_tank_list(book, job->tank, TANKS, &job->n);
    if (job->status != WS_OK)
        job->n = 0;
}

static void keep_job(struct ws_book *book, void *arg)
{
    struct tank_job *job = arg;

    job->status = ws_tank_keep(book, job->keep, &job->why);
}

bool choose_has_tanks(const struct choosing *c)
{
    struct tank_job *job = calloc(1, sizeof *job);
    bool has;

    if (job == NULL)
        return false;
    ws_drive_book(c->console->drive, tanks_job, job);
    has = job->n > 0;
    free(job);
    return has;
}

/* ---- the fill ---- */

enum { FILL, TANK_NAME, FILL_FIELDS };

static void look_at_fill(void *self, const struct ws_field *field, int at, struct ws_notes *notes)
{
    const struct choosing *c = self;
    int developer = ws_choice_developer(&c->choice);
    double cover_ml = ws_choice_cover_ml(&c->choice), ml;
    char text[CHOOSE_LINE];

    (void)at;
    if (cover_ml > 0) {
        ws_volume_print(cover_ml, text, sizeof text);
        ws_note(notes, false, "%d reel%s in %s: at least %s", c->choice.rolls,
                c->choice.rolls == 1 ? "" : "s", c->choice.tank.name, text);
    }
    if (developer >= 0 && ws_volume_read(field[FILL].text, &ml, NULL) == WS_OK &&
        choose_parts_line(c, ws_choice_dilution(&c->choice, developer), ml, text, sizeof text))
        ws_note(notes, true, "%s", text);
}

static enum ws_status accept_fill(void *self, const struct ws_field *field, int *at,
                                  struct ws_message *why)
{
    struct choosing *c = self;
    double ml;
    enum ws_status status = ws_volume_read(field[FILL].text, &ml, why);

    *at = FILL;
    if (status == WS_OK)
        status = ws_choice_check_fill(&c->choice, ml, why);
    if (status == WS_OK)
        c->choice.fill_ml = ml;
    return status;
}

/* The fill, and, where no tank of the book was chosen, what the tank is called. */
static enum ws_answer ask_fill(struct choosing *c, int fields)
{
    struct ws_field field[FILL_FIELDS] = {
        [FILL] = { .label = "fill",
                   .columns = 12,
                   .needed = true,
                   .example = "500, or 0.5 l; a bare number is ml" },
        [TANK_NAME] = { .label = "tank", .columns = 30, .example = "tank A; empty: no name" },
    };
    bool trays = choose_in_trays(c);
    struct ws_ask page = {
        .title = trays ? "How much goes into each tray?" : "How much fills the tank?",
        .about =
            trays
                ? "Sheets have to be covered well, the whole pile of them. Water and a sheet that "
                  "is no loss tell it."
                : "All reels have to be covered in every bath, empty ones too. Many tanks say it "
                  "on their bottom; water and the reels without film tell it as well.",
        .field = field,
        .fields = fields,
        .accept = accept_fill,
        .look = look_at_fill
    };
    double ml = c->choice.fill_ml > 0 ? c->choice.fill_ml : ws_choice_cover_ml(&c->choice);
    enum ws_answer answer;
    char what[CHOOSE_LINE];

    if (ml > 0)
        ws_volume_print(ml, field[FILL].text, sizeof field[FILL].text);
    ws_text_copy(field[TANK_NAME].text, sizeof field[TANK_NAME].text, c->choice.tank.name);
    choose_page(c, &page, what);
    answer = ws_ask(c->console, &page);
    if (answer == WS_ANSWER_NEXT && fields > TANK_NAME)
        ws_text_copy(c->choice.tank.name, sizeof c->choice.tank.name, field[TANK_NAME].text);
    return answer;
}

enum ws_answer choose_fill(struct choosing *c)
{
    return ask_fill(c, c->stranger ? 1 : FILL_FIELDS);
}

/* ---- a tank for the book ---- */

enum { NAME, REELS, EACH_135, EACH_120, MOST, NEW_FIELDS };

struct new_tank {
    struct choosing *c;
    struct tank_job *job;
    struct ws_tank tank;
};

static enum ws_status read_ml(const char *text, double *ml, struct ws_message *why)
{
    *ml = 0;
    return text[0] == '\0' ? WS_OK : ws_volume_read(text, ml, why);
}

static enum ws_status accept_tank(void *self, const struct ws_field *field, int *at,
                                  struct ws_message *why)
{
    struct new_tank *new_tank = self;
    struct ws_tank *tank = &new_tank->tank;
    double *const ml[] = { &tank->least_135_ml, &tank->least_120_ml, &tank->most_ml };
    double reels = 0;

    memset(tank, 0, sizeof *tank);
    ws_text_copy(tank->name, sizeof tank->name, field[NAME].text);
    *at = REELS;
    if (ws_number_read(field[REELS].text, &reels, why) != WS_OK)
        return WS_BAD_INPUT;
    if (reels < 0 || reels > WS_PLACES || reels > (double)(int)reels)
        return ws_fail(why, WS_BAD_INPUT, "%s reels: a whole number from 0 (a tray) to %d",
                       field[REELS].text, (int)WS_PLACES);
    tank->reels = (int)reels;
    for (int i = 0; i < 3; i++) {
        *at = EACH_135 + i;
        if (read_ml(field[*at].text, ml[i], why) != WS_OK)
            return WS_BAD_INPUT;
    }
    *at = REELS;
    if (ws_choice_check_tank(&new_tank->c->choice, tank, why) != WS_OK)
        return WS_BAD_INPUT;
    *at = NAME;
    new_tank->job->keep = tank;
    ws_drive_book(new_tank->c->console->drive, keep_job, new_tank->job);
    *why = new_tank->job->why;
    return new_tank->job->status;
}

static enum ws_answer add_tank(struct choosing *c, struct tank_job *job)
{
    struct ws_field field[NEW_FIELDS] = {
        [NAME] = { .label = "what it is called",
                   .columns = 30,
                   .needed = true,
                   .example = "tank A, two reels" },
        [REELS] = { .label = "reels it takes",
                    .columns = 6,
                    .needed = true,
                    .example = "2; 0 for a tray" },
        [EACH_135] = { .label = "fill for one 135",
                       .columns = 12,
                       .example = "290 ml; empty: not known" },
        [EACH_120] = { .label = "fill for one 120",
                       .columns = 12,
                       .example = "590 ml; empty: not known" },
        [MOST] = { .label = "full to the lid",
                   .columns = 12,
                   .example = "640 ml; empty: not known" },
    };
    struct new_tank new_tank = { .c = c, .job = job };
    struct ws_ask page = { .title = "What is the tank like?",
                           .about =
                               "With what one reel needs, a fill that does not cover all reels "
                               "is refused.",
                           .field = field,
                           .fields = NEW_FIELDS,
                           .accept = accept_tank };
    enum ws_answer answer;
    char what[CHOOSE_LINE];

    choose_page(c, &page, what);
    page.self = &new_tank;
    answer = ws_ask(c->console, &page);
    if (answer == WS_ANSWER_NEXT)
        c->choice.tank = new_tank.tank;
    return answer;
}

/* ---- which tank ---- */

static void print_tank(const struct ws_tank *tank, char *line, size_t size)
{
    char text[64], ml[24];

    line[0] = '\0';
    ws_list_cell(line, size, tank->name, 26);
    if (tank->reels > 0)
        snprintf(text, sizeof text, "%d reel%s", tank->reels, tank->reels == 1 ? "" : "s");
    else
        ws_text_copy(text, sizeof text, "a tray");
    ws_list_cell(line, size, text, 9);
    if (tank->least_135_ml > 0) {
        ws_volume_print(tank->least_135_ml, ml, sizeof ml);
        snprintf(text, sizeof text, "135: %s each", ml);
        ws_list_cell(line, size, text, 18);
    }
    if (tank->least_120_ml > 0) {
        ws_volume_print(tank->least_120_ml, ml, sizeof ml);
        snprintf(text, sizeof text, "120: %s each", ml);
        ws_list_cell(line, size, text, 18);
    }
}

/* A tank of the book, one that is not in it, or one to be added; then the fill. */
static enum ws_answer take_tank(struct choosing *c, struct tank_job *job, int at)
{
    struct ws_message why = { "" };
    struct ws_tank before = c->choice.tank;
    enum ws_answer answer;
    int fields = 1;

    if (at < job->n) {
        if (ws_choice_check_tank(&c->choice, &job->tank[at], &why) != WS_OK) {
            ws_console_say(c->console, "%s", why.text);
            return WS_ANSWER_BACK;
        }
        c->choice.tank = job->tank[at];
    } else if (at == job->n) {
        memset(&c->choice.tank, 0, sizeof c->choice.tank);
        fields = FILL_FIELDS;
    } else {
        answer = add_tank(c, job);
        if (answer != WS_ANSWER_NEXT)
            return answer;
    }
    /* Another tank, another fill. */
    if (before.row != c->choice.tank.row ||
        ws_choice_check_fill(&c->choice, c->choice.fill_ml, NULL) != WS_OK)
        c->choice.fill_ml = 0;
    answer = ask_fill(c, fields);
    if (answer == WS_ANSWER_BACK)
        c->choice.tank = before;
    return answer;
}

/* Where the cursor begins: on the tank chosen before, or, for sheets, on a tray. */
static int first_offer(const struct choosing *c, const struct tank_job *job, int at)
{
    bool trays = choose_in_trays(c) && c->choice.tank.row == 0 && at == 0;

    for (int i = 0; i < job->n; i++)
        if ((c->choice.tank.row != 0 && job->tank[i].row == c->choice.tank.row) ||
            (trays && job->tank[i].reels == 0))
            return i;
    return at;
}

enum ws_answer choose_tank(struct choosing *c)
{
    struct tank_job *job = calloc(1, sizeof *job);
    char text[TANKS][CHOOSE_LINE], what[CHOOSE_LINE];
    const char *line[TANKS + 2];
    struct ws_pick pick = { .room = &ws_room_sink,
                            .what = choose_what(c, what, sizeof what),
                            .title = choose_in_trays(c) ? "In which trays?" : "In which tank?",
                            .line = line };
    enum ws_answer answer = WS_ANSWER_LEAVE;

    if (job == NULL)
        return answer;
    do {
        ws_drive_book(c->console->drive, tanks_job, job);
        for (int i = 0; i < job->n; i++) {
            print_tank(&job->tank[i], text[i], sizeof text[i]);
            line[i] = text[i];
        }
        pick.at = first_offer(c, job, pick.at);
        line[job->n] = "a tank that is not in the book";
        line[job->n + 1] = "add a tank to the book";
        pick.lines = job->n + (c->rehearsal ? 1 : 2);
        answer = ws_pick(c->console, &pick);
        if (answer != WS_ANSWER_NEXT)
            break;
        answer = take_tank(c, job, pick.at);
    } while (answer == WS_ANSWER_BACK);
    free(job);
    return answer;
}
