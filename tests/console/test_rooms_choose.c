/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the Sink at rest to the first pour, by a person in a script, without a terminal.
 *
 * The screens that are shot must be those of tests/console/captures/rooms_*.txt, which were looked
 * at by eye; what the book holds afterwards is asked of the book. */
#include "aid.h"

#include <stdlib.h>

#include "aid_darkroom.h"
#include "aid_scripts.h"
#include "wetside/book/batch.h"
#include "wetside/book/process.h"
#include "wetside/drive/choice.h"
#include "wetside/drive/page.h"

struct holds {
    int runs, rolls, waiting, processes;
    const char *number;
    struct ws_batch batch;
    enum ws_status found;
    struct ws_plan plan; /* of the latest run */
};

static void count(struct ws_book *book, void *arg)
{
    struct holds *holds = arg;
    struct ws_run_line run[8];
    struct ws_roll_line roll[32];
    struct ws_process_line process[16];

    ws_run_list(book, true, 0, run, 8, &holds->runs);
    ws_roll_search(book, "", 0, roll, 32, &holds->rolls);
    ws_roll_queue(book, roll, 32, &holds->waiting);
    ws_process_list(book, process, 16, &holds->processes);
    if (holds->number != NULL)
        holds->found = ws_batch_find(book, holds->number, &holds->batch, NULL);
    if (holds->runs > 0)
        assert_int_equal(ws_run_plan(book, run[0].row, &holds->plan, NULL), WS_OK);
}

/* What the book holds, of that batch too; until the next look. */
static const struct holds *look_into(struct aid_darkroom *room, const char *batch)
{
    static struct holds holds;

    memset(&holds, 0, sizeof holds);
    holds.number = batch;
    aid_darkroom_book(room, count, &holds);
    return &holds;
}

/* Method: an empty book; eight answers, each screen shot; the pre-flight ticked; the run's screen
 * must come. The book then has the roll, the process, the bottle with an unknown volume, one run.
 */
static void a_stranger_is_at_the_pour_after_eight_questions(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_NONE,
                       "<until Develop><shot rest><enter>"
                       "<until question 1 of 8>Tarn 125<shot film><enter>"
                       "<until question 2 of 8>MQB concentrate<shot bottle><enter>"
                       "<until question 3 of 8>1+4<shot dilution><enter>"
                       "<until question 4 of 8>300<shot fill><enter>"
                       "<until question 5 of 8>7.5<down>20C<shot printed><enter>"
                       "<until question 6 of 8>22.5<shot now><enter>"
                       "<until question 7 of 8><shot agitation><enter>"
                       "<until question 8 of 8><shot baths><enter>"
                       "<until pre-flight, 0 of><shot preflight>" TICK_ALL
                       "<until All is seen to><shot ready><enter><until bath 1 of 4>");
    aid_darkroom_compare(room, "rooms_first_evening");
    holds = look_into(room, "MQB concentrate");
    assert_int_equal(holds->runs, 1);
    assert_int_equal(holds->rolls, 1);
    assert_int_equal(holds->processes, 1);
    assert_int_equal(holds->found, WS_OK);
    assert_true(isnan(holds->batch.left_ml));
    assert_int_equal(holds->plan.places, 1);
    assert_string_equal(holds->plan.place[0].number, "1");
    ws_assert_near(holds->plan.bath[0].part[0].ml, 60, 1e-6);
}

/* Method: every question is gone back to with escape and with up; what was answered stands there
 * again, and the first one leads back to rest. */
static void every_question_can_be_gone_back_to(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_NONE,
                       EIGHT "<until pre-flight><esc><until Go on><esc>"
                             "<until Develop><enter>Tarn 125<enter>MQB concentrate<enter>1+4"
                             "<enter>300<enter>7:30<down>20C<enter>22.5<enter><down><enter>"
                             "<until question 8><^u>0:45<esc><until question 7><enter>"
                             "<until question 8><until 0:45><esc><until question 7><esc>"
                             "<until question 6><until 22.5><esc><until question 5><until 7:30><up>"
                             "<until question 4><until 300><up><until question 3><until 1+4><up>"
                             "<until question 2><until MQB concentrate><up><until question 1>"
                             "<until Tarn 125><esc><until The book is empty>");
}

/* Method: in each field something wrong; one line must say what would be right, and the text must
 * still stand there; then it is made right, and the questions go on. */
static void bad_input_gets_one_line_and_stays(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_NONE,
                       "<enter><until question 1><enter>"
                       "<until nothing is typed yet><shot film empty>Tarn 125<down><down>"
                       "<down>0.5<enter><until no whole number><shot EI 0.5><^u><enter>"
                       "<until question 2>MQB<down>-3<enter>"
                       "<until -3><shot volume -3><^u>250<enter><until question 3>0+0<enter>"
                       "<until 0+0><shot dilution 0+0><^u>1:4<enter>"
                       "<until What does 1:4 mean><shot colon><esc><until 1:4><^u>1+4<enter>"
                       "<until question 4>lots<enter>"
                       "<until lots><shot fill lots><^u>300<enter>"
                       "<until question 5>-5<down>20C<enter>"
                       "<until -5><shot time -5><^u>6:75<enter>"
                       "<until 6:75><shot time 6:75><^u>7.30"
                       "<until 7 minutes 18 seconds><shot echo><down><^u>200<enter>"
                       "<until 200><shot temperature 200><^u>20C<enter>"
                       "<until question 6>200<enter><until 200><shot now 200><^u>20<enter>"
                       "<until question 7><enter><until question 8><^u>0:99<enter>"
                       "<until 0:99><shot stop 0:99>");
    aid_darkroom_compare(room, "rooms_bad_input");
    holds = look_into(room, NULL);
    assert_int_equal(holds->runs + holds->rolls + holds->processes, 0);
}

/* Method: a stocked book; process, waiting roll, tank, bottle, dilution and temperature are chosen;
 * screens shot; the run draws 145 of the bottle's 740 ml. */
static void a_run_is_chosen_from_the_book(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_NONE,
                       "<until Develop><shot rest><enter>"
                       "<until By which process?><shot process><enter>"
                       "<until on reel 1><shot reel 1><enter>"
                       "<until on reel 2><shot reel 2><enter>"
                       "<until In which tank?><shot tank><enter>"
                       "<until How much fills><shot fill><enter>"
                       "<until From which bottle?><shot bottle><enter>"
                       "<until How is the developer thinned?><shot dilution><enter>"
                       "<until How warm>21.5<shot now><enter><until Go on><shot sheet><enter>"
                       "<until pre-flight, 0 of><shot preflight>" TICK_ALL
                       "<until All is seen to><enter><until bath 1 of 4>");
    aid_darkroom_compare(room, "rooms_develop");
    holds = look_into(room, "MQB-014");
    assert_int_equal(holds->runs, 2);
    ws_assert_near(holds->batch.left_ml, 740 - 145, 1e-6);
    assert_string_equal(holds->plan.place[0].number, "2026-0150");
    assert_string_equal(holds->plan.tank, "tank A");
}

/* Method: a stocked book; the run of ten days ago again, with another dilution: everything else as
 * it was, and a waiting roll of the same film in place of the old one. */
static void a_run_is_repeated_with_one_thing_changed(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_NONE,
                       "<down><shot rest><enter><until Which run again?><shot runs><enter>"
                       "<until Go on><shot sheet><down><down><down><down><enter>"
                       "<until How is the developer thinned?><^u>1+2<enter>"
                       "<until 1+2><shot changed><home><enter>" TICKED
                       "<shot ready><enter><until bath 1 of 4>");
    aid_darkroom_compare(room, "rooms_repeat");
    holds = look_into(room, "MQB-014");
    assert_int_equal(holds->runs, 2);
    ws_assert_near(holds->batch.left_ml, 740 - 100, 1e-6);
    assert_string_equal(holds->plan.place[0].number, "2026-0150");
    assert_string_equal(holds->plan.process, "Tarn 125 in MQB 1+1");
    ws_assert_near(holds->plan.bath[0].start_c, 20, 1e-9);
}

/* Method: the developer's time, agitation, the fixer's bottle and the worker are changed on the
 * sheet; the plan in the book has all of it. */
static void the_sheet_changes_any_line(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_NONE,
                       "<down><enter><enter>"
                       "<until Go on><down><down><down><down><down><down><enter>"
                       "<until How long><^u>10:30<enter><until 10:30><down><enter>"
                       "<until How is it agitated?><down><down><down><enter>"
                       "<until 4 inversions><down><down><enter><until temperature>F-009"
                       "<until 1000 ml left><shot fixer><down><down>20.5<enter>"
                       "<until F-009><end><enter><until Who develops?>KM<enter>"
                       "<until KM><shot sheet><home><enter>" TO_THE_POUR);
    holds = look_into(room, "F-009");
    assert_int_equal(holds->plan.bath[0].time_ms, 630000);
    assert_int_equal(holds->plan.bath[0].agitation.inversions, 4);
    assert_string_equal(holds->plan.bath[2].part[0].name, "F-009");
    ws_assert_near(holds->plan.bath[2].start_c, 20.5, 1e-9);
    assert_string_equal(holds->plan.who, "KM");
    ws_assert_near(holds->batch.left_ml, 700, 1e-6);
    aid_darkroom_compare(room, "rooms_sheet");
}

/* Method: a rehearsal from an empty and from a stocked book to the pour: nothing in the book
 * changes. */
static void a_rehearsal_writes_nothing(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_NONE,
                       "<until Develop><down>" EIGHT "<until pre-flight>" TICK_ALL
                       "<until rehearsal begins><enter><until bath 1 of 4>");
    holds = look_into(room, "MQB concentrate");
    assert_int_equal(holds->runs + holds->rolls + holds->processes, 0);
    assert_int_equal(holds->found, WS_NOT_FOUND);

    aid_darkroom_enter(
        room, AID_STOCKED, WS_ROOM_NONE,
        "<end><enter><until By which process?><enter><until on reel 1><enter>"
        "<until on reel 2><enter><until In which tank?><shot tank><enter>"
        "<until How much fills><enter><until From which bottle?><enter>"
        "<until thinned?><^u>1:2<enter><until What does 1:2 mean><down><enter>"
        "<until How warm>20<enter><until Go on><enter><until pre-flight><shot water>" TICK_ALL
        "<until rehearsal begins><enter><until bath 1 of 4>");
    assert_false(aid_darkroom_saw(room, "add a tank to the book"));
    assert_true(aid_darkroom_saw(room, "[ ] developer: 290 ml water"));
    holds = look_into(room, "MQB-014");
    assert_int_equal(holds->runs, 1);
    assert_int_equal(holds->waiting, 3);
    assert_int_equal(holds->batch.colon, WS_COLON_ASK);
    ws_assert_near(holds->batch.left_ml, 740, 1e-6);
}

/* Method: a colon on a bottle of the book is asked about once: the answer is kept with it, and the
 * same dilution is understood without a question the next time. */
static void a_colon_is_asked_once_for_each_bottle(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(
        room, AID_STOCKED, WS_ROOM_NONE,
        TO_DILUTION("", "<^u>600",
                    "") "<^u>1:4<enter><until What does 1:4 mean><shot colon><down><enter>"
                        "<until How warm><esc><until thinned?><until 1+3><^u>1:3"
                        "<until 1:3><enter><until How warm>20<enter><until Go on>"
                        "<until 200 ml MQB-014><shot sheet>");
    aid_darkroom_compare(room, "rooms_colon");
    holds = look_into(room, "MQB-014");
    assert_int_equal(holds->batch.colon, WS_COLON_IN);
}

/* Method: two rolls in a tank whose reels need 580 ml: 500 ml is refused in one line, and so is a
 * tank of one reel. */
static void a_fill_that_does_not_cover_is_refused(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_NONE,
                       "<enter><until By which><enter><until reel 1><enter>"
                       "<until reel 2><down><enter><until reel 3><home><enter>"
                       "<until In which tank?><down><enter>"
                       "<until tank B takes 1 reel, 2 rolls are chosen><shot too few reels>"
                       "<until In which tank?><up><enter><until How much fills><^u>500<enter>"
                       "<until does not cover 2 reels><shot too little><^u>700<enter>"
                       "<until holds 640 ml at most><shot too much>");
    aid_darkroom_compare(room, "rooms_fill");
}

/* Method: MQB-013 has 80 ml and 145 are asked: the pre-flight stops there; a stock-take of 400 ml
 * is given on the spot, and the run goes on; the ledger has it. */
static void a_stock_take_is_offered_where_the_book_is_short(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(
        room, AID_STOCKED, WS_ROOM_NONE,
        TO_BOTTLE(
            "",
            "") "<shot bottles><down><enter><until thinned?><enter>"
                "<until How warm>20<enter><until Go on><enter><until pre-flight>" TICK_ALL
                "<until STOP><shot stop>s"
                "<until 145 ml are asked><shot stock-take>400<down>measured it<enter>" TO_THE_POUR);
    aid_darkroom_compare(room, "rooms_short");
    holds = look_into(room, "MQB-013");
    ws_assert_near(holds->batch.left_ml, 400 - 145, 1e-6);
}

/* Method: a stranger says that the new bottle holds 50 ml, and then draws 60: the book refuses the
 * begin; the stock-take is offered, and after it the run begins. */
static void the_book_refuses_and_the_console_offers(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_NONE,
                       "<enter>Tarn "
                       "125<enter>MQB<down>50<enter>1+4<enter>300<enter>7:30<down>20C<enter>22.5<"
                       "enter><enter><enter>" TICKED
                       "<enter><until Nothing was begun><shot refused><enter>"
                       "<until MQB: the book says 50 ml left>200<down>misread it<enter>"
                       "<until bath 1 of 4>");
    aid_darkroom_compare(room, "rooms_refused");
    holds = look_into(room, "MQB");
    assert_int_equal(holds->runs, 1);
    ws_assert_near(holds->batch.left_ml, 140, 1e-6);
}

/* Method: 300 ml of 1+3 for one roll is 75 ml of MQB-014, below its 100: the line wants a reason,
 * which is kept with the run. 1+100 asks for 2.97 ml: the pre-flight has a pre-dilution. */
static void a_warning_is_passed_with_a_reason(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_NONE,
                       TO_SHEET("<down>", "<^u>300", "",
                                "") "<enter><until pre-flight>" TICK TICK TICK
                                    "<until 75 ml of stock><shot below the least><+600ms><space>"
                                    "<until Why go on?><shot reason><enter>"
                                    "<until nothing is typed yet>a test of half the stock<enter>"
                                    "<until pre-flight, 4 of>" TICK_ALL
                                    "<until All is seen to><enter><until bath 1 of 4>");
    holds = look_into(room, NULL);
    assert_string_equal(holds->plan.reason, "a test of half the stock");
    aid_darkroom_compare(room, "rooms_reason");

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_NONE,
                       TO_SHEET("<down><down>", "<^u>300", "<down><down>",
                                "") "<enter><until pre-flight><down><down><down>"
                                    "<until 10 ml X-1 + 90 ml water><shot pre-dilution>");
    aid_darkroom_compare(room, "rooms_predilution");
}

/* Method: 2.97 ml are asked: the sheet shows the pre-dilution, and there it is chosen to measure
 * them as they are; the run draws no more than that. Of 150 ml the sheet has no such line. */
static void a_pre_dilution_is_chosen_on_the_sheet(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_NONE,
                       TO_SHEET("<down><down>", "<^u>300", "<down><down>",
                                "") "<until 10 ml X-1 + 90 ml water, take 29.7 ml><shot sheet>"
                                    "<down><down><down><down><down><enter>"
                                    "<until pre-dilute it?><shot question><down><enter>"
                                    "<until none: 2.97 ml X-1 as it is><shot as it is>"
                                    "<enter><until pre-dilute it?><esc><until none: 2.97 ml>"
                                    "<home><enter>" TO_THE_POUR);
    aid_darkroom_compare(room, "rooms_premix");
    holds = look_into(room, NULL);
    ws_assert_near(holds->plan.bath[0].part[0].ml, 300.0 / 101, 1e-9);
    ws_assert_near(holds->plan.bath[0].part[0].drawn_ml, 0, 0);
    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_NONE, TO_SHEET("", "", "", "") "<shot sheet>");
    assert_false(aid_darkroom_saw(room, "pre-dilution"));
}

static void run_from_x1(struct ws_book *book, void *arg)
{
    (void)arg;
    aid_darkroom_past_run(book, "Osprey 200 thin", "2026-0151", "X-1", DARKROOM_WALL_MS - 86400000);
}

/* Method: a process was last poured from a bottle far down the list: the cursor begins there, and
 * for another process on the first of all. */
static void the_bottle_used_last_is_offered(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_open(room, AID_STOCKED);
    aid_darkroom_book(room, run_from_x1, NULL);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      "<until is dry><esc>" TO_BOTTLE(
                          "<home><down>", "<^u>300") "<shot thin><esc><esc><esc><esc>"
                                                     "<until By which process?><esc>" TO_BOTTLE(
                                                         "<home>", "") "<shot other>");
    assert_true(aid_darkroom_saw(room, " > X-1 "));
    assert_true(aid_darkroom_saw(room, " > MQB-014 "));
}

/* Method: a roll that is not in the book is typed, with a number that is there already, then with
 * one that leaves a gap: both are told, neither is forbidden; the film is completed. */
static void a_double_and_a_gap_are_told(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_NONE,
                       "<enter><until By which><enter><until reel 1><end><enter>"
                       "<until roll number><^u>Hal"
                       "<until right arrow: Halden 400><shot suggested><right>"
                       "<until the process is for Tarn 125><down><^u>2026-0143"
                       "<until a double><shot double><^u>2026-0160"
                       "<until a gap><shot gap><enter><until reel 2>"
                       "<until 2026-0160 Halden 400>");
    aid_darkroom_compare(room, "rooms_numbers");
    holds = look_into(room, NULL);
    assert_int_equal(holds->rolls, 4); /* nothing is written before the run begins */
}

/* Method: a tank and a bottle are added on the way. */
static void a_tank_and_a_bottle_are_added_on_the_way(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_enter(
        room, AID_STOCKED, WS_ROOM_NONE,
        TO_TANK("") "<end><enter><until What is the tank like?>tank C<down>x<enter>"
                    "<until x><^u>3<down>250<shot tank><enter><until How much fills>"
                    "<until 250 ml><enter><until From which bottle?><end><enter>"
                    "<until What does the bottle say?>MQB-014<down>stock<down><down>"
                    "<down>2026-13-45<enter><until year-month-day><^u>today<down>1 l<enter>"
                    "<until is in the book already><shot bottle><^u>MQB-015<enter>"
                    "<until thinned?><enter><until How warm>20<enter>"
                    "<until MQB-015: 0 days old, 1000 ml left><shot sheet>");
    aid_darkroom_compare(room, "rooms_added");
    holds = look_into(room, "MQB-015");
    assert_int_equal(holds->found, WS_OK);
    ws_assert_near(holds->batch.left_ml, 1000, 1e-9);
}

/* Method: a run is begun and the console closed; the next console has taken it up before it shows
 * anything, says so, and goes on to it. */
static void an_unfinished_run_is_taken_up(void **state)
{
    struct aid_darkroom *room = *state;
    struct ws_drive_options options = { .mode = WS_BOOK_WRITE };
    struct ws_message why = { "" };

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_NONE, EIGHT TO_THE_POUR);
    ws_drive_stop(room->drive, NULL);
    room->drive = NULL;
    options.clock = &room->clock;
    options.book_path = room->path;
    assert_int_equal(ws_drive_start(&options, &room->drive, &why), WS_OK);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      "<until runs that were not finished><shot first><enter><until bath 1 of 4>");
    aid_darkroom_compare(room, "rooms_take_up");
}

/* Method: every page of choosing at sizes from large to one cell, with keys at each. */
static void no_size_ends_it(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_NONE,
                       SIZES "<enter>" SIZES "Tarn 125" SIZES "<enter>" SIZES "MQB<enter>" SIZES
                             "1:4<enter>" SIZES "<enter>" SIZES "300<enter>" SIZES
                             "7:30<down>" SIZES "20C<enter>" SIZES "22.5" SIZES "<enter>" SIZES
                             "<enter>" SIZES "<enter>" SIZES "<space>" SIZES "<down>" SIZES
                             "<esc>" SIZES "<until Go on><down><enter>" SIZES "<esc>" SIZES
                             "?" SIZES "<esc><esc><until The book is empty>");
}

/* Method: the main pages at 40 x 12, shot to be looked at. */
static void it_works_from_forty_columns_and_twelve_lines(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_open(room, AID_STOCKED);
    aid_darkroom_play(room, WS_ROOM_NONE, 40, 12,
                      "<shot rest><enter><until By which><shot process><enter>"
                      "<until reel 1><shot reel 1><enter><until reel 2><shot reel 2><enter>"
                      "<until In which tank?><shot tank><enter>"
                      "<until How much><shot fill><enter>"
                      "<until From which><shot bottle><enter>"
                      "<until thinned?><shot dilution><enter>"
                      "<until How warm>21.5<shot now><enter><until Go on><shot sheet><enter>"
                      "<until pre-flight><shot preflight>");
    aid_darkroom_compare(room, "rooms_40x12");
}

static void keep_water(struct ws_book *book, void *arg)
{
    struct ws_few_answers answers = { .point = { .c = 20, .time_ms = 60000 },
                                      .stop_ms = 30000,
                                      .wash_ms = 60000 };
    struct ws_process process;
    struct ws_message why = { "" };

    (void)arg;
    strcpy(answers.film, "none");
    strcpy(answers.developer, "water");
    assert_int_equal(ws_dilution_read("water", WS_COLON_ASK, &answers.dilution, &why), WS_OK);
    ws_agitation_pattern(0, &answers.agitation);
    assert_int_equal(ws_choice_process(&answers, &process, &why), WS_OK);
    strcpy(process.name, "To try with water");
    process.film[0] = '\0';
    process.bath[1].dilution = process.bath[0].dilution;
    assert_int_equal(ws_process_keep(book, &process, DARKROOM_WALL_MS, &why), WS_OK);
}

/* Method: a process whose developer and stop are water, as it says, and whose wash is so by its
 * kind: no bottle is asked for, on the way or on the page of a bath; back leads over where it would
 * be; all bottles hold what they held. On another sheet the developer is made one of stock: then
 * its bottle is asked for. */
static void a_bath_of_water_asks_for_no_bottle(void **state)
{
    struct aid_darkroom *room = *state;
    const struct holds *holds;

    aid_darkroom_open(room, AID_STOCKED);
    aid_darkroom_book(room, keep_water, NULL);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      TO_TANK("<down>") "<enter><until How much fills><until question 2 of 3>"
                                        "<enter><until How warm><until question 3 of 3>"
                                        "<esc><until In which tank><enter><until How much "
                                        "fills><enter><until How warm>20<enter><until Go on>"
                                        "<shot sheet><end><up><up><enter><until empty: not "
                                        "measured><shot stop><esc><until Go on>"
                                        "<home><enter>" TO_THE_POUR_OF("3"));
    assert_true(aid_darkroom_saw(room, "dilution      water"));
    assert_true(aid_darkroom_saw(room, "0:30, water"));
    assert_false(aid_darkroom_saw(room, "bottle"));
    assert_false(aid_darkroom_saw(room, "afterwards"));
    holds = look_into(room, "MQB-014");
    ws_assert_near(holds->batch.left_ml, 740, 1e-9);
    for (int i = 0; i < 3; i++) {
        assert_int_equal(holds->plan.bath[i].parts, 1);
        assert_true(holds->plan.bath[i].part[0].water);
    }
    aid_darkroom_open(room, AID_STOCKED);
    aid_darkroom_book(room, keep_water, NULL);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      TO_TANK("<down>") "<enter><until How much fills><enter><until How warm>20"
                                        "<enter><until Go on><down><down><down><enter>"
                                        "<until How is the developer thinned?><^u>1+1<enter>"
                                        "<until From which bottle?><enter><until MQB-014: 11>"
                                        "<until 145 ml MQB-014 + 145 ml water>");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        aid_darkroom_test(a_stranger_is_at_the_pour_after_eight_questions),
        aid_darkroom_test(every_question_can_be_gone_back_to),
        aid_darkroom_test(bad_input_gets_one_line_and_stays),
        aid_darkroom_test(a_run_is_chosen_from_the_book),
        aid_darkroom_test(a_run_is_repeated_with_one_thing_changed),
        aid_darkroom_test(the_sheet_changes_any_line),
        aid_darkroom_test(a_rehearsal_writes_nothing),
        aid_darkroom_test(a_colon_is_asked_once_for_each_bottle),
        aid_darkroom_test(a_bath_of_water_asks_for_no_bottle),
        aid_darkroom_test(a_fill_that_does_not_cover_is_refused),
        aid_darkroom_test(a_stock_take_is_offered_where_the_book_is_short),
        aid_darkroom_test(the_book_refuses_and_the_console_offers),
        aid_darkroom_test(a_warning_is_passed_with_a_reason),
        aid_darkroom_test(a_pre_dilution_is_chosen_on_the_sheet),
        aid_darkroom_test(the_bottle_used_last_is_offered),
        aid_darkroom_test(a_double_and_a_gap_are_told),
        aid_darkroom_test(a_tank_and_a_bottle_are_added_on_the_way),
        aid_darkroom_test(an_unfinished_run_is_taken_up),
        aid_darkroom_test(no_size_ends_it),
        aid_darkroom_test(it_works_from_forty_columns_and_twelve_lines),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
