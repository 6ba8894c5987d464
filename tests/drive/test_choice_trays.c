/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets in trays, as they are chosen. Film and stock names are invented; the times are inputs of
 * the tests. */
#include "aid.h"

#include <sqlite3.h>
#include <stdlib.h>
#include <unistd.h>

#include "plans.h"
#include "wetside/book/process.h"
#include "wetside/drive/choice.h"

static const int64_t now_ms = INT64_C(1773525600000); /* 2026-03-14 22:00 UTC */

struct place {
    char folder[64], path[96];
    struct ws_book *book;
    struct ws_choice *choice;
    struct ws_process *process;
    struct ws_setup *setup;
    struct ws_plan *plan;
};

static int open_book(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    struct ws_message why;

    strcpy(place->folder, "/tmp/wetside-trays-XXXXXX");
    if (mkdtemp(place->folder) == NULL)
        return -1;
    snprintf(place->path, sizeof place->path, "%s/book.db", place->folder);
    if (ws_book_open(place->path, WS_BOOK_WRITE, &place->book, &why) != WS_OK)
        return -1;
    place->choice = calloc(1, sizeof *place->choice);
    place->process = calloc(1, sizeof *place->process);
    place->setup = calloc(1, sizeof *place->setup);
    place->plan = calloc(1, sizeof *place->plan);
    ws_choice_default(place->choice);
    *state = place;
    return 0;
}

static int close_book(void **state)
{
    struct place *place = *state;

    ws_book_close(place->book);
    unlink(place->path);
    rmdir(place->folder);
    free(place->plan);
    free(place->setup);
    free(place->process);
    free(place->choice);
    free(place);
    return 0;
}

/* Field by field: what lies between them is nobody's. */
static void assert_same(const struct ws_trays *is, const struct ws_trays *want)
{
    assert_int_equal(is->sheets, want->sheets);
    assert_int_equal(is->every_ms, want->every_ms);
    assert_int_equal(is->shuffle_ms, want->shuffle_ms);
}

static const struct ws_trays six = { .sheets = 6, .every_ms = 10 * SEC, .shuffle_ms = 5 * SEC };

static struct ws_few_answers few(void)
{
    return (struct ws_few_answers){ .film = "Corvex Pan 100",
                                    .developer = "MQB-014",
                                    .ei = 100,
                                    .dilution = { .part = { 1, 1 }, .parts = 2 },
                                    .point = { .c = 20, .time_ms = 7 * MIN },
                                    .trays = six,
                                    .presoak_ms = 2 * MIN,
                                    .stop_ms = MIN,
                                    .fixer_ms = 5 * MIN,
                                    .wash_ms = 10 * MIN };
}

static void choose(struct place *place)
{
    struct ws_few_answers answers = few();
    struct ws_message why = { "" };

    if (ws_choice_process(&answers, place->process, &why) != WS_OK)
        fail_msg("%s", why.text);
    ws_choice_set_process(place->choice, place->process);
}

static void choose_sheet(struct place *place, const char *number)
{
    struct ws_roll *roll = &place->choice->roll[place->choice->rolls++];

    memset(roll, 0, sizeof *roll);
    strcpy(roll->number, number);
    strcpy(roll->film, "Corvex Pan 100");
    roll->format = WS_FORMAT_4X5;
    roll->ei = 100;
}

/* Method: the answers give five baths, of which four are trays of the same six sheets; a book keeps
 * it, under a name of its own beside the same film's in a tank; and the plan passes the check. */
static void few_answers_make_trays(void **state)
{
    struct place *place = *state;
    struct ws_message why = { "" };
    struct ws_time_at at;

    choose(place);
    assert_string_equal(place->process->name, "Corvex Pan 100 in MQB-014 1+1, trays");
    assert_int_equal(ws_process_keep(place->book, place->process, now_ms, &why), WS_OK);
    assert_int_equal(ws_process_find(place->book, place->process->name, place->process, &why),
                     WS_OK);
    assert_int_equal(place->process->baths, 5);
    assert_int_equal(ws_choice_developer(place->choice), 1);
    for (int i = 0; i < 5; i++) {
        const struct ws_bath *bath = &place->process->bath[i];
        const bool tray = bath->kind != WS_BATH_WASH;

        assert_int_equal(bath->open_film, tray);
        assert_int_equal(bath->pieces, tray ? 6 : 0);
        assert_int_equal(bath->piece_every_ms, tray ? 10 * SEC : 0);
        assert_int_equal(bath->agitation.rhythm, tray ? WS_SHUFFLE : WS_STAND);
        assert_int_equal(bath->agitation.every_ms, tray ? 5 * SEC : 0);
        assert_int_equal(bath->light_ms, bath->kind == WS_BATH_FIXER ? 2 * MIN : 0);
    }
    place->choice->fill_ml = 1000;
    assert_int_equal(ws_choice_plan(place->choice, now_ms, place->setup, place->plan, &at, &why),
                     WS_OK);
    assert_int_equal(place->plan->bath[1].time_ms, 7 * MIN);
}

/* Method: other sheets for tonight: in all trays, not in the wash; said to be changed, and not when
 * they are what they were; one sheet has no rhythm; no shuffle is to stand. */
static void other_sheets_for_tonight(void **state)
{
    struct place *place = *state;
    struct ws_trays trays = six, is;
    struct ws_message why = { "" };

    choose(place);
    assert_int_equal(ws_choice_set_trays(place->choice, &trays, &why), WS_OK);
    assert_false(place->choice->changed);
    trays = (struct ws_trays){ .sheets = 4, .every_ms = 8 * SEC, .shuffle_ms = 10 * SEC };
    assert_int_equal(ws_choice_set_trays(place->choice, &trays, &why), WS_OK);
    assert_true(place->choice->changed);
    assert_true(ws_choice_trays(place->choice, &is));
    assert_same(&is, &trays);
    assert_int_equal(place->choice->process.bath[3].pieces, 4);
    assert_int_equal(place->choice->process.bath[3].agitation.every_ms, 10 * SEC);
    assert_int_equal(place->choice->process.bath[4].pieces, 0);
    trays = (struct ws_trays){ .sheets = 1, .every_ms = 8 * SEC };
    assert_int_equal(ws_choice_set_trays(place->choice, &trays, &why), WS_OK);
    assert_int_equal(place->choice->process.bath[1].piece_every_ms, 0);
    assert_int_equal(place->choice->process.bath[1].agitation.rhythm, WS_STAND);
    /* And back. */
    assert_int_equal(ws_choice_set_trays(place->choice, &six, &why), WS_OK);
    assert_int_equal(place->choice->process.bath[1].agitation.rhythm, WS_SHUFFLE);
    assert_int_equal(place->choice->process.bath[1].piece_every_ms, 10 * SEC);
}

/* Method: a stop that is moved all the time, and a pre-soak that stands, stay so whatever the
 * shuffle of the developer. */
static void other_agitation_stays(void **state)
{
    struct place *place = *state;
    struct ws_trays trays = six;
    struct ws_message why = { "" };

    choose(place);
    place->choice->process.bath[0].agitation = (struct ws_agitation){ .rhythm = WS_STAND };
    place->choice->process.bath[2].agitation = (struct ws_agitation){ .rhythm = WS_CONTINUOUS };
    trays.shuffle_ms = 7 * SEC;
    assert_int_equal(ws_choice_set_trays(place->choice, &trays, &why), WS_OK);
    assert_int_equal(place->choice->process.bath[0].agitation.rhythm, WS_STAND);
    assert_int_equal(place->choice->process.bath[1].agitation.every_ms, 7 * SEC);
    assert_int_equal(place->choice->process.bath[2].agitation.rhythm, WS_CONTINUOUS);
}

/* Method: sheets that the stop of a minute is too short for, rhythms that no tray has, and a
 * process without trays: one line each, and everything stays as it was. */
static void trays_that_cannot_be(void **state)
{
    static const struct {
        struct ws_trays trays;
        const char *says;
    } wrong[] = {
        { { .sheets = 7, .every_ms = 10 * SEC, .shuffle_ms = 5 * SEC },
          "stop of 1:00: the first of 7 sheets would be due out before the last is in, one every "
          "0:10; at least 1:01" },
        { { .sheets = 65, .every_ms = SEC }, "stop of 1:00" },
        { { .sheets = 6, .every_ms = 0 }, "baths[0].piece_every: 0:00" },
        { { .sheets = 6, .every_ms = 10 * SEC, .shuffle_ms = 500 }, "baths[0].agitation.every" },
    };
    struct place *place = *state;
    struct ws_trays is;
    struct ws_message why = { "" };

    choose(place);
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        assert_int_equal(ws_choice_set_trays(place->choice, &wrong[i].trays, &why), WS_BAD_INPUT);
        if (strncmp(why.text, wrong[i].says, strlen(wrong[i].says)) != 0)
            fail_msg("\"%s\" does not begin with \"%s\"", why.text, wrong[i].says);
        assert_true(ws_choice_trays(place->choice, &is));
        assert_same(&is, &six);
    }
    assert_false(place->choice->changed);
    for (int i = 0; i < place->process->baths; i++)
        place->process->bath[i].pieces = 0;
    ws_choice_set_process(place->choice, place->process);
    assert_false(ws_choice_trays(place->choice, &is));
    assert_int_equal(ws_choice_set_trays(place->choice, &six, &why), WS_BAD_INPUT);
}

/* Method: a sheet of the book is chosen, five more are numbered, and then the book can't be read
 * any more: asked for others, all stay as they are. */
static void numbers_stay_when_others_cant_be_read(void **state)
{
    struct place *place = *state;
    struct ws_choice *choice = place->choice;
    struct ws_choice *before = malloc(sizeof *before);
    struct ws_message why = { "" };
    sqlite3 *raw;

    assert_non_null(before);
    choose(place);
    choose_sheet(place, "S-21");
    choice->roll[0].row = 1;
    assert_int_equal(ws_choice_number_sheets(place->book, choice, 6, &why), WS_OK);
    *before = *choice;
    assert_int_equal(sqlite3_open(place->path, &raw), SQLITE_OK);
    assert_int_equal(sqlite3_exec(raw, "ALTER TABLE roll RENAME TO gone", NULL, NULL, NULL),
                     SQLITE_OK);
    sqlite3_close(raw);
    assert_int_not_equal(ws_choice_number_sheets(place->book, choice, 4, &why), WS_OK);
    assert_non_null(strstr(why.text, "can't be read"));
    assert_int_equal(choice->rolls, before->rolls);
    assert_int_equal(choice->numbered, before->numbered);
    for (int i = 0; i < choice->rolls; i++)
        assert_string_equal(choice->roll[i].number, before->roll[i].number);
    free(before);
}

/* Method: two sheets are chosen by number, six are to go in: four more get the numbers that come
 * next, like the last; asked again, they are not added twice, and fewer takes them off; less than
 * was chosen is refused; beyond the places of a run they go in without a number. Kept, each is a
 * roll of the book of a quarter's area. */
static void sheets_get_their_numbers(void **state)
{
    struct place *place = *state;
    struct ws_choice *choice = place->choice;
    struct ws_message why = { "" };
    double rolls = 0;

    choose(place);
    choose_sheet(place, "S-21");
    choose_sheet(place, "S-22");
    for (int i = 0; i < 2; i++) {
        assert_int_equal(ws_choice_number_sheets(place->book, choice, 6, &why), WS_OK);
        assert_int_equal(choice->rolls, 6);
        assert_string_equal(choice->roll[2].number, "S-23");
        assert_string_equal(choice->roll[5].number, "S-26");
        assert_int_equal(choice->roll[5].format, WS_FORMAT_4X5);
        assert_int_equal(choice->roll[5].ei, 100);
        assert_string_equal(choice->roll[5].film, "Corvex Pan 100");
    }
    assert_int_equal(ws_choice_number_sheets(place->book, choice, 1, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "2 sheets are chosen by number"));
    assert_int_equal(choice->rolls, 6);
    assert_int_equal(ws_choice_number_sheets(place->book, choice, 2, &why), WS_OK);
    assert_int_equal(choice->rolls, 2);
    assert_int_equal(ws_choice_number_sheets(place->book, choice, 40, &why), WS_OK);
    assert_int_equal(choice->rolls, WS_PLACES);
    ws_choice_unnumber_sheets(choice);
    assert_int_equal(choice->rolls, 2);

    assert_int_equal(ws_choice_number_sheets(place->book, choice, 6, &why), WS_OK);
    assert_int_equal(ws_choice_keep(place->book, choice, now_ms, &why), WS_OK);
    choice->fill_ml = 1000;
    assert_int_equal(
        ws_choice_plan(choice, now_ms, place->setup, place->plan, &(struct ws_time_at){ 0 }, &why),
        WS_OK);
    assert_int_equal(place->plan->places, 6);
    for (int i = 0; i < 6; i++) {
        assert_int_equal(place->plan->place[i].reel, i + 1);
        rolls += place->plan->place[i].rolls;
    }
    ws_assert_near(rolls, 1.5, 1e-12);
}

/* Method: with no sheet chosen there is no number to go on from: none is made up. */
static void no_number_is_made_up(void **state)
{
    struct place *place = *state;
    struct ws_message why = { "" };

    choose(place);
    assert_int_equal(ws_choice_number_sheets(place->book, place->choice, 6, &why), WS_OK);
    assert_int_equal(place->choice->rolls, 0);
}

/* Method: a run of six sheets is repeated from its plan: its trays are there again, and six sheets
 * with the next numbers. */
static void a_run_of_sheets_is_repeated(void **state)
{
    struct place *place = *state;
    struct ws_choice *again = calloc(1, sizeof *again);
    struct ws_stamp stamp = { .wall_ns = now_ms * 1000000 };
    struct ws_message why = { "" };
    struct ws_trays is;
    int64_t run;

    ws_id_make(&stamp.boot);
    choose(place);
    choose_sheet(place, "S-21");
    place->choice->fill_ml = 1000;
    assert_int_equal(ws_choice_number_sheets(place->book, place->choice, 6, &why), WS_OK);
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_OK);
    assert_int_equal(ws_choice_plan(place->choice, now_ms, place->setup, place->plan,
                                    &(struct ws_time_at){ 0 }, &why),
                     WS_OK);
    assert_int_equal(ws_run_keep(place->book, place->plan, &stamp, &run, &why), WS_OK);
    assert_int_equal(ws_choice_repeat(place->book, run, again, &why), WS_OK);
    assert_true(ws_choice_trays(again, &is));
    assert_same(&is, &six);
    assert_int_equal(again->process.bath[3].light_ms, 2 * MIN);
    assert_int_equal(again->rolls, 6);
    assert_int_equal(again->roll[0].format, WS_FORMAT_4X5);
    free(again);
}

int main(void)
{
#define TEST(function) cmocka_unit_test_setup_teardown(function, open_book, close_book)
    const struct CMUnitTest tests[] = {
        TEST(few_answers_make_trays),
        TEST(other_sheets_for_tonight),
        TEST(other_agitation_stays),
        TEST(trays_that_cannot_be),
        TEST(sheets_get_their_numbers),
        TEST(no_number_is_made_up),
        TEST(numbers_stay_when_others_cant_be_read),
        TEST(a_run_of_sheets_is_repeated),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
