/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Log and the Shelf, by a person in a script, without a terminal. Screens are compared with
 * tests/console/captures/rooms_*.txt, which were looked at by eye. */
#include "aid.h"

#include <stdlib.h>

#include "aid_darkroom.h"
#include "aid_scripts.h"
#include "wetside/book/batch.h"
#include "wetside/book/process.h"

struct ask_book {
    const char *number;
    struct ws_roll roll;
    struct ws_verdict_line verdict[4];
    int verdicts;
    struct ws_batch batch;
    enum ws_status status;
};

static void roll_of(struct ws_book *book, void *arg)
{
    struct ask_book *ask = arg;

    ask->status = ws_roll_find(book, ask->number, &ask->roll, NULL);
    if (ask->status == WS_OK)
        ws_verdict_list(book, ask->roll.row, ask->verdict, 4, &ask->verdicts);
}

static void batch_of(struct ws_book *book, void *arg)
{
    struct ask_book *ask = arg;

    ask->status = ws_batch_find(book, ask->number, &ask->batch, NULL);
}

/* Method: an empty book; every room says what it is for. */
static void an_empty_room_says_what_it_is_for(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_LOG,
                       "<until No roll is in the book yet><shot log>4"
                       "<until No bottle is in the book yet><shot shelf>2"
                       "<until Evening><shot evening>3<until Bench><shot bench>6"
                       "<until Curves><shot curves>5"
                       "<until Log><enter>vc<up><down><pgdn><end>/x"
                       "<until No roll has><shot nothing found>");
    aid_darkroom_compare(room, "rooms_empty");
}

/* Method: list, search letter by letter, back to all, a roll's page and its bottle's page. */
static void the_log_is_searched_and_read(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_LOG,
                       "<until 2026-0143><shot list>/hal"
                       "<until hal><shot search><back><back><back>harb"
                       "<until 2026-0143><shot by remark><enter><enter>"
                       "<until roll 2026-0143><shot roll><end><shot roll's end><home>b"
                       "<until batch MQB-014><shot batch><enter><until Which roll?><enter>"
                       "<until roll 2026-0143><esc><esc><until roll 2026-0143><esc>"
                       "<until search><esc><until 2026-0151><shot all again>");
    aid_darkroom_compare(room, "rooms_log");
}

/* Method: roll 0144 is dry and has no verdict: asked at the start, over nothing else; once
 * answered, it stands in the book with its remark and the next start asks nothing. */
static void a_dry_roll_is_asked_about_at_the_start(void **state)
{
    struct aid_darkroom *room = *state;
    struct ask_book ask = { .number = "2026-0144" };

    aid_darkroom_enter(room, AID_DRY, WS_ROOM_NONE,
                       "<until Roll 2026-0144 is dry><shot dry>xq"
                       "<until Roll 2026-0144 is dry>t"
                       "<until 2026-0144: thin><shot remark>shadows empty<esc>"
                       "<until Roll 2026-0144 is dry>g<until good><^u>all well<enter>"
                       "<until Develop><until kept: 2026-0144 is good><shot after>");
    aid_darkroom_compare(room, "rooms_dry");
    aid_darkroom_book(room, roll_of, &ask);
    assert_int_equal(ask.verdicts, 1);
    assert_int_equal(ask.verdict[0].verdict, WS_VERDICT_GOOD);
    assert_string_equal(ask.verdict[0].remark, "all well");
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24, "<until Repeat an earlier run>");
}

/* Method: the question is passed by one key, each for itself or all at once; nothing is kept. */
static void the_question_is_passed_by_one_key(void **state)
{
    struct aid_darkroom *room = *state;
    struct ask_book ask = { .number = "2026-0144" };

    aid_darkroom_enter(room, AID_DRY, WS_ROOM_NONE, "<until is dry>s<until Repeat>");
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24, "<until is dry><esc><until Repeat>");
    aid_darkroom_book(room, roll_of, &ask);
    assert_int_equal(ask.verdicts, 0);
}

/* Method: a verdict from the list and one from the page; a later one does not delete the earlier.
 */
static void a_verdict_is_given_from_the_log(void **state)
{
    struct aid_darkroom *room = *state;
    struct ask_book ask = { .number = "2026-0143" };

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_LOG,
                       "<until 2026-0143>v<until is dry><shot over the list>u"
                       "<until uneven><enter>"
                       "<until kept: 2026-0143 is uneven><shot list><enter>"
                       "<until roll 2026-0143>v<until is dry>d"
                       "<until dense>held back in printing<enter>"
                       "<until kept: 2026-0143 is dense><end><shot page><esc><down>v"
                       "<until not developed yet>");
    aid_darkroom_compare(room, "rooms_verdict");
    aid_darkroom_book(room, roll_of, &ask);
    assert_int_equal(ask.verdicts, 3);
    assert_int_equal(ask.verdict[0].verdict, WS_VERDICT_DENSE);
}

/* Method: the exposure index is corrected; a bad one and a missing reason are refused in one line.
 */
static void a_field_is_corrected_with_a_reason(void **state)
{
    struct aid_darkroom *room = *state;
    struct ask_book ask = { .number = "2026-0143" };

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_LOG,
                       "<until 2026-0143>c"
                       "<until What is to be corrected?><shot fields><down><down><down><enter>"
                       "<until Correct the exposure index><^u>100<enter><enter>"
                       "<until reason: nothing is typed yet>"
                       "<shot no reason>the dial was moved<up><^u>x<enter>"
                       "<until x><shot bad><^u>100<enter>"
                       "<until kept: exposure index corrected><enter><until EI 100><end>"
                       "<until the dial was moved><shot page>");
    aid_darkroom_compare(room, "rooms_correct");
    aid_darkroom_book(room, roll_of, &ask);
    assert_int_equal(ask.roll.ei, 100);
}

/* Method: from a roll's page its run is asked for again: the sheet has everything of it. */
static void a_roll_is_developed_again_just_so(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_LOG,
                       "<until 2026-0143><down><enter><until roll 2026-0152>a"
                       "<until not developed yet><esc><up><enter><until roll 2026-0143>a"
                       "<until Go on><until MQB-014: 11 days old>"
                       "<until 2026-0150 Tarn 125><shot sheet><esc>"
                       "<until Repeat an earlier run>");
}

/* Method: the Shelf: list, a stock-take refused and made, a bottle added, a page. */
static void the_shelf_counts_and_adds(void **state)
{
    struct aid_darkroom *room = *state;
    struct ask_book ask = { .number = "X-1" };

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_SHELF,
                       "<until MQB-014><shot shelf><down><down><down>s"
                       "<until does not know how much is left>-1<down>counted<enter>"
                       "<until is negative><^u>220 ml<enter>"
                       "<until kept: 220 ml left in X-1><shot counted>a"
                       "<until What does the bottle say?>F-010<down>fixer<down>www<down>f"
                       "<down>today<down>1 l<shot typed><enter>"
                       "<until kept: F-010 is in the book><shot added><home><enter>"
                       "<until batch><shot page>");
    aid_darkroom_compare(room, "rooms_shelf");
    aid_darkroom_book(room, batch_of, &ask);
    ws_assert_near(ask.batch.left_ml, 220, 1e-9);
    ask.number = "F-010";
    aid_darkroom_book(room, batch_of, &ask);
    assert_int_equal(ask.status, WS_OK);
    assert_int_equal(ask.batch.use, WS_BATH_FIXER);
    assert_int_equal(ask.batch.kind, WS_BATCH_WORKING);
    assert_string_equal(ask.batch.made_day, "2026-03-14");
}

static void add_many(struct ws_book *book, void *arg)
{
    struct ws_message why = { "" };

    (void)arg;
    for (int i = 0; i < 700; i++) {
        struct ws_roll roll = { .film = "Osprey 200" };

        snprintf(roll.number, sizeof roll.number, "K-%04d", i);
        assert_int_equal(ws_roll_add(book, &roll, &why), WS_OK);
    }
}

/* Method: 700 rolls more than are held at once: walked down by pages to the last one and back to
 * the first; each must be seen in its turn. */
static void any_number_of_rolls_is_paged_through(void **state)
{
    static char script[1 << 15];
    struct aid_darkroom *room = *state;
    size_t used;

    aid_darkroom_open(room, AID_STOCKED);
    aid_darkroom_book(room, add_many, NULL);
    used = (size_t)snprintf(script, sizeof script, "<until 2026-0143><shot first>");
    for (int i = 0; i < 45; i++)
        used += (size_t)snprintf(script + used, sizeof script - used, "<pgdn><shot %d>", i);
    for (int i = 0; i < 45; i++)
        used += (size_t)snprintf(script + used, sizeof script - used, "<pgup>");
    used += (size_t)snprintf(script + used, sizeof script - used,
                             "<until 2026-0143>/k-0003<until k-0003>"
                             "<until K-0003><esc><esc>1"
                             "<until 64 and more exposed rolls are waiting>");
    aid_darkroom_play(room, WS_ROOM_LOG, 80, 24, script);
    for (int i = 0; i < 700; i++) {
        char number[16];

        snprintf(number, sizeof number, "K-%04d", i);
        if (!aid_darkroom_saw(room, number))
            print_error("%s was not on any page\n", number);
        assert_true(aid_darkroom_saw(room, number));
    }
}

static void add_bottles(struct ws_book *book, void *arg)
{
    struct ws_message why = { "" };

    (void)arg;
    for (int i = 0; i < 300; i++) {
        struct ws_batch batch = { .what = "stock", .use = WS_BATH_DEVELOPER, .volume_ml = 100 };

        snprintf(batch.number, sizeof batch.number, "B-%03d", i);
        assert_int_equal(ws_batch_add(book, &batch, DARKROOM_WALL_MS, &why), WS_OK);
    }
}

/* Method: 300 bottles more: the oldest one stands at the end of the Shelf, and among the bottles a
 * run can be poured from. */
static void any_number_of_bottles_is_there(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_open(room, AID_STOCKED);
    aid_darkroom_book(room, add_bottles, NULL);
    aid_darkroom_play(
        room, WS_ROOM_SHELF, 80, 24,
        "<until B-299><end><until X-1>1" TO_BOTTLE("", "") "<until 1 of 305><end><until X-1>");
}

/* Method: after a run the Log is asked to show its roll. */
static void names_from_anywhere_are_harmless(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_NONE,
                       "<enter>M\u00fcritz \u4e2d<enter>MQB<enter>1+4<enter>300<enter>7:30"
                       "<down>20C<enter>20<until 7:30 at 20.0 C>");
}

static void add_wild(struct ws_book *book, void *arg)
{
    struct ws_roll roll = { .number = "\033[2J\007W-1", .film = "\xff\xfe\033]0;x\007film" };
    struct ws_message why = { "" };

    (void)arg;
    ws_roll_add(book, &roll, &why);
    strcpy(roll.number, "W-2");
    strcpy(roll.film, "caf\xc3\xa9 \xe2\x80\xae txt");
    memset(&roll.id, 0, sizeof roll.id);
    assert_int_equal(ws_roll_add(book, &roll, &why), WS_OK);
}

/* Method: a film with a direction control, put into the book past every form: no cell of the list,
 * of the page or of a form may hold it. */
static void foreign_text_is_made_visible(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_open(room, AID_EMPTY);
    aid_darkroom_book(room, add_wild, NULL);
    aid_darkroom_play(room, WS_ROOM_LOG, 80, 24,
                      "<until W-2><shot list><enter><until roll W-2><shot page>c"
                      "<until corrected?><shot fields><down><enter>"
                      "<until Correct the film><shot form><esc><esc>1"
                      "<until waiting><shot rest>");
    for (const char *at = room->shots; *at != '\0'; at++)
        assert_true((unsigned char)*at >= 0x20 || *at == '\n');
    assert_false(aid_darkroom_saw(room, "\xe2\x80\xae"));
}

/* Method: list, page, batch, verdict and fields at sizes from large to one cell. */
static void no_size_ends_the_log(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_DRY, WS_ROOM_LOG,
                       "<until is dry>" SIZES "t" SIZES "<esc><esc>" SIZES "<down>/ta" SIZES
                       "<enter><enter>" SIZES "<down>v" SIZES "<esc>b" SIZES "<enter>" SIZES
                       "<esc>s" SIZES "<esc><esc>c" SIZES "<enter>" SIZES "<esc>?" SIZES
                       "<esc>4" SIZES "a" SIZES "<esc><until MQB-014>");
}

/* Method: the main pages at 40 x 12, shot to be looked at. */
static void the_log_works_in_a_small_window(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_open(room, AID_DRY);
    aid_darkroom_play(room, WS_ROOM_LOG, 40, 12,
                      "<until is dry><shot dry><esc><until 2026-0143><shot list><enter>"
                      "<until roll 2026><shot roll><pgdn><shot roll 2>b"
                      "<until batch><shot batch>4<until Shelf><shot shelf>");
    aid_darkroom_compare(room, "rooms_log_40x12");
}

/* Method: nine fields in a window that has room for seven: what is wrong with one of them is seen
 * all the same, and so is an example, and which of how many fields it is. */
static void a_small_form_says_what_is_wrong(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_open(room, AID_STOCKED);
    aid_darkroom_play(
        room, WS_ROOM_SHELF, 40, 12,
        "<until MQB-014>a<until 1 of 9><shot first>MQB-015<down>stock<down><down><down>"
        "<until 5 of 9>yesterday<enter><until yesterday><until is none><shot wrong>"
        "<^u>today<down><down><down><down><until 9 of 9><shot last><enter>"
        "<until kept: MQB-015 is in the book>");
    aid_darkroom_compare(room, "rooms_form_40x12");
}

/* Method: all keys of the rooms in a small window. What does not fit is paged by one key to its
 * end, and that key leads back from there; up pages back, any other key leaves; in a window that
 * has room, all of it is there at once and any key leaves. */
static void all_keys_are_paged_in_a_small_window(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_open(room, AID_STOCKED);
    aid_darkroom_play(room, WS_ROOM_NONE, 40, 12,
                      "<until Develop>?<until space: more><shot sink 1> <until space: back>"
                      "<until leave wetside><shot sink 2><up><until space: more><pgdn>"
                      "<until space: back> <until Develop>?<until space: more>x"
                      "<until Develop>5<until 2026-0143>?<until space: more><shot log 1>?"
                      "<until space: back><shot log 2><size 80x24><until any key: back>"
                      "<until enter       the roll's page><until leave wetside><up>"
                      "<until number>4<until MQB-014><size 40x12>?<until space: more> "
                      "<until space: back><until leave wetside> <until enter: its page>");
    aid_darkroom_compare(room, "rooms_keys_40x12");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        aid_darkroom_test(an_empty_room_says_what_it_is_for),
        aid_darkroom_test(the_log_is_searched_and_read),
        aid_darkroom_test(a_dry_roll_is_asked_about_at_the_start),
        aid_darkroom_test(the_question_is_passed_by_one_key),
        aid_darkroom_test(a_verdict_is_given_from_the_log),
        aid_darkroom_test(a_field_is_corrected_with_a_reason),
        aid_darkroom_test(a_roll_is_developed_again_just_so),
        aid_darkroom_test(the_shelf_counts_and_adds),
        aid_darkroom_test(any_number_of_rolls_is_paged_through),
        aid_darkroom_test(any_number_of_bottles_is_there),
        aid_darkroom_test(names_from_anywhere_are_harmless),
        aid_darkroom_test(foreign_text_is_made_visible),
        aid_darkroom_test(no_size_ends_the_log),
        aid_darkroom_test(the_log_works_in_a_small_window),
        aid_darkroom_test(a_small_form_says_what_is_wrong),
        aid_darkroom_test(all_keys_are_paged_in_a_small_window),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
