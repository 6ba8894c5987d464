/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a person chooses, before it is a plan. Film and stock names are invented. */
#include "aid.h"

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
};

static int open_book(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    struct ws_message why;

    setenv("TZ", "UTC", 1);
    strcpy(place->folder, "/tmp/wetside-choice-XXXXXX");
    if (mkdtemp(place->folder) == NULL)
        return -1;
    snprintf(place->path, sizeof place->path, "%s/book.db", place->folder);
    if (ws_book_open(place->path, WS_BOOK_WRITE, &place->book, &why) != WS_OK)
        return -1;
    place->choice = calloc(1, sizeof *place->choice);
    ws_choice_default(place->choice);
    *state = place;
    return 0;
}

static int close_book(void **state)
{
    struct place *place = *state;
    char other[128];

    ws_book_close(place->book);
    unlink(place->path);
    snprintf(other, sizeof other, "%s-wal", place->path);
    unlink(other);
    snprintf(other, sizeof other, "%s-shm", place->path);
    unlink(other);
    rmdir(place->folder);
    free(place->choice);
    free(place);
    return 0;
}

static struct ws_few_answers few(void)
{
    struct ws_few_answers answers = { .film = "Tarn 125",
                                      .developer = "MQB-014",
                                      .ei = 125,
                                      .dilution = { .part = { 1, 1 }, .parts = 2 },
                                      .point = { .c = 20, .time_ms = 570 * SEC },
                                      .stop_ms = 30 * SEC,
                                      .fixer_ms = 5 * MIN,
                                      .wash_ms = 10 * MIN };

    ws_agitation_pattern(0, &answers.agitation);
    return answers;
}

static void add_batch(struct ws_book *book, const char *number, double ml, struct ws_batch *batch)
{
    struct ws_message why;

    memset(batch, 0, sizeof *batch);
    strcpy(batch->number, number);
    strcpy(batch->what, "stock of the test");
    batch->use = WS_BATH_DEVELOPER;
    batch->volume_ml = ml;
    assert_int_equal(ws_batch_add(book, batch, now_ms, &why), WS_OK);
}

/* Method: eight answers give a process of four baths that passes calc's check, keeps and reads back
 * from the book, and gives the printed time at the printed temperature. */
static void few_answers_make_a_process(void **state)
{
    struct place *place = *state;
    struct ws_few_answers answers = few();
    struct ws_process *process = calloc(1, sizeof *process), *back = calloc(1, sizeof *back);
    struct ws_setup *setup = calloc(1, sizeof *setup);
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_time_at at;
    struct ws_message why = { "" };

    assert_int_equal(ws_choice_process(&answers, process, &why), WS_OK);
    assert_int_equal(process->baths, 4);
    assert_string_equal(process->name, "Tarn 125 in MQB-014 1+1");
    assert_int_equal(ws_process_keep(place->book, process, now_ms, &why), WS_OK);
    assert_int_equal(ws_process_find(place->book, process->name, back, &why), WS_OK);
    assert_int_equal(back->bath[2].time_ms, 5 * MIN);
    assert_int_equal(back->bath[2].agitation.every_ms, MIN);

    ws_choice_set_process(place->choice, back);
    place->choice->fill_ml = 300;
    place->choice->bath_c[0] = 20;
    assert_int_equal(ws_choice_plan(place->choice, now_ms, setup, plan, &at, &why), WS_OK);
    assert_int_equal(plan->bath[0].time_ms, 570 * SEC);
    ws_assert_near(plan->bath[0].part[0].ml, 150, 1e-9);
    free(process);
    free(back);
    free(setup);
    free(plan);
}

/* Method: no stop, no wash; then a time that can't be, which must be refused by name. */
static void few_answers_may_leave_baths_out(void **state)
{
    struct ws_few_answers answers = few();
    struct ws_process process;
    struct ws_message why = { "" };

    (void)state;
    answers.stop_ms = answers.wash_ms = 0;
    assert_int_equal(ws_choice_process(&answers, &process, &why), WS_OK);
    assert_int_equal(process.baths, 2);
    assert_int_equal(process.bath[1].kind, WS_BATH_FIXER);
    answers.point.time_ms = -1;
    assert_int_not_equal(ws_choice_process(&answers, &process, &why), WS_OK);
    assert_true(why.text[0] != '\0');
}

/* Method: a tank of 290 ml a 135 reel and 590 ml a 120 reel; fills at, just below and above. */
static void a_fill_must_cover_the_reels(void **state)
{
    struct place *place = *state;
    struct ws_choice *choice = place->choice;
    struct ws_message why = { "" };

    strcpy(choice->tank.name, "tank A");
    choice->tank.reels = 3;
    choice->tank.least_135_ml = 290;
    choice->tank.least_120_ml = 590;
    choice->tank.most_ml = 1200;
    choice->rolls = 2;
    ws_assert_near(ws_choice_cover_ml(choice), 580, 1e-9);
    choice->roll[1].format = WS_FORMAT_120;
    ws_assert_near(ws_choice_cover_ml(choice), 880, 1e-9);
    assert_int_equal(ws_choice_check_fill(choice, 880, &why), WS_OK);
    assert_int_equal(ws_choice_check_fill(choice, 870, &why), WS_BAD_INPUT);
    assert_string_equal(why.text, "870 ml does not cover 2 reels in tank A: at least 880 ml");
    assert_int_equal(ws_choice_check_fill(choice, 1300, &why), WS_BAD_INPUT);
    assert_string_equal(why.text, "tank A holds 1200 ml at most, not 1300 ml");
    assert_int_equal(ws_choice_check_fill(choice, 0, &why), WS_BAD_INPUT);
    choice->rolls = 4;
    assert_int_equal(ws_choice_check_tank(choice, &choice->tank, &why), WS_BAD_INPUT);
    choice->rolls = 3;
    assert_int_equal(ws_choice_check_tank(choice, &choice->tank, &why), WS_OK);
    choice->tank.least_120_ml = 0; /* not known: nothing can be refused */
    assert_int_equal(ws_choice_check_fill(choice, 100, &why), WS_OK);
}

/* Method: two points 9:30 at 20 C and 6:40 at 24 C, measured 22 C; the time there is set a tenth
 * longer, and the time at 24 C must be a tenth longer as well. */
static void a_changed_time_keeps_its_relation_to_others(void **state)
{
    struct place *place = *state;
    struct ws_few_answers answers = few();
    struct ws_process process;
    struct ws_curve curve;
    struct ws_message why = { "" };
    double at_22;

    assert_int_equal(ws_choice_process(&answers, &process, &why), WS_OK);
    process.bath[0].points = 2;
    process.bath[0].point[1] = (struct ws_point){ .c = 24, .time_ms = 400 * SEC };
    ws_choice_set_process(place->choice, &process);
    place->choice->bath_c[0] = 22;
    assert_int_equal(ws_curve_make(process.bath[0].point, 2, 0, &curve, &why), WS_OK);
    at_22 = ws_curve_ms(&curve, 22);
    assert_int_equal(ws_choice_set_time(place->choice, llround(at_22 * 1.1), &why), WS_OK);
    assert_true(place->choice->changed);
    ws_assert_near((double)place->choice->process.bath[0].point[1].time_ms, 440000, 2);
    ws_assert_near((double)place->choice->process.bath[0].point[0].time_ms, 627000, 2);
    assert_int_not_equal(ws_choice_set_time(place->choice, 0, &why), WS_OK);
    assert_int_not_equal(ws_choice_set_time(place->choice, INT64_C(1) << 50, &why), WS_OK);
}

/* Method: days on both sides of a leap day and of tonight's midnight. */
static void an_age_is_in_whole_days(void **state)
{
    (void)state;
    assert_int_equal(ws_choice_age_days("2026-03-14", now_ms), 0);
    assert_int_equal(ws_choice_age_days("2026-03-03", now_ms), 11);
    assert_int_equal(ws_choice_age_days("2024-02-28", now_ms), 745);
    assert_int_equal(ws_choice_age_days("2026-03-15", now_ms), -1);
    assert_int_equal(ws_choice_age_days("", now_ms), -1);
    assert_int_equal(ws_choice_age_days("soon", now_ms), -1);
}

/* Method: patterns of numbers in use, counted up. */
static void numbers_count_up_their_last_digits(void **state)
{
    static const char *const pair[][2] = {
        { "2026-0143", "2026-0144" }, { "832a", "833" },    { "999", "1000" },
        { "A-099-x", "A-100-x" },     { "roll", "roll-1" }, { "2019-R30", "2019-R31" },
    };
    char after[WS_NUMBER];

    (void)state;
    for (size_t i = 0; i < sizeof pair / sizeof *pair; i++) {
        ws_roll_number_after(pair[i][0], after);
        assert_string_equal(after, pair[i][1]);
    }
}

/* Method: a book with rolls 0143 and 0144; doubles and gaps are told, the next one is not. */
static void doubles_and_gaps_are_told(void **state)
{
    struct place *place = *state;
    struct ws_choice *choice = place->choice;
    struct ws_roll roll = { .film = "Tarn 125" };
    struct ws_message why;
    char text[200], number[WS_NUMBER];

    ws_choice_number_note(place->book, choice, "2026-0143", text, sizeof text);
    assert_string_equal(text, "");
    strcpy(roll.number, "2026-0143");
    assert_int_equal(ws_roll_add(place->book, &roll, &why), WS_OK);
    memset(&roll.id, 0, sizeof roll.id);
    strcpy(roll.number, "2026-0144");
    assert_int_equal(ws_roll_add(place->book, &roll, &why), WS_OK);
    ws_choice_number_note(place->book, choice, "2026-0145", text, sizeof text);
    assert_string_equal(text, "");
    ws_choice_number_note(place->book, choice, "2026-0143", text, sizeof text);
    assert_string_equal(text, "a double: 2026-0143 is in the book already (Tarn 125)");
    ws_choice_number_note(place->book, choice, "2026-0147", text, sizeof text);
    assert_string_equal(text, "a gap: 2 numbers from 2026-0145 on are not in the book");
    ws_choice_number_note(place->book, choice, "K-7", text, sizeof text);
    assert_string_equal(text, "");
    strcpy(choice->roll[0].number, "2026-0145");
    choice->rolls = 1;
    assert_int_equal(ws_choice_next_number(place->book, choice, WS_FORMAT_120, number), WS_OK);
    assert_string_equal(number, "2026-0146");
    ws_choice_number_note(place->book, choice, "2026-0145", text, sizeof text);
    assert_string_equal(text, "a double: 2026-0145 is on reel 1 already");
    /* Sheets have a series of their own; the last of them in the book changes nothing for a roll.
     */
    memset(&roll.id, 0, sizeof roll.id);
    roll.format = WS_FORMAT_4X5;
    strcpy(roll.number, "S-22");
    assert_int_equal(ws_roll_add(place->book, &roll, &why), WS_OK);
    assert_int_equal(ws_choice_next_number(place->book, choice, WS_FORMAT_135_24, number), WS_OK);
    assert_string_equal(number, "2026-0146");
    assert_int_equal(ws_choice_next_number(place->book, choice, WS_FORMAT_8X10, number), WS_OK);
    assert_string_equal(number, "S-23");
    choice->rolls = 0;
    assert_int_equal(ws_choice_next_number(place->book, choice, WS_FORMAT_135_36, number), WS_OK);
    assert_string_equal(number, "2026-0145");
    ws_choice_number_note(place->book, choice, "S-25", text, sizeof text);
    assert_string_equal(text, "a gap: 2 numbers from S-23 on are not in the book");
}

/* A whole choice on one new roll and a batch that is to be added. */
static void choose_all(struct place *place, double volume_ml)
{
    struct ws_choice *choice = place->choice;
    struct ws_few_answers answers = few();
    struct ws_process process;
    struct ws_message why;
    struct ws_batch *batch = &choice->bottle[0][0].batch;

    assert_int_equal(ws_choice_process(&answers, &process, &why), WS_OK);
    ws_choice_set_process(choice, &process);
    choice->keep_process = true;
    choice->rolls = 1;
    strcpy(choice->roll[0].number, "2026-0143");
    strcpy(choice->roll[0].film, "Tarn 125");
    choice->roll[0].ei = 125;
    strcpy(batch->number, "MQB-014");
    strcpy(batch->what, "stock of the test");
    strcpy(batch->made_day, "2026-03-03");
    batch->use = WS_BATH_DEVELOPER;
    batch->volume_ml = volume_ml;
    choice->bottle[0][0].add = true;
    choice->fill_ml = 300;
    choice->bath_c[0] = 20;
}

static void make_plan(struct ws_choice *choice, struct ws_plan *plan)
{
    struct ws_setup *setup = calloc(1, sizeof *setup);
    struct ws_message why = { "" };

    assert_int_equal(ws_choice_plan(choice, now_ms, setup, plan, NULL, &why), WS_OK);
    free(setup);
}

static void begin_run(struct place *place, int64_t *row)
{
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_stamp stamp = { .wall_ns = now_ms * 1000000 };
    struct ws_message why = { "" };

    make_plan(place->choice, plan);
    ws_id_make(&stamp.boot);
    assert_int_equal(ws_run_keep(place->book, plan, &stamp, row, &why), WS_OK);
    free(plan);
}

/* Method: keeps twice, as after a begin that failed; nothing may be there twice, and the plan can
 * then be kept as a run that draws the batch. */
static void keeping_is_safe_to_repeat(void **state)
{
    struct place *place = *state;
    struct ws_batch batch;
    struct ws_message why = { "" };
    int64_t run;
    int count;

    choose_all(place, 740);
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_OK);
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_OK);
    assert_int_equal(ws_roll_count_number(place->book, "2026-0143", &count), WS_OK);
    assert_int_equal(count, 1);
    begin_run(place, &run);
    assert_int_equal(ws_batch_find(place->book, "MQB-014", &batch, &why), WS_OK);
    ws_assert_near(batch.left_ml, 590, 1e-6);
}

/* Method: a batch of 100 ml asked for 150; the shortage names it, and after a stock-take there is
 * none. */
static void a_shortage_is_found(void **state)
{
    struct place *place = *state;
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_batch batch;
    struct ws_message why = { "" };
    double asked_ml;

    choose_all(place, 100);
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_OK);
    make_plan(place->choice, plan);
    assert_true(ws_choice_short(place->book, plan, &batch, &asked_ml));
    assert_string_equal(batch.number, "MQB-014");
    ws_assert_near(asked_ml, 150, 1e-9);
    assert_int_equal(
        ws_batch_stock_take(place->book, batch.row, 400, "looked at the bottle", now_ms, &why),
        WS_OK);
    assert_false(ws_choice_short(place->book, plan, &batch, &asked_ml));
    assert_int_equal(ws_batch_get(place->book, &batch.id, &batch), WS_OK);
    ws_choice_refresh(place->choice, &batch);
    ws_assert_near(place->choice->bottle[0][0].batch.left_ml, 400, 1e-9);
    free(plan);
}

/* Method: repeats a run; all is as it was but for the roll, which is a new one with the next
 * number, or an exposed one of the same film if one waits. */
static void a_run_is_repeated_with_another_roll(void **state)
{
    struct place *place = *state;
    struct ws_choice *again = calloc(1, sizeof *again);
    struct ws_roll waiting = { .number = "2026-0200", .film = "Tarn 125" };
    struct ws_message why = { "" };
    int64_t run;

    choose_all(place, 740);
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_OK);
    strcpy(place->choice->tank.name, "a borrowed tank");
    begin_run(place, &run);
    assert_int_equal(ws_choice_repeat(place->book, run, again, &why), WS_OK);
    assert_string_equal(again->process.name, place->choice->process.name);
    assert_string_equal(again->tank.name, "a borrowed tank");
    assert_string_equal(again->bottle[0][0].batch.number, "MQB-014");
    ws_assert_near(again->bottle[0][0].batch.left_ml, 590, 1e-6);
    assert_string_equal(again->bottle[1][0].batch.number, "");
    ws_assert_near(again->bath_c[0], 20, 1e-9);
    assert_true(again->as_then);
    assert_int_equal(again->rolls, 1);
    assert_string_equal(again->roll[0].number, "2026-0144");
    assert_int_equal(again->roll[0].row, 0);
    assert_int_equal(again->roll[0].ei, 125);
    assert_int_equal(ws_roll_add(place->book, &waiting, &why), WS_OK);
    assert_int_equal(ws_choice_repeat(place->book, run, again, &why), WS_OK);
    assert_int_equal(again->roll[0].row, waiting.row);
    assert_int_equal(ws_choice_repeat(place->book, run + 9, again, &why), WS_NOT_FOUND);
    free(again);
}

/* Method: 2.97 ml of stock, pre-diluted, then measured as it is, then 150 ml: a repeat takes over
 * how it was, and what is drawn follows. */
static void a_pre_dilution_is_repeated_as_it_was(void **state)
{
    struct place *place = *state;
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_message why = { "" };
    int64_t run;

    choose_all(place, 740);
    place->choice->dilution = (struct ws_dilution){ .part = { 1, 100 }, .parts = 2 };
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_OK);
    make_plan(place->choice, plan);
    ws_assert_near(plan->bath[0].part[0].drawn_ml, 10, 1e-9);
    begin_run(place, &run);
    assert_int_equal(ws_choice_repeat(place->book, run, place->choice, &why), WS_OK);
    assert_false(place->choice->no_premix);
    place->choice->no_premix = true;
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_OK);
    make_plan(place->choice, plan);
    ws_assert_near(plan->bath[0].part[0].drawn_ml, 0, 0);
    ws_assert_near(plan->bath[0].part[0].ml, 300.0 / 101, 1e-9);
    begin_run(place, &run);
    assert_int_equal(ws_choice_repeat(place->book, run, place->choice, &why), WS_OK);
    assert_true(place->choice->no_premix);
    place->choice->dilution = (struct ws_dilution){ .part = { 1, 1 }, .parts = 2 };
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_OK);
    begin_run(place, &run);
    assert_int_equal(ws_choice_repeat(place->book, run, place->choice, &why), WS_OK);
    assert_false(place->choice->no_premix);
    free(plan);
}

/* Method: a rehearsal of what was chosen is water in every bath, and draws on no bottle. */
static void a_rehearsal_is_water(void **state)
{
    struct place *place = *state;
    struct ws_plan *plan = calloc(1, sizeof *plan);

    choose_all(place, 740);
    place->choice->rehearsal = true;
    make_plan(place->choice, plan);
    for (int i = 0; i < plan->baths; i++) {
        assert_int_equal(plan->bath[i].parts, 1);
        assert_true(plan->bath[i].part[0].water);
    }
    free(plan);
}

/* Method: the bottle of the developer is found by the process of its latest run; of water, of
 * another process and before any run there is none. */
static void the_bottle_used_last_is_known(void **state)
{
    struct place *place = *state;
    const char *process = place->choice->process.name;
    struct ws_message why = { "" };
    struct ws_id batch;
    int64_t run;

    choose_all(place, 740);
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_OK);
    assert_int_equal(ws_choice_last_bottle(place->book, process, 0, &batch), WS_OK);
    assert_true(ws_id_none(&batch));
    begin_run(place, &run);
    assert_int_equal(ws_choice_last_bottle(place->book, process, 0, &batch), WS_OK);
    assert_true(ws_id_equal(&batch, &place->choice->bottle[0][0].batch.id));
    assert_int_equal(ws_choice_last_bottle(place->book, process, 1, &batch), WS_OK);
    assert_true(ws_id_none(&batch));
    assert_int_equal(ws_choice_last_bottle(place->book, "another", 0, &batch), WS_OK);
    assert_true(ws_id_none(&batch));
}

/* Method: after the run another roll gets the same number, of another format and EI; the repeat is
 * like the roll that was in the run. */
static void a_double_is_not_mistaken_for_the_roll(void **state)
{
    struct place *place = *state;
    struct ws_choice *again = calloc(1, sizeof *again);
    struct ws_roll other = {
        .number = "2026-0143", .film = "Tarn 125", .format = WS_FORMAT_120, .ei = 400
    };
    struct ws_message why = { "" };
    int64_t run;

    choose_all(place, 740);
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_OK);
    begin_run(place, &run);
    assert_int_equal(ws_roll_add(place->book, &other, &why), WS_OK);
    /* The other is developed too, so that it does not wait for a tank. */
    place->choice->roll[0] = other;
    memset(&place->choice->run, 0, sizeof place->choice->run);
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_OK);
    begin_run(place, &(int64_t){ 0 });
    assert_int_equal(ws_choice_repeat(place->book, run, again, &why), WS_OK);
    assert_int_equal(again->roll[0].row, 0);
    assert_int_equal(again->roll[0].ei, 125);
    assert_int_equal(again->roll[0].format, WS_FORMAT_135_36);
    free(again);
}

/* Method: bottles asked for by bath: two for 1+1+100, one for an undiluted fixer, none for water.
 */
static void every_stock_part_has_a_bottle(void **state)
{
    struct place *place = *state;
    struct ws_few_answers answers = few();
    struct ws_process process;
    struct ws_message why = { "" };

    assert_int_equal(ws_choice_process(&answers, &process, &why), WS_OK);
    ws_choice_set_process(place->choice, &process);
    assert_int_equal(ws_choice_developer(place->choice), 0);
    assert_int_equal(ws_choice_bottles(place->choice, 0), 1);
    assert_int_equal(ws_choice_bottles(place->choice, 2), 1);
    assert_int_equal(ws_choice_bottles(place->choice, 3), 0);
    place->choice->dilution = (struct ws_dilution){ .part = { 1, 1, 100 }, .parts = 3 };
    assert_int_equal(ws_choice_bottles(place->choice, 0), 2);
    /* None for what its process says is water, whatever kind of bath it is. */
    process.bath[0].dilution = process.bath[1].dilution =
        (struct ws_dilution){ .part = { 0 }, .parts = 1 };
    ws_choice_set_process(place->choice, &process);
    assert_int_equal(ws_choice_bottles(place->choice, 0), 0);
    assert_int_equal(ws_choice_bottles(place->choice, 1), 0);
}

/* Method: a batch of a number that is taken is refused with a line, and nothing else is lost. */
static void a_taken_number_of_a_bottle_is_refused(void **state)
{
    struct place *place = *state;
    struct ws_batch batch;
    struct ws_message why = { "" };

    add_batch(place->book, "MQB-014", 500, &batch);
    choose_all(place, 740);
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_EXISTS);
    assert_non_null(strstr(why.text, "MQB-014"));
    strcpy(place->choice->bottle[0][0].batch.number, "MQB-015");
    assert_int_equal(ws_choice_keep(place->book, place->choice, now_ms, &why), WS_OK);
}

int main(void)
{
#define TEST(function) cmocka_unit_test_setup_teardown(function, open_book, close_book)
    const struct CMUnitTest tests[] = {
        TEST(few_answers_make_a_process),
        TEST(few_answers_may_leave_baths_out),
        TEST(a_fill_must_cover_the_reels),
        TEST(a_changed_time_keeps_its_relation_to_others),
        TEST(an_age_is_in_whole_days),
        TEST(numbers_count_up_their_last_digits),
        TEST(doubles_and_gaps_are_told),
        TEST(keeping_is_safe_to_repeat),
        TEST(a_shortage_is_found),
        TEST(a_run_is_repeated_with_another_roll),
        TEST(a_pre_dilution_is_repeated_as_it_was),
        TEST(a_rehearsal_is_water),
        TEST(the_bottle_used_last_is_known),
        TEST(a_double_is_not_mistaken_for_the_roll),
        TEST(every_stock_part_has_a_bottle),
        TEST(a_taken_number_of_a_bottle_is_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
