/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sheet of a run: everything that was chosen, each line to be changed; the first line goes on.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "wetside/console/list.h"
#include "wetside/drive/page.h"

#include "choose.h"

enum { SHEET_LINES = WS_BATHS + 12, NAME_COLUMNS = 13 };

enum part { GO_ON, ROLLS, TANK, BOTTLES, DILUTION, PREMIX, NOW, TIME, AGITATION, TRAYS, BATH, WHO };

struct sheet {
    struct choosing *c;
    enum part part[SHEET_LINES];
    int bath[SHEET_LINES];
    char text[SHEET_LINES][2 * CHOOSE_LINE];
    const char *line[SHEET_LINES];
    int lines;
};

static void add(struct sheet *sheet, enum part part, int bath, const char *name, const char *is)
{
    char *text = sheet->text[sheet->lines];

    if (sheet->lines >= SHEET_LINES)
        return;
    sheet->part[sheet->lines] = part;
    sheet->bath[sheet->lines] = bath;
    text[0] = '\0';
    ws_list_cell(text, sizeof sheet->text[0], name, NAME_COLUMNS);
    ws_text_copy(text + strlen(text), sizeof sheet->text[0] - strlen(text), is);
    sheet->line[sheet->lines++] = text;
}

static bool is_one_film(const struct ws_choice *choice)
{
    for (int i = 1; i < choice->rolls; i++)
        if (strcmp(choice->roll[i].film, choice->roll[0].film) != 0)
            return false;
    return choice->rolls > 1;
}

static void add_rolls(struct sheet *sheet)
{
    const struct ws_choice *choice = &sheet->c->choice;
    char text[CHOOSE_LINE] = "none: nothing is written in the log";
    size_t used = 0;
    bool one_film = choose_in_trays(sheet->c) && is_one_film(choice);

    /* Of many sheets of one film the numbers are what tells them apart. */
    if (one_film)
        used = (size_t)snprintf(text, sizeof text, "%s: ", choice->roll[0].film);
    for (int i = 0; i < choice->rolls && one_film; i++) {
        if (i > 0)
            used += ws_text_copy(text + used, sizeof text - used, ", ");
        used += ws_text_copy(text + used, sizeof text - used, choice->roll[i].number);
    }
    for (int i = 0; i < choice->rolls && !one_film; i++) {
        char piece[CHOOSE_LINE];

        snprintf(piece, sizeof piece, "%s%s %s%s", i > 0 ? ", " : "", choice->roll[i].number,
                 choice->roll[i].film, choice->roll[i].row == 0 ? " (new)" : "");
        used += ws_text_copy(text + used, sizeof text - used, piece);
    }
    if (choose_in_trays(sheet->c))
        add(sheet, ROLLS, -1, choice->rolls > 1 ? "sheets" : "sheet", text);
    else
        add(sheet, ROLLS, -1, choice->rolls > 1 ? "rolls" : "roll", text);
}

static void add_tank(struct sheet *sheet)
{
    const struct ws_choice *choice = &sheet->c->choice;
    char text[CHOOSE_LINE], ml[24];

    ws_volume_print(choice->fill_ml, ml, sizeof ml);
    if (choice->tank.name[0] != '\0')
        snprintf(text, sizeof text, "%s, fill %s", choice->tank.name, ml);
    else
        snprintf(text, sizeof text, "fill %s", ml);
    add(sheet, TANK, -1, choose_in_trays(sheet->c) ? "in" : "tank", text);
}

static void describe_bottle(const struct choosing *c, const struct ws_choice_bottle *bottle,
                            char *text, size_t size)
{
    const struct ws_batch *batch = &bottle->batch;
    int days = ws_choice_age_days(batch->made_day, ws_console_wall_ms(c->console));
    char left[24], age[32] = "";

    if (batch->number[0] == '\0') {
        ws_text_copy(text, size, "no bottle named");
        return;
    }
    if (batch->row == 0) {
        snprintf(text, size, "%s%s", batch->number,
                 bottle->add ? " (new in the book)" : " (not in the book)");
        return;
    }
    if (days >= 0)
        snprintf(age, sizeof age, "%d day%s old, ", days, days == 1 ? "" : "s");
    ws_volume_print(batch->left_ml, left, sizeof left);
    snprintf(text, size, "%s: %s%s left", batch->number, age,
             isnan(batch->left_ml) ? "unknown volume" : left);
}

static void add_developer(struct sheet *sheet)
{
    struct choosing *c = sheet->c;
    int bath = ws_choice_developer(&c->choice);
    const struct ws_bath *developer = &c->choice.process.bath[bath];
    char text[CHOOSE_LINE], degrees[24];

    for (int k = 0; k < ws_choice_bottles(&c->choice, bath); k++) {
        describe_bottle(c, &c->choice.bottle[bath][k], text, sizeof text);
        add(sheet, BOTTLES, bath, k == 0 ? "developer" : "", text);
    }
    ws_dilution_print(ws_choice_dilution(&c->choice, bath), text, sizeof text);
    add(sheet, DILUTION, bath, "dilution", text[0] != '\0' ? text : "as it is");
    if (choose_premix_line(c, text, sizeof text))
        add(sheet, PREMIX, bath, "pre-dilution", text);
    ws_temperature_print(c->choice.bath_c[bath], c->console->scale, degrees, sizeof degrees);
    snprintf(text, sizeof text, "%s%s",
             isnan(c->choice.bath_c[bath]) ? "not measured yet" : degrees,
             c->choice.as_then ? ", as it was then: measure it now" : " now");
    add(sheet, NOW, bath, "temperature", isnan(c->choice.bath_c[bath]) ? "not measured yet" : text);
    if (c->status == WS_OK)
        ws_time_print(c->plan.bath[bath].time_ms, text, sizeof text);
    else
        ws_text_copy(text, sizeof text, "?");
    add(sheet, TIME, bath, "time", text);
    if (choose_in_trays(c)) {
        choose_trays_line(c, text, sizeof text);
        add(sheet, TRAYS, -1, "trays", text);
        return;
    }
    ws_agitation_print(&developer->agitation, text, sizeof text);
    add(sheet, AGITATION, bath, "agitation", text);
}

static const char *afterwards_words(enum ws_afterwards where)
{
    static const char *const words[WS_AFTERWARDS] = {
        [WS_TO_DRAIN] = "to the drain",
        [WS_TO_BOTTLE] = "back to its bottle",
        [WS_STAYS] = "stays in the tank",
        [WS_TO_WASTE] = "to the waste",
    };

    return words[where];
}

static void add_baths(struct sheet *sheet)
{
    struct choosing *c = sheet->c;
    int developer = ws_choice_developer(&c->choice);

    for (int i = 0; i < c->choice.process.baths; i++) {
        const struct ws_bath *bath = &c->choice.process.bath[i];
        char text[2 * CHOOSE_LINE], time[24], degrees[40] = "", bottle[CHOOSE_LINE] = "water";

        if (i == developer)
            continue;
        if (c->status == WS_OK)
            ws_time_print(c->plan.bath[i].time_ms, time, sizeof time);
        else
            ws_time_print(bath->time_ms, time, sizeof time);
        if (ws_choice_bottles(&c->choice, i) > 0)
            describe_bottle(c, &c->choice.bottle[i][0], bottle, sizeof bottle);
        if (!isnan(c->choice.bath_c[i])) {
            ws_text_copy(degrees, sizeof degrees, " at ");
            ws_temperature_print(c->choice.bath_c[i], c->console->scale, degrees + 4,
                                 sizeof degrees - 4);
        }
        snprintf(text, sizeof text, "%s%s, %s%s%s", time, degrees, bottle,
                 c->choice.bottle[i][0].batch.number[0] != '\0' ? ", " : "",
                 c->choice.bottle[i][0].batch.number[0] != '\0' ? afterwards_words(bath->afterwards)
                                                                : "");
        add(sheet, BATH, i, bath->name, text);
    }
}

static void make_sheet(struct sheet *sheet)
{
    struct choosing *c = sheet->c;

    sheet->lines = 0;
    add(sheet, GO_ON, -1, "Go on", c->status == WS_OK ? "to the pre-flight" : "not yet: see above");
    add_rolls(sheet);
    add_tank(sheet);
    if (ws_choice_developer(&c->choice) >= 0)
        add_developer(sheet);
    add_baths(sheet);
    add(sheet, WHO, -1, "by", c->choice.who[0] != '\0' ? c->choice.who : "not told");
}

/* ---- changing a line ---- */

enum { BATH_BOTTLE, BATH_AFTER, BATH_C, BATH_TIME, BATH_FIELDS };

struct bath_page {
    struct choosing *c;
    int bath;
    int first; /* of the fields that are asked: water has no bottle, and none to go back to */
    struct ws_batch batch;
    const char *after[WS_AFTERWARDS + 1];
};

static enum ws_status accept_bath(void *self, const struct ws_field *asked, int *at,
                                  struct ws_message *why)
{
    struct bath_page *page = self;
    const struct ws_field *field = asked - page->first;
    struct ws_choice *choice = &page->c->choice;
    struct ws_bath *bath = &choice->process.bath[page->bath];
    int64_t time_ms = bath->time_ms;
    double celsius = NAN;

    *at = BATH_C - page->first;
    if (field[BATH_C].text[0] != '\0' &&
        ws_temperature_read(field[BATH_C].text, page->c->console->scale, WS_FOR_BATH, &celsius,
                            why) != WS_OK)
        return WS_BAD_INPUT;
    *at = BATH_TIME - page->first;
    if (bath->points == 0 && ws_time_read(field[BATH_TIME].text, &time_ms, NULL, why) != WS_OK)
        return WS_BAD_INPUT;
    if (bath->points == 0 && time_ms <= 0)
        return ws_fail(why, WS_BAD_INPUT, "%s: a time above zero, such as 0:30", bath->name);
    choice->changed = choice->changed || time_ms != bath->time_ms;
    bath->time_ms = time_ms;
    choice->bath_c[page->bath] = celsius;
    if (page->first > BATH_BOTTLE)
        return WS_OK;
    for (int i = 0; i < WS_AFTERWARDS; i++)
        if (strcmp(page->after[i], field[BATH_AFTER].text) == 0)
            bath->afterwards = (enum ws_afterwards)i;
    choose_bottle_by_text(page->c, field[BATH_BOTTLE].text, &choice->bottle[page->bath][0].batch);
    choice->bottle[page->bath][0].add = false;
    return WS_OK;
}

static void look_at_bath(void *self, const struct ws_field *asked, int at, struct ws_notes *notes)
{
    struct bath_page *page = self;
    const struct ws_field *field = asked - page->first;
    struct ws_choice_bottle bottle = { .add = false };
    char text[CHOOSE_LINE];

    if (at + page->first != BATH_BOTTLE || field[BATH_BOTTLE].text[0] == '\0')
        return;
    choose_bottle_by_text(page->c, field[BATH_BOTTLE].text, &bottle.batch);
    describe_bottle(page->c, &bottle, text, sizeof text);
    ws_note(notes, false, "%s", text);
}

static enum ws_answer change_bath(struct choosing *c, int i)
{
    const struct ws_bath *bath = &c->choice.process.bath[i];
    struct bath_page self = {
        .c = c, .bath = i, .first = ws_choice_bottles(&c->choice, i) > 0 ? BATH_BOTTLE : BATH_C
    };
    struct ws_field field[BATH_FIELDS] = {
        [BATH_BOTTLE] = { .label = "bottle",
                          .columns = 30,
                          .example = "F-009, as on the label; empty: none" },
        [BATH_AFTER] = { .label = "afterwards", .columns = 20, .choice = self.after },
        [BATH_C] = { .label = "temperature",
                     .columns = 12,
                     .example = "20.5C; empty: not measured" },
        [BATH_TIME] = { .label = "time", .columns = 12, .needed = true, .example = "5:00" },
    };
    struct ws_ask page = { .title = bath->name,
                           .field = field + self.first,
                           .fields = (bath->points > 0 ? BATH_TIME : BATH_FIELDS) - self.first,
                           .accept = accept_bath,
                           .look = look_at_bath };
    char what[CHOOSE_LINE];

    for (int k = 0; k < WS_AFTERWARDS; k++)
        self.after[k] = afterwards_words((enum ws_afterwards)k);
    ws_text_copy(field[BATH_BOTTLE].text, WS_FIELD_BYTES, c->choice.bottle[i][0].batch.number);
    if (!isnan(c->choice.bath_c[i]))
        ws_temperature_print(c->choice.bath_c[i], c->console->scale, field[BATH_C].text,
                             WS_FIELD_BYTES);
    ws_text_copy(field[BATH_AFTER].text, WS_FIELD_BYTES, afterwards_words(bath->afterwards));
    ws_time_print(bath->time_ms, field[BATH_TIME].text, WS_FIELD_BYTES);
    choose_page(c, &page, what);
    page.self = &self;
    return ws_ask(c->console, &page);
}

static enum ws_answer change_who(struct choosing *c)
{
    struct ws_field field[1] = {
        { .label = "by", .columns = 30, .example = "initials, or a name" }
    };
    struct ws_ask page = { .title = "Who develops?", .field = field, .fields = 1 };
    enum ws_answer answer;
    char what[CHOOSE_LINE];

    ws_text_copy(field[0].text, sizeof field[0].text, c->choice.who);
    choose_page(c, &page, what);
    answer = ws_ask(c->console, &page);
    if (answer == WS_ANSWER_NEXT)
        ws_text_copy(c->choice.who, sizeof c->choice.who, field[0].text);
    return answer;
}

/* The rolls are asked anew; going back leaves them as they were. */
static enum ws_answer change_rolls(struct choosing *c)
{
    struct ws_roll before[WS_PLACES];
    int rolls = c->choice.rolls, numbered = c->choice.numbered;
    enum ws_answer answer;

    memcpy(before, c->choice.roll, sizeof before);
    c->choice.rolls = c->choice.numbered = 0;
    answer = c->stranger ? choose_film(c) : choose_rolls(c);
    if (answer != WS_ANSWER_NEXT) {
        memcpy(c->choice.roll, before, sizeof before);
        c->choice.rolls = rolls;
        c->choice.numbered = numbered;
    }
    return answer;
}

static bool wants_bottle(const struct ws_choice *choice, int bath)
{
    int bottles = ws_choice_bottles(choice, bath);

    return bottles > 0 && choice->bottle[bath][bottles - 1].batch.number[0] == '\0';
}

static enum ws_answer change(struct choosing *c, enum part part, int bath)
{
    enum ws_answer answer;

    switch (part) {
    case ROLLS:
        answer = change_rolls(c);
        if (answer != WS_ANSWER_NEXT)
            return answer;
        if (choose_in_trays(c))
            return choose_trays(c);
        /* Other rolls may need another fill. */
        if (ws_choice_check_fill(&c->choice, c->choice.fill_ml, &c->why) == WS_OK &&
            ws_choice_check_tank(&c->choice, &c->choice.tank, &c->why) == WS_OK)
            return answer;
        return choose_has_tanks(c) ? choose_tank(c) : choose_fill(c);
    case TANK:
        return choose_has_tanks(c) ? choose_tank(c) : choose_fill(c);
    case BOTTLES:
        return choose_bottles(c);
    case DILUTION:
        answer = choose_dilution(c);
        /* A and B want a bottle each, and what was water wants one. */
        if (answer == WS_ANSWER_NEXT && wants_bottle(&c->choice, bath))
            answer = choose_bottles(c);
        return answer;
    case PREMIX:
        return choose_premix(c);
    case NOW:
        return choose_now(c);
    case TIME:
        return choose_time(c);
    case AGITATION:
        return choose_agitation(c);
    case TRAYS:
        return choose_trays(c);
    case BATH:
        return change_bath(c, bath);
    case WHO:
        return change_who(c);
    case GO_ON:
        break;
    }
    return WS_ANSWER_NEXT;
}

/* ---- the page ---- */

bool choose_other_dilution(const struct choosing *c, char *text, size_t size)
{
    int bath = ws_choice_developer(&c->choice);
    char own[64], chosen[64];

    if (bath < 0 || c->choice.dilution.parts == 0)
        return false;
    ws_dilution_print(&c->choice.process.bath[bath].dilution, own, sizeof own);
    ws_dilution_print(&c->choice.dilution, chosen, sizeof chosen);
    if (strcmp(own, chosen) == 0 || own[0] == '\0')
        return false;
    snprintf(text, size,
             "the process's times are for %s, and %s is chosen: another strength, "
             "another time",
             own, chosen);
    return true;
}

/* What is given otherwise than in the run that is repeated: the first things of it. */
struct changes {
    char text[2 * CHOOSE_LINE];
    int told;
};

static void tell_change(void *self, const char *line)
{
    enum { TOLD = 2 };
    struct changes *changes = self;
    size_t used = strlen(changes->text);

    if (changes->told++ < TOLD)
        snprintf(changes->text + used, sizeof changes->text - used, "%s%s",
                 used > 0 ? "; " : " Changed: ", line);
    else if (changes->told == TOLD + 1)
        ws_text_copy(changes->text + used, sizeof changes->text - used, "; and more");
}

/* What the choice comes to, in the two texts above the list. */
static void tell(const struct choosing *c, char *title, size_t title_size, char *about,
                 size_t about_size)
{
    int bath = ws_choice_developer(&c->choice);
    char parts[CHOOSE_LINE] = "", low[24], high[24], time[24], degrees[24];
    char other[CHOOSE_LINE] = "";
    struct changes changes = { .told = 0 };
    double celsius = bath >= 0 ? c->choice.bath_c[bath] : NAN;

    if (c->status != WS_OK || bath < 0) {
        snprintf(title, title_size, "Not yet: %s", c->why.text);
        about[0] = '\0';
        return;
    }
    ws_time_print(c->plan.bath[bath].time_ms, time, sizeof time);
    ws_temperature_print(isnan(celsius) ? c->plan.bath[bath].point[0].c : celsius,
                         c->console->scale, degrees, sizeof degrees);
    ws_time_print(c->at.low_ms, low, sizeof low);
    ws_time_print(c->at.high_ms, high, sizeof high);
    if (c->rehearsal)
        ws_text_copy(parts, sizeof parts, "Water in every bath");
    else
        choose_parts_line(c, ws_choice_dilution(&c->choice, bath), c->choice.fill_ml, parts,
                          sizeof parts);
    snprintf(title, title_size, "Developer %s at %s (%s to %s)", time, degrees, low, high);
    if (choose_repeats(c))
        ws_page_changes(&c->plan, &c->was, c->console->scale, tell_change, &changes);
    snprintf(about, about_size, "%s. By %s%s.%s%s%s%s", parts, c->choice.process.name,
             c->choice.changed && !choose_repeats(c) ? ", changed for this run" : "", changes.text,
             changes.told > 0 ? "." : "",
             choose_other_dilution(c, other, sizeof other) ? " Mind: " : "", other);
}

enum ws_answer choose_sheet(struct choosing *c)
{
    struct sheet sheet = { .c = c };
    char title[2 * CHOOSE_LINE], about[4 * CHOOSE_LINE], what[CHOOSE_LINE];
    struct ws_pick pick = { .room = &ws_room_sink,
                            .title = title,
                            .about = about,
                            .line = sheet.line,
                            .keys = "enter: go on, or change it   esc: back",
                            .remade = true };

    for (;;) {
        enum ws_answer answer;

        choose_work_out(c);
        make_sheet(&sheet);
        pick.lines = sheet.lines;
        pick.what = choose_what(c, what, sizeof what);
        tell(c, title, sizeof title, about, sizeof about);
        answer = ws_pick(c->console, &pick);
        if (answer != WS_ANSWER_NEXT)
            return answer;
        if (pick.key == WS_KEY_REDRAW)
            continue;
        if (sheet.part[pick.at] == GO_ON) {
            if (c->status == WS_OK)
                return WS_ANSWER_NEXT;
            ws_console_say(c->console, "%s", c->why.text);
        } else if (change(c, sheet.part[pick.at], sheet.bath[pick.at]) == WS_ANSWER_LEAVE) {
            return WS_ANSWER_LEAVE;
        }
    }
}
