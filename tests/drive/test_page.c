/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run's page composed from plan and journal. Method: one roll at 9:30, driven through the engine
 * here with hands that press as asked, except for a doorbell at 4:10 of the developer; its journal
 * is then composed, and the page must say what was done. The text is searched for what a person
 * looks up later. */
#include "../aid.h"

#include <stdlib.h>

#include "wetside/drive/page.h"

enum { EVENTS = 256 };

struct journal {
    struct ws_event event[EVENTS];
    int events;
};

static void one_bath(struct ws_bath *bath, enum ws_bath_kind kind, int64_t time_ms)
{
    ws_bath_default(kind, bath);
    bath->time_ms = time_ms;
    bath->agitation.rhythm = WS_CYCLES;
    bath->agitation.first_ms = 30000;
    bath->agitation.every_ms = 60000;
    bath->agitation.length_ms = 10000;
}

static void plan_of_one_roll(struct ws_plan *plan)
{
    struct ws_bath *bath = plan->bath;

    ws_plan_default(plan);
    ws_text_copy(plan->process, sizeof plan->process, "Tarn 125, 1+1");
    ws_text_copy(plan->tank, sizeof plan->tank, "tank A");
    plan->fill_ml = 300;
    one_bath(&bath[0], WS_BATH_DEVELOPER, 570000);
    one_bath(&bath[1], WS_BATH_STOP, 30000);
    one_bath(&bath[2], WS_BATH_FIXER, 300000);
    plan->baths = 3;
    bath[0].start_c = 20.0;
    bath[0].longest_ms = bath[0].time_ms;
    assert_int_equal(ws_dilution_read("1+1", WS_COLON_ASK, &bath[0].dilution, NULL), WS_OK);
    bath[0].parts = 2;
    ws_text_copy(bath[0].part[0].name, WS_NAME, "MQB-014");
    bath[0].part[0].ml = 150;
    bath[0].part[0].batch.byte[0] = 1;
    ws_text_copy(bath[0].part[1].name, WS_NAME, "water");
    bath[0].part[1].water = true;
    bath[0].part[1].ml = 150;
}

/* Takes the event, with its sequence, and keeps it unless it is a tick. */
static void take(struct ws_session *session, const struct ws_plan *plan, struct journal *journal,
                 enum ws_event_kind kind, int64_t at_ms)
{
    struct ws_event event = { .at_ms = at_ms, .kind = kind, .bath = -1, .value_c = NAN };
    struct ws_cue cue[64];
    enum ws_status status;
    int n;

    if (kind != WS_EVENT_TICK)
        event.sequence = session->sequence + 1;
    do
        status = ws_session_take(session, plan, &event, cue, 64, &n);
    while (status == WS_MORE);
    if (status != WS_OK && status != WS_IGNORED)
        print_error("%s at %lld: %d\n", ws_event_token(kind), (long long)at_ms, status);
    assert_true(status == WS_OK || status == WS_IGNORED);
    if (status == WS_OK && kind != WS_EVENT_TICK) {
        assert_true(journal->events < EVENTS);
        journal->event[journal->events++] = event;
    }
}

/* Away from 4:10 of the developer until just before 7:00: two cycles are missed. */
static void develop(const struct ws_plan *plan, struct journal *journal)
{
    struct ws_session *session = malloc(sizeof *session);
    bool been_away = false;

    assert_non_null(session);
    assert_int_equal(ws_session_begin(session, plan, NULL), WS_OK);
    take(session, plan, journal, WS_EVENT_BEGIN, 0);
    for (;;) {
        int64_t answer = ws_session_answer_ms(session, plan);
        int64_t next = answer != WS_NEVER ? answer : ws_session_next_ms(session, plan);
        int64_t full_ms = session->record[0].full_ms;

        if (next == WS_NEVER)
            break;
        if (!been_away && session->step == 0 && full_ms != WS_NEVER && next > full_ms + 250000) {
            been_away = true;
            take(session, plan, journal, WS_EVENT_AWAY, full_ms + 250000);
            take(session, plan, journal, WS_EVENT_BACK, full_ms + 380000);
            take(session, plan, journal, WS_EVENT_TICK, full_ms + 420000);
        } else {
            take(session, plan, journal, answer != WS_NEVER ? WS_EVENT_HAND : WS_EVENT_TICK, next);
        }
    }
    assert_int_equal(session->stage, WS_STAGE_OVER);
    take(session, plan, journal, WS_EVENT_CLOSE, session->now_ms);
    free(session);
}

static void says_what_was_done(void **state)
{
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_page_run *page = calloc(1, sizeof *page);
    struct journal *journal = calloc(1, sizeof *journal);
    const struct ws_page_bath *developer = &page->bath[0];
    (void)state;
    plan_of_one_roll(plan);
    develop(plan, journal);
    assert_int_equal(ws_page_compose(plan, journal->event, journal->events, page, NULL), WS_OK);
    assert_true(page->finished);
    assert_int_equal(page->baths, 3);
    assert_int_equal(developer->planned_ms, 570000);
    assert_int_equal(developer->in_force_ms, 570000);
    assert_int_equal(developer->actual_ms, 570000);
    assert_int_equal(developer->poured_ms, 570000 + 15000);
    assert_int_equal(developer->over_ms, 0);
    ws_assert_near(developer->start_c, 20, 0);
    ws_assert_near(developer->stock_ml, 150, 0);
    ws_assert_near(developer->total_ml, 300, 0);
    /* The first agitation and the nine full minutes; those at 5:00 and 6:00 were missed. */
    assert_int_equal(developer->asked, 10);
    assert_int_equal(developer->confirmed, 8);
    assert_int_equal(developer->missed, 2);
    assert_int_equal(developer->missed_ms[0], 300000);
    assert_int_equal(developer->missed_ms[1], 360000);
    assert_false(developer->moved || developer->left_early || developer->inserted);
    assert_true(page->bath[2].ended);
    assert_int_equal(page->bath[2].missed, 0);
    assert_int_equal(page->away_ms, 130000);
    free(journal);
    free(page);
    free(plan);
}

/* The journal broken off in the developer: what has not been is not made up. */
static void an_open_run_has_no_end(void **state)
{
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_page_run *page = calloc(1, sizeof *page);
    struct journal *journal = calloc(1, sizeof *journal);
    (void)state;
    plan_of_one_roll(plan);
    develop(plan, journal);
    assert_int_equal(ws_page_compose(plan, journal->event, 6, page, NULL), WS_OK);
    assert_false(page->finished);
    assert_true(page->bath[0].begun);
    assert_false(page->bath[0].ended);
    assert_true(page->bath[0].actual_ms == WS_NEVER);
    assert_false(page->bath[1].begun);
    assert_true(page->length_ms == WS_NEVER);
    /* An empty journal is a run nothing was done in. */
    assert_int_equal(ws_page_compose(plan, journal->event, 1, page, NULL), WS_OK);
    assert_false(page->bath[0].begun);
    free(journal);
    free(page);
    free(plan);
}

struct text {
    char all[8192];
    int lines;
};

static void gather(void *self, const char *line)
{
    struct text *text = self;
    size_t length = strlen(text->all);

    assert_null(strchr(line, '\n'));
    snprintf(text->all + length, sizeof text->all - length, "%s\n", line);
    text->lines++;
}

static void the_text_holds_what_is_looked_up(void **state)
{
    static const char *const wanted[] = {
        "Tarn 125, 1+1",
        "tank A",
        "developer",
        "9:30",
        "20.0 C",
        "8 of 10 cycles confirmed",
        "not confirmed: 5:00, 6:00",
        "MQB-014 150 ml",
        "water to 300 ml",
        "(1+1)",
        "to the drain",
        "hands away for 2 minutes 10 seconds",
        "30 s first",
        "from the full tank",
    };
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_page_run *page = calloc(1, sizeof *page);
    struct journal *journal = calloc(1, sizeof *journal);
    struct text *text = calloc(1, sizeof *text);
    (void)state;
    plan_of_one_roll(plan);
    develop(plan, journal);
    assert_int_equal(ws_page_compose(plan, journal->event, journal->events, page, NULL), WS_OK);
    page->line.began_ms = INT64_C(1773500000000);
    page->line.ended_ms = page->line.began_ms + 1;
    ws_page_run_write(page, WS_CELSIUS, gather, text);
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        if (strstr(text->all, wanted[i]) == NULL)
            print_error("no '%s' in\n%s", wanted[i], text->all);
        assert_non_null(strstr(text->all, wanted[i]));
    }
    free(text);
    free(journal);
    free(page);
    free(plan);
}

/* Three sheets through developer, stop and fixer in trays, one every ten seconds. */
static void plan_of_sheets(struct ws_plan *plan)
{
    plan_of_one_roll(plan);
    for (int i = 0; i < plan->baths; i++) {
        plan->bath[i].agitation = (struct ws_agitation){ .rhythm = WS_SHUFFLE, .every_ms = 5000 };
        plan->bath[i].open_film = true;
        plan->bath[i].pieces = 3;
        plan->bath[i].piece_every_ms = 10000;
    }
    plan->bath[2].light_ms = 120000;
}

/* Sheets: each bath has its time, first in to first out, and says how they went through it and when
 * light might go on; the third sheet's own page says that it went twenty seconds after the first.
 */
static void sheets_have_their_trays(void **state)
{
    struct ws_page_roll *page = calloc(1, sizeof *page);
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct journal *journal = calloc(1, sizeof *journal);
    struct text *text = calloc(1, sizeof *text);
    (void)state;
    plan_of_sheets(plan);
    develop(plan, journal);
    assert_int_equal(ws_page_compose(plan, journal->event, journal->events, &page->run, NULL),
                     WS_OK);
    for (int i = 0; i < 3; i++) {
        const struct ws_page_bath *bath = &page->run.bath[i];

        assert_int_equal(bath->actual_ms, plan->bath[i].time_ms);
        assert_int_equal(bath->over_ms, 0);
        assert_int_equal(bath->pieces, 3);
        assert_int_equal(bath->piece_every_ms, 10000);
        assert_true(bath->open_film);
        assert_int_equal(bath->light_ms, i == 2 ? 120000 : 0);
    }
    page->runs = 1;
    page->reel = 3;
    ws_text_copy(page->roll.number, sizeof page->roll.number, "S-23");
    ws_page_roll_write(page, WS_CELSIUS, gather, text);
    assert_non_null(strstr(text->all, "agitation: one sheet every 5 s\n"));
    assert_non_null(strstr(text->all, "    3 sheets, one every 10 s; film lies open: black\n"));
    assert_non_null(strstr(text->all, "black; light may go on 2:00 after the last is in\n"));
    assert_non_null(
        strstr(text->all, "\nsheet 3 of 3, in and out of each tray 0:20 after the first\n"));
    assert_null(strstr(text->all, "reel"));
    assert_null(strstr(text->all, "full tank"));
    page->reel = 1;
    memset(text, 0, sizeof *text);
    ws_page_roll_write(page, WS_CELSIUS, gather, text);
    assert_non_null(strstr(text->all, "\nsheet 1 of 3\n"));
    free(text);
    free(journal);
    free(plan);
    free(page);
}

static void parts_are_as_at_the_graduate(void **state)
{
    const struct ws_part part[3] = { { .name = "A", .ml = 4.9 },
                                     { .name = "B", .ml = 4.9 },
                                     { .name = "water", .ml = 490.2, .water = true } };
    char text[128];
    (void)state;
    ws_page_parts(part, 3, text, sizeof text);
    assert_string_equal(text, "A 4.9 ml  B 4.9 ml  water to 500 ml");
    ws_page_parts(part + 2, 1, text, sizeof text);
    assert_string_equal(text, "water 490 ml");
    ws_page_parts(&(struct ws_part){ .name = "X-1", .ml = 1.66, .drawn_ml = 10 }, 1, text,
                  sizeof text);
    assert_string_equal(text, "X-1 1.66 ml of 10 ml premixed");
    ws_page_parts(part, 0, text, sizeof text);
    assert_string_equal(text, "");
}

/* Columns stay columns with a name of two-byte letters, and nothing overruns a small room. */
static void a_line_of_a_list(void **state)
{
    struct ws_roll_line line = { .number = "2026-0143",
                                 .film = "Tarn 125",
                                 .format = WS_FORMAT_135_36,
                                 .developed_ms = INT64_C(1773500000000),
                                 .batch = "MQB-014",
                                 .dilution = "1+1",
                                 .stock_ml = 150,
                                 .verdict = WS_VERDICT_GOOD };
    char plain[256], wide[256], small[20];
    (void)state;
    ws_page_roll_line(&line, 0, plain, sizeof plain);
    assert_non_null(strstr(plain, "MQB-014 1+1"));
    assert_non_null(strstr(plain, "150 ml"));
    assert_int_equal(strcmp(plain + strlen(plain) - 4, "good"), 0);
    ws_text_copy(line.film, sizeof line.film, "T\xc3\xa4rn 125");
    ws_page_roll_line(&line, 0, wide, sizeof wide);
    assert_int_equal(strlen(wide), strlen(plain) + 1);
    ws_page_roll_line(&line, 0, small, sizeof small);
    assert_true(strlen(small) < sizeof small);
    /* Names give way, marked as cut; the dilution, without which they mislead, does not. */
    strcpy(line.batch, "MQB concentrate of the club");
    strcpy(line.dilution, "1+31");
    strcpy(line.film, "a film with a long name 125");
    ws_page_roll_line(&line, 0, plain, sizeof plain);
    assert_non_null(strstr(plain, " a film with a l~ "));
    assert_non_null(strstr(plain, " MQB concent~ 1+31 "));
    ws_page_stock(&line, 40, plain, sizeof plain);
    assert_string_equal(plain, "MQB concentrate of the club 1+31");
    ws_page_stock(&line, 3, plain, sizeof plain);
    assert_non_null(strstr(plain, "1+31"));
    line.batch[0] = line.dilution[0] = '\0';
    ws_page_stock(&line, 17, plain, sizeof plain);
    assert_string_equal(plain, "");
    /* The number is what is typed again: whole at any length, in a column as wide as asked. */
    strcpy(line.number, "2026-harbour-0143");
    assert_int_equal(ws_page_number_columns(&line, 1), 17);
    ws_page_roll_line(&line, 0, plain, sizeof plain);
    assert_int_equal(strncmp(plain, "2026-harbour-0143 a film", 24), 0);
    ws_page_roll_line(&line, 20, plain, sizeof plain);
    assert_int_equal(strncmp(plain, "2026-harbour-0143    a film", 27), 0);
    /* A run given up is said, beside a verdict if there is one. */
    line.given_up = true;
    ws_page_roll_line(&line, 0, plain, sizeof plain);
    assert_non_null(strstr(plain, " given up, good"));
    line.verdict = WS_VERDICT_NONE;
    ws_page_roll_line(&line, 0, plain, sizeof plain);
    assert_int_equal(strcmp(plain + strlen(plain) - 9, " given up"), 0);
}

/* A bath's name of any length is there whole, and its figures stay in their columns. */
static void a_long_name_is_not_cut(void **state)
{
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_page_run *page = calloc(1, sizeof *page);
    struct journal *journal = calloc(1, sizeof *journal);
    struct text *text = calloc(1, sizeof *text);
    const char *whole, *cut;
    (void)state;
    plan_of_one_roll(plan);
    ws_text_copy(plan->bath[0].name, WS_NAME, "developer (water bath)");
    ws_text_copy(plan->bath[1].name, WS_NAME, "stop in a jug");
    develop(plan, journal);
    assert_int_equal(ws_page_compose(plan, journal->event, journal->events, page, NULL), WS_OK);
    ws_page_run_write(page, WS_CELSIUS, gather, text);
    whole = strstr(text->all, "\n  developer (water bath)\n");
    cut = strstr(text->all, "\n  stop in a jug    0:30    0:30");
    assert_non_null(whole);
    assert_non_null(cut);
    assert_non_null(strstr(whole, "\n                   9:30    9:30 20.0 C  8 of 10 cycles"));
    free(text);
    free(journal);
    free(page);
    free(plan);
}

struct changes {
    int lines;
    char last[256];
};

static void take_change(void *self, const char *line)
{
    struct changes *changes = self;

    changes->lines++;
    ws_text_copy(changes->last, sizeof changes->last, line);
}

static int changes_of(const struct ws_plan *is, const struct ws_plan *was, struct changes *changes)
{
    int n;

    memset(changes, 0, sizeof *changes);
    n = ws_page_changes(is, was, WS_CELSIUS, take_change, changes);
    assert_int_equal(n, changes->lines);
    return n;
}

static void sheets(struct ws_plan *plan, int pieces, int64_t every_ms)
{
    for (int i = 0; i < plan->baths; i++) {
        plan->bath[i].pieces = pieces;
        plan->bath[i].piece_every_ms = every_ms;
    }
}

/* Each thing of a plan is changed alone, and must be the one line that is said. What is alike is
 * not, nor what is not known on both sides. */
static void one_line_for_each_change(void **state)
{
    struct ws_plan *was = calloc(1, sizeof *was), *is = calloc(1, sizeof *is);
    struct changes changes;
    (void)state;
    plan_of_one_roll(was);
#define CHANGED(what, line)                                                                        \
    do {                                                                                           \
        *is = *was;                                                                                \
        what;                                                                                      \
        assert_int_equal(changes_of(is, was, &changes), 1);                                        \
        assert_string_equal(changes.last, line);                                                   \
    } while (0)
    assert_int_equal(changes_of(was, was, &changes), 0);
    CHANGED(is->fill_ml = 320, "fill 320 ml, was 300 ml");
    CHANGED(strcpy(is->tank, "tank B"), "in tank B, was tank A");
    CHANGED(strcpy(is->who, "KM"), "by KM, was none");
    CHANGED(strcpy(is->process, "Tarn thin"), "process Tarn thin, was Tarn 125, 1+1");
    CHANGED(is->bath[0].time_ms = 630000, "developer: time 10:30, was 9:30");
    CHANGED(is->bath[0].start_c = 21.5, "developer: at 21.5 C, was 20.0 C");
    CHANGED(is->bath[0].start_c = NAN, "developer: at not measured, was 20.0 C");
    CHANGED(is->bath[0].dilution.part[1] = 3, "developer: dilution 1+3, was 1+1");
    CHANGED(is->bath[0].dilution.parts = 0, "developer: dilution none, was 1+1");
    CHANGED(strcpy(is->bath[0].part[0].name, "MQB-015"), "developer: bottle MQB-015, was MQB-014");
    CHANGED(is->bath[0].part[0].drawn_ml = 10,
            "developer: stock measured pre-diluted, was as it is");
    CHANGED(is->bath[1].agitation.rhythm = WS_CONTINUOUS,
            "stop: agitation all the time, was 30 s first, then 10 s every 1:00");
    CHANGED(is->bath[0].clock_from = WS_FROM_FIRST_LIQUID,
            "developer: clock from the first liquid, was from the full tank");
    CHANGED(is->bath[0].drain = WS_DRAIN_AFTER,
            "developer: drain after the time, was inside the time");
    CHANGED(is->bath[2].afterwards = WS_TO_WASTE,
            "fixer: afterwards to waste, was back to its bottle");
    CHANGED(is->baths = 2, "fixer: left out");
    CHANGED(is->bath[2].light_ms = 120000, "fixer: dark: light may go on after 2:00, was none");
    CHANGED(is->bath[1].open_film = true, "stop: dark: film lies open: black, was none");
    CHANGED((is->places = 1, strcpy(is->place[0].film, "Halden 400")),
            "films Halden 400, was none");
    plan_of_sheets(was);
    CHANGED(sheets(is, 4, 10000), "trays: 4 sheets, one every 10 s, was 3 sheets, one every 10 s");
    CHANGED(sheets(is, 3, 8000), "trays: 3 sheets, one every 8 s, was 3 sheets, one every 10 s");
#undef CHANGED
    free(is);
    free(was);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(says_what_was_done),
        cmocka_unit_test(an_open_run_has_no_end),
        cmocka_unit_test(the_text_holds_what_is_looked_up),
        cmocka_unit_test(sheets_have_their_trays),
        cmocka_unit_test(parts_are_as_at_the_graduate),
        cmocka_unit_test(a_line_of_a_list),
        cmocka_unit_test(a_long_name_is_not_cut),
        cmocka_unit_test(one_line_for_each_change),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
