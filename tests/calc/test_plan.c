/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Processes and plans: defaults, names, and the one line that a bad one is refused with. */
#include "aid.h"

#include "wetside/calc/plan.h"

#define S   INT64_C(1000)
#define MIN (60 * S)

static const double ABSURD[] = { NAN, INFINITY, -INFINITY, -1 };

static struct ws_bath plain_bath(enum ws_bath_kind kind, int64_t time_ms)
{
    struct ws_bath bath;

    ws_bath_default(kind, &bath);
    bath.time_ms = time_ms;
    return bath;
}

/* Developer 9:30 in cycles, stop, fixer, wash: a run that nobody would refuse. */
static struct ws_plan plain_plan(void)
{
    struct ws_plan plan;

    ws_plan_default(&plan);
    snprintf(plan.process, sizeof plan.process, "evening");
    snprintf(plan.tank, sizeof plan.tank, "A");
    plan.fill_ml = 300;
    plan.cover_ml = 290;
    plan.bath[0] = plain_bath(WS_BATH_DEVELOPER, 9 * MIN + 30 * S);
    plan.bath[0].agitation.rhythm = WS_CYCLES;
    plan.bath[0].agitation.first_ms = 30 * S;
    plan.bath[0].agitation.every_ms = MIN;
    plan.bath[0].agitation.length_ms = 10 * S;
    plan.bath[0].parts = 2;
    snprintf(plan.bath[0].part[0].name, WS_NAME, "MQB-014");
    plan.bath[0].part[0].ml = 150;
    plan.bath[0].part[1].ml = 150;
    plan.bath[0].part[1].water = true;
    plan.bath[1] = plain_bath(WS_BATH_STOP, 30 * S);
    plan.bath[2] = plain_bath(WS_BATH_FIXER, 5 * MIN);
    plan.bath[3] = plain_bath(WS_BATH_WASH, 10 * MIN);
    plan.baths = 4;
    return plan;
}

static struct ws_process plain_process(void)
{
    const struct ws_plan plan = plain_plan();
    struct ws_process process;

    memset(&process, 0, sizeof process);
    snprintf(process.name, sizeof process.name, "Tarn 125, evening");
    snprintf(process.film, sizeof process.film, "Tarn 125");
    process.ei = 125;
    process.baths = plan.baths;
    for (int i = 0; i < plan.baths; i++)
        process.bath[i] = plan.bath[i];
    process.bath[0].parts = 0;
    memset(process.bath[0].part, 0, sizeof process.bath[0].part);
    process.bath[0].time_ms = 0;
    process.bath[0].points = 2;
    process.bath[0].point[0] = (struct ws_point){ 20, 9 * MIN + 30 * S, 30 * S };
    process.bath[0].point[1] = (struct ws_point){ 24, 7 * MIN, 30 * S };
    return process;
}

/* Exactly one line that begins with the path and says something after it. */
static void assert_line(const struct ws_message *why, const char *path)
{
    const size_t length = strlen(path);

    if (strncmp(why->text, path, length) != 0 || strlen(why->text) < length + 8 ||
        strchr(why->text, '\n') != NULL)
        fail_msg("wanted one line on \"%s\", got \"%s\"", path, why->text);
}

static void refused(const struct ws_plan *plan, const char *path)
{
    struct ws_message why = { "" };

    assert_int_equal(ws_plan_check(plan, &why), WS_BAD_PLAN);
    assert_line(&why, path);
}

static void process_refused(const struct ws_process *process, const char *path)
{
    struct ws_message why = { "" };

    assert_int_equal(ws_process_check(process, &why), WS_BAD_PLAN);
    assert_line(&why, path);
}

static void passes(const struct ws_plan *plan)
{
    struct ws_message why = { "" };

    if (ws_plan_check(plan, &why) != WS_OK)
        fail_msg("refused: %s", why.text);
}

/* ---- defaults and names */

/* Method: the house's lead times as the design states them. */
static void the_house_lead_times(void **state)
{
    struct ws_plan plan;

    (void)state;
    ws_plan_default(&plan);
    assert_int_equal(plan.engine, WS_ENGINE);
    assert_int_equal(plan.ready_lead_ms, 15 * S);
    assert_int_equal(plan.insist_ms, 10 * S);
    assert_int_equal(plan.late_ms, 2 * S);
    assert_int_equal(plan.confirm_grace_ms, 3 * S);
    assert_int_equal(plan.undo_ms, MIN);
    assert_int_equal(plan.least_move_ms, 5 * S);
    assert_int_equal(plan.long_rest_ms, 5 * MIN);
    assert_int_equal(plan.come_back_lead_ms, 2 * MIN);
    assert_false(plan.follow);
    assert_int_equal(plan.baths, 0);
    assert_true(isnan(plan.room_c));
}

/* Method: every kind's default bath, with a time put in, is one the engine can run. */
static void every_default_bath_can_be_run(void **state)
{
    struct ws_message why;

    (void)state;
    for (int kind = 0; kind < WS_BATH_KINDS; kind++) {
        struct ws_bath bath = plain_bath((enum ws_bath_kind)kind, 5 * MIN);

        assert_int_equal(bath.kind, kind);
        assert_true(bath.name[0] != '\0');
        assert_int_equal(bath.pour_in_ms, 15 * S);
        assert_int_equal(bath.drain_ms, 10 * S);
        assert_int_equal(bath.clock_from, WS_FROM_FULL);
        assert_int_equal(bath.drain, WS_DRAIN_INSIDE);
        assert_int_equal(bath.count_in_ms, kind == WS_BATH_DEVELOPER ? 5 * S : 0);
        assert_int_equal(ws_bath_may_run_long(&bath), kind != WS_BATH_DEVELOPER);
        assert_int_equal(ws_bath_check(&bath, "baths[0]", false, &why), WS_OK);
    }
}

/* Method: a bath whose longest time is its time may not run long; no limit or a later one may. */
static void longest_time_says_what_may_run_long(void **state)
{
    struct ws_bath bath = plain_bath(WS_BATH_FIXER, 5 * MIN);

    (void)state;
    assert_true(ws_bath_may_run_long(&bath));
    bath.longest_ms = 20 * MIN;
    assert_true(ws_bath_may_run_long(&bath));
    bath.longest_ms = bath.time_ms;
    assert_false(ws_bath_may_run_long(&bath));
}

/* Method: every token is there, is written like a token and is nobody else's; beyond the last
 * there is none. */
static void names_are_there_and_differ(void **state)
{
    (void)state;
    for (int i = 0; i < WS_BATH_KINDS; i++) {
        const char *token = ws_bath_kind_token((enum ws_bath_kind)i);

        assert_non_null(token);
        assert_non_null(ws_bath_kind_name((enum ws_bath_kind)i));
        assert_int_equal(strspn(token, "abcdefghijklmnopqrstuvwxyz_"), strlen(token));
        for (int k = 0; k < i; k++)
            assert_string_not_equal(token, ws_bath_kind_token((enum ws_bath_kind)k));
    }
    assert_string_equal(ws_bath_kind_token(WS_BATH_PRESOAK), "presoak");
    assert_string_equal(ws_bath_kind_name(WS_BATH_PRESOAK), "pre-soak");
    assert_string_equal(ws_rhythm_token(WS_STAND), "stand");
    assert_string_equal(ws_rhythm_token(WS_CYCLES), "cycles");
    assert_string_equal(ws_rhythm_token(WS_CONTINUOUS), "continuous");
    assert_string_equal(ws_rhythm_token(WS_AT_MOMENTS), "moments");
    assert_string_equal(ws_rhythm_token(WS_SHUFFLE), "shuffle");
    assert_string_equal(ws_afterwards_token(WS_TO_DRAIN), "drain");
    assert_string_equal(ws_afterwards_token(WS_TO_BOTTLE), "bottle");
    assert_string_equal(ws_afterwards_token(WS_STAYS), "stays");
    assert_string_equal(ws_afterwards_token(WS_TO_WASTE), "waste");
    assert_null(ws_bath_kind_token(WS_BATH_KINDS));
    assert_null(ws_bath_kind_name((enum ws_bath_kind)99));
    assert_null(ws_rhythm_token(WS_RHYTHMS));
    assert_null(ws_afterwards_token(WS_AFTERWARDS));
}

/* Method: each pattern that ships can be run, prints as one line, and stays inside a small
 * buffer. */
static void patterns_can_be_run_and_read(void **state)
{
    struct ws_bath bath = plain_bath(WS_BATH_DEVELOPER, 60 * MIN);
    struct ws_message why = { "" };
    char text[200], small[9];
    int n = 0;

    (void)state;
    for (const char *name; (name = ws_agitation_pattern(n, &bath.agitation)) != NULL; n++) {
        const size_t length = ws_agitation_print(&bath.agitation, text, sizeof text);

        assert_true(name[0] != '\0');
        assert_int_equal(length, strlen(text));
        assert_true(length > 0);
        assert_int_equal(ws_bath_check(&bath, "baths[0]", false, &why), WS_OK);
        memset(small, 'x', sizeof small);
        assert_true(ws_agitation_print(&bath.agitation, small, 8) < 8);
        assert_true(memchr(small, '\0', 8) != NULL);
        assert_int_equal(small[8], 'x');
    }
    assert_true(n >= 4);
    assert_null(ws_agitation_pattern(-1, &bath.agitation));
    assert_null(ws_agitation_pattern(n + 1, &bath.agitation));
}

/* Method: the line that the contract gives as its example. */
static void agitation_in_words(void **state)
{
    struct ws_agitation agitation = { .rhythm = WS_CYCLES,
                                      .first_ms = 30 * S,
                                      .every_ms = MIN,
                                      .length_ms = 10 * S,
                                      .inversions = 4,
                                      .tap = true };
    char text[200];

    (void)state;
    ws_agitation_print(&agitation, text, sizeof text);
    assert_string_equal(text, "30 s first, then 10 s every 1:00 (4 inversions), tap");
}

/* Method: the line that the contract gives as its example, what it says of fewer things, and a room
 * too small for it. */
static void open_film_in_words(void **state)
{
    struct ws_bath bath = plain_bath(WS_BATH_FIXER, 5 * MIN);
    char text[200], small[16];
    size_t length;

    (void)state;
    assert_int_equal(ws_bath_open_print(&bath, text, sizeof text), 0);
    assert_string_equal(text, "");
    bath.light_ms = 90 * S;
    ws_bath_open_print(&bath, text, sizeof text);
    assert_string_equal(text, "light may go on after 1:30");
    bath.open_film = true;
    ws_bath_open_print(&bath, text, sizeof text);
    assert_string_equal(text, "film lies open: black; light may go on after 1:30");
    bath.pieces = 1;
    bath.light_ms = 0;
    ws_bath_open_print(&bath, text, sizeof text);
    assert_string_equal(text, "1 sheet; film lies open: black");
    bath.pieces = 6;
    bath.piece_every_ms = 10 * S;
    bath.light_ms = 2 * MIN;
    length = ws_bath_open_print(&bath, text, sizeof text);
    assert_int_equal(length, strlen(text));
    assert_string_equal(text, "6 sheets, one every 10 s; film lies open: black; light may go on "
                              "2:00 after the last is in");
    memset(small, 'x', sizeof small);
    assert_true(ws_bath_open_print(&bath, small, 8) < 8);
    assert_non_null(memchr(small, '\0', 8));
    assert_int_equal(small[8], 'x');
}

/* Method: an id printed and read is the same; what is not 32 hexadecimal digits is refused. */
static void ids_go_through_text(void **state)
{
    static const char *const BAD[] = { "",
                                       "0",
                                       "00112233445566778899aabbccddeef",
                                       "00112233445566778899aabbccddeeff0",
                                       "00112233445566778899aabbccddeefg",
                                       " 0112233445566778899aabbccddeeff" };
    struct ws_id id, again;
    char text[33];

    (void)state;
    for (int i = 0; i < 16; i++)
        id.byte[i] = (unsigned char)(i * 17);
    ws_id_print(&id, text);
    assert_string_equal(text, "00112233445566778899aabbccddeeff");
    assert_true(ws_id_read(text, &again));
    assert_true(ws_id_equal(&id, &again));
    assert_false(ws_id_none(&id));
    again.byte[15] ^= 1;
    assert_false(ws_id_equal(&id, &again));
    memset(&again, 0, sizeof again);
    assert_true(ws_id_none(&again));
    for (size_t i = 0; i < sizeof BAD / sizeof *BAD; i++)
        assert_false(ws_id_read(BAD[i], &again));
}

/* ---- what is refused */

/* Method: the plain ones pass, so that each refusal below is for the one thing changed. */
static void a_plain_plan_and_process_pass(void **state)
{
    const struct ws_plan plan = plain_plan();
    const struct ws_process process = plain_process();
    struct ws_message why = { "" };

    (void)state;
    passes(&plan);
    if (ws_process_check(&process, &why) != WS_OK)
        fail_msg("refused: %s", why.text);
    assert_int_equal(ws_plan_check(&plan, NULL), WS_OK);
}

/* Method: times that no bath has: none, negative, days; the line names the bath and its time. */
static void absurd_times_are_refused(void **state)
{
    static const int64_t BAD[] = { 0, -1, -9 * MIN, INT64_MIN, INT64_MAX, 400 * 60 * MIN };
    struct ws_plan plan;

    (void)state;
    for (size_t i = 0; i < sizeof BAD / sizeof *BAD; i++) {
        plan = plain_plan();
        plan.bath[1].time_ms = BAD[i];
        refused(&plan, "baths[1].time");
    }
    for (size_t i = 1; i < sizeof BAD / sizeof *BAD; i++) {
        plan = plain_plan();
        plan.bath[2].pour_in_ms = BAD[i];
        refused(&plan, "baths[2].");
        plan = plain_plan();
        plan.bath[2].drain_ms = BAD[i];
        refused(&plan, "baths[2].");
        plan = plain_plan();
        plan.bath[0].count_in_ms = BAD[i];
        refused(&plan, "baths[0].");
    }
}

/* Method: enumerations that are none. */
static void unknown_kinds_are_refused(void **state)
{
    struct ws_plan plan;

    (void)state;
    for (int bad = -1; bad < 100; bad += 98) {
        plan = plain_plan();
        plan.bath[3].kind = (enum ws_bath_kind)bad;
        refused(&plan, "baths[3].kind");
        plan = plain_plan();
        plan.bath[3].agitation.rhythm = (enum ws_rhythm)bad;
        refused(&plan, "baths[3].agitation");
        plan = plain_plan();
        plan.bath[3].clock_from = (enum ws_clock_from)bad;
        refused(&plan, "baths[3].");
        plan = plain_plan();
        plan.bath[3].drain = (enum ws_drain)bad;
        refused(&plan, "baths[3].");
        plan = plain_plan();
        plan.bath[3].afterwards = (enum ws_afterwards)bad;
        refused(&plan, "baths[3].");
    }
}

/* Method: counts that would lead past the arrays. */
static void counts_out_of_bounds_are_refused(void **state)
{
    static const int BAD[] = { -1, 1000, INT32_MIN, INT32_MAX };
    struct ws_plan plan;
    struct ws_process process;

    (void)state;
    for (size_t i = 0; i < sizeof BAD / sizeof *BAD; i++) {
        plan = plain_plan();
        plan.baths = BAD[i];
        refused(&plan, "baths");
        plan = plain_plan();
        plan.places = BAD[i];
        refused(&plan, "");
        plan = plain_plan();
        plan.bath[0].parts = BAD[i];
        refused(&plan, "baths[0].parts");
        plan = plain_plan();
        plan.bath[0].points = BAD[i];
        refused(&plan, "baths[0].points");
        plan = plain_plan();
        plan.bath[0].dilution.parts = BAD[i];
        refused(&plan, "baths[0].dilution");
        plan = plain_plan();
        plan.bath[0].agitation.rhythm = WS_AT_MOMENTS;
        plan.bath[0].agitation.moments = BAD[i];
        refused(&plan, "baths[0].agitation");
        plan = plain_plan();
        plan.bath[0].agitation.inversions = BAD[i];
        refused(&plan, "baths[0].agitation");
        plan = plain_plan();
        plan.bath[0].pieces = BAD[i];
        refused(&plan, "baths[0].pieces");
        process = plain_process();
        process.baths = BAD[i];
        process_refused(&process, "baths");
    }
    plan = plain_plan();
    plan.baths = 0;
    refused(&plan, "baths");
    plan.baths = WS_BATHS + 1;
    refused(&plan, "baths");
    plan = plain_plan();
    plan.places = WS_PLACES + 1;
    refused(&plan, "places");
}

/* Method: rhythms that would never come round or run on for ever. */
static void impossible_agitations_are_refused(void **state)
{
    static const int64_t BAD[] = { 0, -1, INT64_MIN, INT64_MAX };
    struct ws_plan plan;

    (void)state;
    for (size_t i = 0; i < sizeof BAD / sizeof *BAD; i++) {
        plan = plain_plan();
        plan.bath[0].agitation.every_ms = BAD[i];
        refused(&plan, "baths[0].agitation");
        plan = plain_plan();
        plan.bath[0].agitation.length_ms = BAD[i];
        refused(&plan, "baths[0].agitation");
        plan = plain_plan();
        plan.bath[0].agitation.rhythm = WS_AT_MOMENTS;
        plan.bath[0].agitation.moments = 1;
        plan.bath[0].agitation.moment_ms[0] = BAD[i];
        refused(&plan, "baths[0].agitation");
        if (BAD[i] != 0) {
            plan = plain_plan();
            plan.bath[0].agitation.first_ms = BAD[i];
            refused(&plan, "baths[0].agitation");
        }
    }
    plan = plain_plan();
    plan.bath[0].agitation.length_ms = plan.bath[0].agitation.every_ms + 1;
    refused(&plan, "baths[0].agitation");
    plan = plain_plan();
    plan.bath[0].agitation.rhythm = WS_AT_MOMENTS;
    plan.bath[0].agitation.moments = 2;
    plan.bath[0].agitation.moment_ms[0] = 5 * MIN;
    plan.bath[0].agitation.moment_ms[1] = 4 * MIN;
    refused(&plan, "baths[0].agitation");
    /* Two thousand cycles and more have no place in the record of a bath. */
    plan = plain_plan();
    plan.bath[3].time_ms = 24 * 60 * MIN;
    plan.bath[3].agitation.rhythm = WS_CYCLES;
    plan.bath[3].agitation.every_ms = 10 * S;
    plan.bath[3].agitation.length_ms = 5 * S;
    refused(&plan, "baths[3].agitation");
}

/* Method: temperatures of no bath, and numbers that are none. Not known (NAN) is allowed. */
static void absurd_temperatures_are_refused(void **state)
{
    static const double BAD[] = { 200, -40, 50.5, INFINITY, -INFINITY };
    struct ws_plan plan;

    (void)state;
    for (size_t i = 0; i < sizeof BAD / sizeof *BAD; i++) {
        plan = plain_plan();
        plan.bath[0].start_c = BAD[i];
        refused(&plan, "baths[0].");
        plan = plain_plan();
        plan.bath[0].want_c = BAD[i];
        refused(&plan, "baths[0].");
    }
    plan = plain_plan();
    plan.bath[0].tolerance_c = -1;
    refused(&plan, "baths[0].tolerance");
    plan.bath[0].tolerance_c = NAN;
    plan.bath[0].want_c = NAN;
    plan.bath[0].start_c = NAN;
    passes(&plan);
}

/* Method: a developer in a process has points; one in a plan has a time. */
static void a_developer_needs_points(void **state)
{
    struct ws_process process = plain_process();

    (void)state;
    process.bath[0].points = 0;
    process_refused(&process, "baths[0].points");
    process = plain_process();
    process.bath[0].point[1].time_ms = -1;
    process_refused(&process, "baths[0].points");
    process = plain_process();
    process.bath[0].point[0].c = 200;
    process_refused(&process, "baths[0].points");
    process = plain_process();
    process.bath[0].ratio_per_10c = -2;
    process_refused(&process, "baths[0].");
    /* Every other bath needs its time in the process itself. */
    process = plain_process();
    process.bath[2].time_ms = 0;
    process_refused(&process, "baths[2].time");
}

/* Method: a process without a name, and with an exposure index that is none. */
static void a_process_needs_a_name(void **state)
{
    struct ws_process process = plain_process();

    (void)state;
    process.name[0] = '\0';
    process_refused(&process, "name");
    process = plain_process();
    process.ei = -1;
    process_refused(&process, "ei");
}

/* Method: dilutions of nothing. */
static void dilutions_of_nothing_are_refused(void **state)
{
    struct ws_process process;

    (void)state;
    process = plain_process();
    process.bath[0].dilution.parts = 2;
    process_refused(&process, "baths[0].dilution"); /* 0+0 */
    process.bath[0].dilution.part[1] = 4;
    process_refused(&process, "baths[0].dilution"); /* 0+4 */
    process.bath[0].dilution.part[0] = 1;
    assert_int_equal(ws_process_check(&process, NULL), WS_OK);
    for (size_t i = 0; i < sizeof ABSURD / sizeof *ABSURD; i++) {
        process.bath[0].dilution.part[1] = ABSURD[i];
        process_refused(&process, "baths[0].dilution");
    }
}

/* Method: too little in the tank: by its fill, and by what is measured out for one bath. */
static void a_fill_covers_the_reels(void **state)
{
    struct ws_plan plan = plain_plan();

    (void)state;
    plan.fill_ml = 250;
    plan.bath[0].part[0].ml = plan.bath[0].part[1].ml = 125;
    refused(&plan, "fill");
    plan = plain_plan();
    plan.bath[0].part[1].ml = 100;
    refused(&plan, "");
    plan = plain_plan();
    plan.cover_ml = 0; /* not known */
    passes(&plan);
    for (size_t i = 0; i < sizeof ABSURD / sizeof *ABSURD; i++) {
        plan = plain_plan();
        plan.fill_ml = ABSURD[i];
        refused(&plan, "fill");
        plan = plain_plan();
        plan.bath[0].part[0].ml = ABSURD[i];
        refused(&plan, "baths[0].parts[0]");
        plan = plain_plan();
        plan.bath[0].part[0].drawn_ml = ABSURD[i];
        refused(&plan, "baths[0].parts[0]");
    }
    plan = plain_plan();
    plan.bath[0].part[0].drawn_ml = plan.bath[0].part[0].ml;
    passes(&plan);
    plan.bath[0].part[0].drawn_ml -= 1;
    refused(&plan, "baths[0].parts[0]: less is drawn");
    plan = plain_plan();
    plan.bath[0].part[1].drawn_ml = 1000;
    refused(&plan, "baths[0].parts[1]");
}

/* Method: what is measured out adds up to what is poured. */
static void parts_add_up(void **state)
{
    struct ws_plan plan = plain_plan();

    (void)state;
    plan.cover_ml = 0;
    plan.bath[0].part[1].ml = 50;
    refused(&plan, "baths[0].parts");
    plan.bath[0].part[1].ml = 1500;
    refused(&plan, "baths[0].parts");
}

/* Method: sheets that could not go through: the first due out before the last is in. */
static void pieces_pass_in_time(void **state)
{
    struct ws_plan plan = plain_plan();

    (void)state;
    plan.bath[1].pieces = 6;
    plan.bath[1].piece_every_ms = 10 * S;
    refused(&plan, "baths[1].");
    plan.bath[1].time_ms = MIN;
    passes(&plan);
    plan.bath[1].piece_every_ms = -S;
    refused(&plan, "baths[1].");
    plan.bath[1].piece_every_ms = INT64_MAX;
    refused(&plan, "baths[1].");
    /* Two trays after one another, of another count or rhythm. */
    plan = plain_plan();
    plan.bath[0].pieces = plan.bath[1].pieces = 3;
    plan.bath[0].piece_every_ms = plan.bath[1].piece_every_ms = 10 * S;
    plan.bath[1].time_ms = MIN;
    passes(&plan);
    plan.bath[1].piece_every_ms = 9 * S;
    refused(&plan, "baths[1].pieces");
    plan.bath[1].piece_every_ms = 10 * S;
    plan.bath[1].pieces = 4;
    refused(&plan, "baths[1].pieces");
    plan.bath[1].pieces = 0;
    passes(&plan);
    /* A shuffle is about sheets. */
    plan = plain_plan();
    plan.bath[1].agitation.rhythm = WS_SHUFFLE;
    plan.bath[1].agitation.every_ms = 5 * S;
    refused(&plan, "baths[1].");
}

/* Method: light at a time the bath has, over fixed film or where film lies open; all else is
 * refused by the field's name in a file, in a plan and in a process. */
static void light_is_for_film_that_bears_it(void **state)
{
    static const enum ws_bath_kind UNFIXED[] = { WS_BATH_PRESOAK, WS_BATH_DEVELOPER };
    static const int64_t NO_TIME[] = { -1, -2 * MIN, INT64_MIN, 48 * 60 * MIN + 1, INT64_MAX };
    struct ws_process process = plain_process();
    struct ws_plan plan = plain_plan();

    (void)state;
    plan.bath[2].light_ms = 2 * MIN;
    passes(&plan);
    for (size_t i = 0; i < sizeof NO_TIME / sizeof NO_TIME[0]; i++) {
        plan.bath[2].light_ms = NO_TIME[i];
        refused(&plan, "baths[2].light_after");
    }
    /* Later than its time only if it may be left longer, and no longer than that. */
    plan.bath[2].light_ms = 6 * MIN;
    passes(&plan);
    plan.bath[2].longest_ms = plan.bath[2].time_ms;
    refused(&plan, "baths[2].light_after");
    plan.bath[2].light_ms = plan.bath[2].time_ms;
    passes(&plan);
    plan.bath[2].longest_ms = 7 * MIN;
    plan.bath[2].light_ms = 7 * MIN;
    passes(&plan);
    plan.bath[2].light_ms++;
    refused(&plan, "baths[2].light_after");
    /* A wash of closed film has no need of it; a tray does. */
    plan = plain_plan();
    plan.bath[3].light_ms = MIN;
    refused(&plan, "baths[3].light_after");
    plan.bath[3].open_film = true;
    passes(&plan);
    for (size_t i = 0; i < sizeof UNFIXED / sizeof UNFIXED[0]; i++) {
        plan = plain_plan();
        plan.bath[0].kind = UNFIXED[i];
        plan.bath[0].open_film = true;
        plan.bath[0].light_ms = MIN;
        refused(&plan, "baths[0].light_after");
    }
    process.bath[2].light_ms = -1;
    process_refused(&process, "baths[2].light_after");
}

/* Method: lead times and the run's own settings that would make no sense. */
static void lead_times_are_checked(void **state)
{
    static const int64_t BAD[] = { -1, INT64_MIN, INT64_MAX };
    struct ws_plan plan;

    (void)state;
    for (size_t i = 0; i < sizeof BAD / sizeof *BAD; i++) {
        int64_t *const lead[] = { &plan.ready_lead_ms,    &plan.insist_ms,
                                  &plan.late_ms,          &plan.confirm_grace_ms,
                                  &plan.undo_ms,          &plan.least_move_ms,
                                  &plan.reading_every_ms, &plan.long_rest_ms,
                                  &plan.come_back_lead_ms };

        for (size_t k = 0; k < sizeof lead / sizeof *lead; k++) {
            plan = plain_plan();
            *lead[k] = BAD[i];
            refused(&plan, "");
        }
    }
    plan = plain_plan();
    plan.reading_every_ms = 1;
    refused(&plan, "");
}

/* Method: a plan made under other rules of the engine: later ones, and older ones down to those it
 * still goes by. */
static void other_rules_are_refused(void **state)
{
    struct ws_plan plan = plain_plan();

    (void)state;
    plan.engine = WS_ENGINE + 1;
    refused(&plan, "engine");
    plan.engine = WS_ENGINE_LEAST - 1;
    refused(&plan, "engine");
    for (plan.engine = WS_ENGINE_LEAST; plan.engine <= WS_ENGINE; plan.engine++)
        assert_int_equal(ws_plan_check(&plan, NULL), WS_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_house_lead_times),
        cmocka_unit_test(every_default_bath_can_be_run),
        cmocka_unit_test(longest_time_says_what_may_run_long),
        cmocka_unit_test(names_are_there_and_differ),
        cmocka_unit_test(patterns_can_be_run_and_read),
        cmocka_unit_test(agitation_in_words),
        cmocka_unit_test(open_film_in_words),
        cmocka_unit_test(ids_go_through_text),
        cmocka_unit_test(a_plain_plan_and_process_pass),
        cmocka_unit_test(absurd_times_are_refused),
        cmocka_unit_test(unknown_kinds_are_refused),
        cmocka_unit_test(counts_out_of_bounds_are_refused),
        cmocka_unit_test(impossible_agitations_are_refused),
        cmocka_unit_test(absurd_temperatures_are_refused),
        cmocka_unit_test(a_developer_needs_points),
        cmocka_unit_test(a_process_needs_a_name),
        cmocka_unit_test(dilutions_of_nothing_are_refused),
        cmocka_unit_test(a_fill_covers_the_reels),
        cmocka_unit_test(parts_add_up),
        cmocka_unit_test(pieces_pass_in_time),
        cmocka_unit_test(light_is_for_film_that_bears_it),
        cmocka_unit_test(lead_times_are_checked),
        cmocka_unit_test(other_rules_are_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
