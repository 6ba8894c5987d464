/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets chosen for trays at the Sink, by a person in a script, without a terminal.
 *
 * The screens that are shot must be those of tests/console/captures/rooms_trays*.txt, which were
 * looked at by eye. There is no sound here: a run with open film goes no further than the
 * pre-flight, a rehearsal to its first bath. */
#include "aid.h"

#include <stdlib.h>

#include "aid_darkroom.h"
#include "aid_scripts.h"
#include "wetside/book/process.h"
#include "wetside/drive/choice.h"

/* A stranger's sheet, and the three keys that tell its format. */
#define FIRST_SHEET "Corvex Pan 100<down>S-21<down>4<shot sheet>"

/* The answers of a stranger up to the baths, with what stands there where it is likely. */
#define TO_BATHS                                                                                   \
    "<enter><until Which film>" FIRST_SHEET "<enter>"                                              \
    "<until In what are the sheets><enter><until question 2>6<enter>"                              \
    "<until question 3 of 8>MQB<enter><until question 4 of 8>1+1<enter>"                           \
    "<until How much goes into each tray>1 l<enter><until question 6 of 8>7:00<down>20C<enter>"    \
    "<until question 7 of 8>20<enter><until in the other trays>"

struct counts {
    int runs, rolls, processes;
};

static void count(struct ws_book *book, void *arg)
{
    struct counts *counts = arg;
    struct ws_run_line run[8];
    struct ws_roll_line roll[32];
    struct ws_process_line process[16];

    ws_run_list(book, true, 0, run, 8, &counts->runs);
    ws_roll_search(book, "", 0, roll, 32, &counts->rolls);
    ws_process_list(book, process, 16, &counts->processes);
}

/* Method: an empty book; a film of 4x5 is asked about trays; six sheets; eight questions in all.
 * Each page of it shot. Over open film without sound the pre-flight stops, and nothing is kept. */
static void a_stranger_chooses_trays(void **state)
{
    struct aid_darkroom *room = *state;
    struct counts counts = { 1, 1, 1 };

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_NONE,
                       "<until Develop><enter><until Which film>" FIRST_SHEET "<enter>"
                       "<until In what are the sheets><shot in what><enter>"
                       "<until question 2><shot trays>6<shot six><enter>"
                       "<until question 3 of 8>MQB<enter>"
                       "<until question 4 of 8>1+1<enter>"
                       "<until How much goes into each tray><shot fill>1 l<enter>"
                       "<until question 6 of 8>7:00<down>20C<enter>"
                       "<until question 7 of 8>20<enter>"
                       "<until in the other trays><shot baths><enter>"
                       "<until pre-flight, 0 of>" TICK_ALL "<until STOP><shot stop><enter><+100ms>"
                       "<esc><until Go on><shot all of it>");
    aid_darkroom_compare(room, "rooms_trays");
    aid_darkroom_book(room, count, &counts);
    assert_int_equal(counts.runs + counts.rolls + counts.processes, 0);
}

/* Method: the same in a rehearsal with water: it is shown, to the first bath, where the key means
 * the first sheet; and nothing is kept either. */
static void trays_are_rehearsed(void **state)
{
    struct aid_darkroom *room = *state;
    struct counts counts = { 1, 1, 1 };

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_NONE,
                       "<until Develop><down>" TO_BATHS "<enter>" TICKED
                       "<shot ready><enter><until bath 1 of 5>"
                       "<until as the first sheet goes in><shot waiting>");
    aid_darkroom_compare(room, "rooms_trays_rehearsal");
    aid_darkroom_book(room, count, &counts);
    assert_int_equal(counts.runs + counts.rolls + counts.processes, 0);
}

/* Method: a sheet in a closed tank is asked about its agitation like film on a reel, and no longer
 * about trays; then it is gone back to, and in trays again. A roll is not asked at all. */
static void sheets_may_go_into_a_tank(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(
        room, AID_EMPTY, WS_ROOM_NONE,
        "<until Develop><enter><until Which film>" FIRST_SHEET "<enter>"
        "<until In what are the sheets><down><enter>"
        "<until question 3 of 9>MQB<enter><until question 4 of 9>1+1<enter>"
        "<until How much fills the tank>500<enter><until question 6 of 9>7:00<down>"
        "20C<enter><until question 7 of 9>20<enter><until How is it agitated>"
        "<enter><until How long in stop, fixer and wash><esc>"
        "<until How is it agitated><esc><until question 7><esc><until question 6>"
        "<esc><until question 5><esc><until question 4><esc><until question 3><esc>"
        "<until In what are the sheets><shot tank><up><enter>"
        "<until question 2>4<enter><until question 3 of 8><esc>"
        "<until In what are><enter><until 0:20><shot four><esc><until In what are><esc>"
        "<until Which film><down><down>1<enter>"
        "<until question 2 of 8><until Which bottle>");
    assert_true(aid_darkroom_saw(room, "> in a closed tank or drum"));
    assert_true(aid_darkroom_saw(room, "[4     ]"));
}

/* Method: in each field something wrong; one line says what would be right, and the text stays. The
 * times of the other trays are held against the sheets: they start long enough, and shorter ones
 * are refused by name. */
static void trays_that_cannot_be_are_refused(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_NONE,
                       "<enter><until Which film>" FIRST_SHEET "<enter><until In what><enter>"
                       "<until question 2><enter><until nothing is typed yet><shot none>"
                       "0<enter><until 1 to 64><shot 0 sheets><^u>2.5<enter><until 2.5><shot 2.5>"
                       "<^u>65<enter><until 65><shot 65><^u>12<down>0<enter>"
                       "<until 1 second to an hour><shot 0 seconds><^u>0:20<down>soon<enter>"
                       "<until soon><shot soon><^u>"
                       "<enter><until question 3>MQB<enter>1+1<enter><until each tray>1 l<enter>"
                       "<until question 6>3:40<down>20C<enter><until at least 3:41><shot short>"
                       "<^u>7:00<enter><until question 7>20<enter>"
                       "<until in the other trays><shot baths><down><^u>3:00<enter>"
                       "<until stop of 3:00><shot stop>");
    aid_darkroom_compare(room, "rooms_trays_refused");
}

/* Method: fractions, written either way, are of a second as whole numbers are; a time written as
 * one is a time. */
static void seconds_may_have_fractions(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_NONE,
                       "<enter><until Which film>" FIRST_SHEET "<enter><until In what><enter>"
                       "<until question 2>5<down><^u>7.5<down><^u>2,5<until out 0:30 after>"
                       "<until every 12.5 s><^u>0:05<until every 0:25><^u>2,25<enter>"
                       "<until question 3><esc><until In what are><enter><until [7.5     ]>"
                       "<until [2.25    ]><enter>"
                       "<until question 3><esc><until In what are><enter><until [2.25    ]>");
}

/* ---- a process with trays in the book */

static void add_trays(struct ws_book *book, void *arg)
{
    struct ws_few_answers answers = {
        .film = "Corvex Pan 100",
        .developer = "MQB",
        .dilution = { .part = { 1, 1 }, .parts = 2 },
        .point = { .c = 20, .time_ms = 420000 },
        .trays = { .sheets = 6, .every_ms = 10000, .shuffle_ms = 5000 },
        .presoak_ms = 120000,
        .stop_ms = 60000,
        .fixer_ms = 300000,
        .wash_ms = 600000,
    };
    struct ws_tank tray = { .name = "trays", .most_ml = 2000 };
    struct ws_process *process = calloc(1, sizeof *process);
    struct ws_message why = { "" };

    (void)arg;
    if (ws_choice_process(&answers, process, &why) != WS_OK ||
        ws_process_keep(book, process, DARKROOM_WALL_MS, &why) != WS_OK ||
        ws_tank_keep(book, &tray, &why) != WS_OK)
        fail_msg("%s", why.text);
    free(process);
}

/* To the question of the trays by the process of the book, with one sheet that is typed. */
#define BOOK_TRAYS                                                                                 \
    "<until Develop><end><enter><until By which process?>"                                         \
    "<down><enter><until Which sheet goes in first><shot first><end><enter>"                       \
    "<until roll number><down><^u>S-30<shot typed><enter><until goes in as number 2><shot second>" \
    "<home><enter><until seconds between two>"

/* Method: sheets by number; tonight there are four; trays are offered before tanks; on the sheet
 * the rhythm is changed, a count that the stop is too short for is refused there, and escape leaves
 * everything as it was. */
static void trays_are_chosen_from_the_book(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_open(room, AID_STOCKED);
    aid_darkroom_book(room, add_trays, NULL);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      BOOK_TRAYS
                      "<shot trays><^u>4<enter><until In which trays?><shot in which>"
                      "<enter><until each tray>1 l<enter><until From which bottle?>"
                      "<enter><until thinned?><enter><until How warm>20<enter>"
                      "<until Go on><shot sheet><down><down><down><down><down><down>"
                      "<down><enter><until seconds between two><until [4><^u>9<down><^u>8"
                      "<enter><until at least 1:05><shot too short><esc><until Go on>"
                      "<until 4 sheets, one in every 0:10><enter><until seconds between two><down>"
                      "<^u>8<down><^u><enter>"
                      "<until 4 sheets, one in every 0:08, no shuffle><shot changed>");
    aid_darkroom_compare(room, "rooms_trays_book");
}

/* Method: the pages at 40 x 12, shot to be looked at; and every size on the question of the trays.
 */
static void trays_in_a_small_window(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_open(room, AID_STOCKED);
    aid_darkroom_book(room, add_trays, NULL);
    aid_darkroom_play(room, WS_ROOM_NONE, 40, 12,
                      BOOK_TRAYS "<shot trays>" SIZES "<size 40x12><enter>"
                                 "<until In which trays?><shot in which>");
    aid_darkroom_compare(room, "rooms_trays_40x12");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        aid_darkroom_test(a_stranger_chooses_trays),
        aid_darkroom_test(trays_are_rehearsed),
        aid_darkroom_test(sheets_may_go_into_a_tank),
        aid_darkroom_test(trays_that_cannot_be_are_refused),
        aid_darkroom_test(seconds_may_have_fractions),
        aid_darkroom_test(trays_are_chosen_from_the_book),
        aid_darkroom_test(trays_in_a_small_window),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
