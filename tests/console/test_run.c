/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run in the console as a person meets it: drive, book, keys and screen together.
 *
 * Method: a script presses keys and steps the clock before a terminal without a device; what the
 * run came to is read from the journal in the book. */
#include <stdlib.h>

#include "aid.h"
#include "aid_darkroom.h"
#include "aid_run.h"
#include "aid_scripts.h"

enum { EVENTS = 400 };

/* Developer of 2:00 with 10 s each half minute, and a stop. */
static void begin(struct aid_darkroom *room)
{
    static struct ws_plan plan;
    struct ws_message why = { "" };
    struct ws_bath *bath;
    int tank;

    aid_darkroom_open(room, AID_EMPTY);
    ws_plan_default(&plan);
    strcpy(plan.tank, "tank A");
    plan.fill_ml = 300;
    plan.id.byte[0] = 1;
    bath = aid_run_bath(&plan, WS_BATH_DEVELOPER, 120000);
    bath->longest_ms = 120000;
    bath->agitation = (struct ws_agitation){
        .rhythm = WS_CYCLES, .first_ms = 10000, .every_ms = 30000, .length_ms = 10000
    };
    aid_run_bath(&plan, WS_BATH_STOP, 30000);
    if (ws_drive_begin(room->drive, &plan, false, &tank, &why) != WS_OK)
        fail_msg("%s", why.text);
}

struct tally {
    int64_t run;
    int kind[WS_EVENT_KINDS];
    struct ws_journal_row row[EVENTS];
    int rows;
};

static void read_journal(struct ws_book *book, void *arg)
{
    struct tally *tally = arg;

    assert_int_equal(ws_run_events(book, tally->run, 0, tally->row, EVENTS, &tally->rows), WS_OK);
}

static const struct tally *journal_of(struct aid_darkroom *room, int64_t run)
{
    static struct tally tally;

    memset(&tally, 0, sizeof tally);
    tally.run = run;
    aid_darkroom_book(room, read_journal, &tally);
    for (int i = 0; i < tally.rows; i++)
        tally.kind[tally.row[i].event.kind]++;
    return &tally;
}

static const struct tally *journal(struct aid_darkroom *room)
{
    return journal_of(room, 1);
}

/* To the middle of the developer: 5 s of count, 15 s of pouring in, then its clock. */
#define IN_DEVELOPER "<until READY><+1s> <until GET READY><+5s><until POUR IN><+15s><until AGITATE>"

/* The same at a size with big words: the count, and the middle of the developer. */
#define WIDE_COUNTING  "<until space: counts 5><+1s> <until at 0>"
#define WIDE_DEVELOPER WIDE_COUNTING "<+5s><until space: full><+15s><until then REST>"

/* The big words are not in the cells as letters: at 16x4 they are. */
static void play_small(struct aid_darkroom *room, const char *script)
{
    aid_darkroom_play(room, WS_ROOM_SINK, 16, 4, script);
}

static void play_wide(struct aid_darkroom *room, const char *script)
{
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24, script);
}

static void a_run_from_ready_to_done(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;

    begin(room);
    play_small(room,
               IN_DEVELOPER "<+3s> <+8s><until REST><+19s><until AGITATE><+2s> <+69s>"
                            "<until GET READY><+9s><until POUR OUT><+9s> <until STOP NOW><+6s> "
                            "<until POUR IN><+15s><until REST><+20s><until POUR OUT><+8s> "
                            "<until DONE><shot done>");
    tally = journal(room);
    /* begun, two cycles of four, empty, poured, empty: six presses. */
    assert_int_equal(tally->kind[WS_EVENT_HAND], 6);
    assert_int_equal(tally->kind[WS_EVENT_UNDO], 0);
}

static void a_press_is_undone_and_noted(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;

    begin(room);
    play_small(room, "<until READY><+1s> <until GET READY><+2s>u<+400ms><until READY><+3s> "
                     "<until GET READY><+5s><until POUR IN><+15s><until AGITATE>");
    tally = journal(room);
    assert_int_equal(tally->kind[WS_EVENT_HAND], 2);
    assert_int_equal(tally->kind[WS_EVENT_UNDO], 1);
}

static void the_end_comes_early_by_two_keys(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;

    begin(room);
    play_wide(room, WIDE_DEVELOPER "<+1s>n<+400ms><until EARLY?><shot asked><+600ms> <+400ms>"
                                   "<until space: empty>");
    tally = journal(room);
    assert_int_equal(tally->kind[WS_EVENT_LEAVE], 1);
    assert_int_equal(tally->kind[WS_EVENT_HAND], 1);
}

static void a_reading_is_typed(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;

    begin(room);
    play_wide(room, WIDE_DEVELOPER "<+1s>c<+400ms>"
                                   "<until TEMPERATURE NOW>18<+200ms>.6<+200ms><enter><+400ms>"
                                   "<until 18.6 C noted><+9s><until 18.6 C><shot reading>");
    tally = journal(room);
    assert_int_equal(tally->kind[WS_EVENT_READING], 1);
    for (int i = 0; i < tally->rows; i++)
        if (tally->row[i].event.kind == WS_EVENT_READING)
            ws_assert_near(tally->row[i].event.value_c, 18.6, 1e-9);
}

/* A minute more for a developer: the drive's no stands on the screen, and nothing else. A question
 * asked meanwhile is seen, and the answer after it too. */
static void a_refusal_is_seen(void **state)
{
    struct aid_darkroom *room = *state;

    begin(room);
    play_wide(room,
              WIDE_DEVELOPER "<+1s>+<+400ms>"
                             "<until developer can't be stretched><shot refused><+1s>g<+400ms>"
                             "<until GIVE THE RUN UP><shot asked>k<+600ms>"
                             "<until Nothing was done>t<+400ms><until no press that was due>");
    assert_false(aid_darkroom_saw(room, "minute more"));
}

static void control_keys_are_answered(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;

    begin(room);
    play_wide(room, WIDE_COUNTING "<+2s><^C><until Ctrl-C><+2s><^Z><until Ctrl-Z><+2s><^S>"
                                  "<until Ctrl-S><shot answered>");
    tally = journal(room);
    assert_int_equal(tally->kind[WS_EVENT_HAND], 1);
    assert_int_equal(tally->kind[WS_EVENT_CLOSE], 0);
}

static void leaving_asks_and_the_run_stays(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;

    begin(room);
    /* What follows the answer must never be read. */
    play_wide(room, WIDE_COUNTING
              "<+5s>q<+400ms><until LEAVE?><+600ms>y<+400ms><until never to be seen>");
    tally = journal(room);
    assert_int_equal(tally->kind[WS_EVENT_CLOSE], 0);
}

/* In a small window an open list takes all of it but a line for the run, page by page; a question
 * stands whole, and the key line has its keys alone. */
static void small_windows_show_what_keys_mean(void **state)
{
    struct aid_darkroom *room = *state;
    const char *asked;

    begin(room);
    aid_darkroom_play(room, WS_ROOM_SINK, 40, 12,
                      WIDE_DEVELOPER
                      "<+1s>?<+400ms><until AGITATE><until all keys (space: done)  1/2 ?: more>"
                      "<until u        take the last press back><+1s>?<until 2/2>"
                      "<until leave wetside><+1s>k<+600ms>i<+400ms><until AGITATE>"
                      "<until 6  wetting agent><+1s>3<+400ms>"
                      "<until INSERT? y: stop 0:30><shot asked>"
                      "<until y: insert it><+1s>k<+600ms>c<+400ms><until TEMPERATURE>"
                      "<until enter: note it><+1s><esc><+600ms>q<+400ms>"
                      "<until LEAVE? y: leave   any: stay><+1s>k<+600ms><size 40x3>?<+400ms>"
                      "<until no room for it>");
    asked = strstr(room->shots, "INSERT?");
    assert_non_null(asked);
    assert_null(strstr(asked, "u: undo"));
    assert_int_equal(journal(room)->kind[WS_EVENT_INSERT], 0);
}

static void another_room_keeps_the_run_in_sight(void **state)
{
    struct aid_darkroom *room = *state;

    begin(room);
    play_wide(room, WIDE_COUNTING "<+5s><until space: full>r<+400ms><until rooms: number>5<+400ms>"
                                  "<until 1: Sink   tank A  POUR IN><+15s>"
                                  "<until tank A  AGITATE><shot elsewhere>1<until then REST>");
}

/* Chosen from the book, run through four baths with slow hands, and found in the Log: the page of
 * the roll opens by itself. */
static void a_whole_run_ends_in_the_log(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;

    aid_darkroom_enter(
        room, AID_STOCKED, WS_ROOM_NONE,
        TO_SHEET("", "", "", "") "<enter>" TO_THE_POUR
                                 "<shot ready><+2s> <until at 0><+5s><until space: full><+15s>"
                                 "<until then tap, REST><+9:30><until space: empty> "
                                 "<until POUR IN stop><+3s> <+45s><until space: empty> "
                                 "<until 5:00 from full><+3s> <+5:15><until space: empty> "
                                 "<until bath 4 of 4><+3s> <+10:15><until space: empty> "
                                 "<until space: to the Log><+5s><enter><+400ms><until 2026-0150>"
                                 "<until not confirmed><shot page>");
    assert_true(aid_darkroom_saw(room, "MQB-014"));
    tally = journal_of(room, 2);
    assert_int_equal(tally->kind[WS_EVENT_CLOSE], 1);
    assert_int_equal(tally->kind[WS_EVENT_HAND], 8);
}

/* ---- a wet palm ---- */

static uint64_t random_next(uint64_t *seed)
{
    uint64_t z = *seed += UINT64_C(0x9E3779B97F4A7C15);

    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

/* 200 keys within a second as a script. */
static void palm(char *script, size_t size, uint64_t *seed)
{
    static const char *const keys[] = { "<space>", "<enter>", "<esc>", "l",   "u", "t", "+", "n",
                                        "i",       "c",       "o",     "x",   "q", "y", "g", "r",
                                        "?",       "1",       "2",     "5",   "a", "z", ".", "<up>",
                                        "<back>",  "<^C>",    "<^Z>",  "<lt>" };
    size_t used = 0;

    for (int i = 0; i < 200; i++)
        used += (size_t)snprintf(script + used, size - used, "%s<+5ms>",
                                 keys[random_next(seed) % (sizeof keys / sizeof *keys)]);
    assert_true(used < size);
}

static void palm_confirms_one_cycle_at_most(void **state)
{
    static char keys[8192], script[16384];
    uint64_t seed = 143;
    int confirmed = 0;

    for (int i = 0; i < 12; i++) {
        struct aid_darkroom *room = *state;
        const struct tally *tally;

        palm(keys, sizeof keys, &seed);
        /* The first of them is now and then the hand's: as wet palms go. */
        snprintf(script, sizeof script, IN_DEVELOPER "<+2s>%s%s<+7s><until REST><shot after>",
                 i % 3 == 0 ? " " : "", keys);
        begin(room);
        play_small(room, script);
        tally = journal(room);
        /* Begun, and perhaps one cycle. */
        assert_in_range(tally->kind[WS_EVENT_HAND], 1, 2);
        assert_int_equal(tally->rows, 1 + tally->kind[WS_EVENT_HAND]);
        confirmed += tally->kind[WS_EVENT_HAND] - 1;
    }
    assert_true(confirmed >= 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        aid_darkroom_test(a_run_from_ready_to_done),
        aid_darkroom_test(a_press_is_undone_and_noted),
        aid_darkroom_test(the_end_comes_early_by_two_keys),
        aid_darkroom_test(a_reading_is_typed),
        aid_darkroom_test(a_refusal_is_seen),
        aid_darkroom_test(control_keys_are_answered),
        aid_darkroom_test(leaving_asks_and_the_run_stays),
        aid_darkroom_test(small_windows_show_what_keys_mean),
        aid_darkroom_test(another_room_keeps_the_run_in_sight),
        aid_darkroom_test(a_whole_run_ends_in_the_log),
        aid_darkroom_test(palm_confirms_one_cycle_at_most),
    };

    return cmocka_run_group_tests_name("a run in the console", tests, NULL, NULL);
}
