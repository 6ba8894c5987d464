/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The frozen plan as text, and back, to the last bit. */
#include "book_aid.h"

#include <locale.h>
#include <stdlib.h>

static struct ws_plan plan, back;

static int64_t some_int(uint64_t *seed)
{
    return (int64_t)(aid_random(seed) >> (aid_random(seed) % 60)) - 5;
}

/* Any bits that are a finite double, or not known. */
static double some_double(uint64_t *seed)
{
    uint64_t bits = aid_random(seed);
    double value;

    memcpy(&value, &bits, sizeof value);
    if (isfinite(value) && aid_random(seed) % 4)
        return value;
    return aid_random(seed) % 2 ? (double)NAN : -0.0;
}

static void some_text(uint64_t *seed, char *text, size_t size)
{
    static const char *const piece[] = {
        "a", "Z",  "0",    " ",        "\"",           "\\",
        "/", "\n", "\x01", "\xC3\xBC", "\xE2\x82\xAC", "\xF0\x9F\x8E\x9E"
    };
    size_t used = 0, want = aid_random(seed) % size;

    for (;;) {
        const char *next = piece[aid_random(seed) % (sizeof piece / sizeof piece[0])];

        if (used + strlen(next) > want || used + strlen(next) >= size)
            break;
        memcpy(text + used, next, strlen(next));
        used += strlen(next);
    }
    text[used] = '\0';
}

static void some_id(uint64_t *seed, struct ws_id *id)
{
    for (int i = 0; i < 16; i++)
        id->byte[i] = (unsigned char)aid_random(seed);
}

static void some_bath(uint64_t *seed, struct ws_bath *bath)
{
    bath->kind = (enum ws_bath_kind)(aid_random(seed) % WS_BATH_KINDS);
    some_text(seed, bath->name, sizeof bath->name);
    bath->dilution.parts = (int)(aid_random(seed) % (WS_PARTS + 1));
    for (int i = 0; i < bath->dilution.parts; i++)
        bath->dilution.part[i] = some_double(seed);
    bath->parts = (int)(aid_random(seed) % (WS_PARTS + 1));
    for (int i = 0; i < bath->parts; i++) {
        some_text(seed, bath->part[i].name, WS_NAME);
        some_id(seed, &bath->part[i].batch);
        bath->part[i].ml = some_double(seed);
        bath->part[i].drawn_ml = aid_random(seed) % 2 ? 0 : some_double(seed) + 1;
        bath->part[i].water = aid_random(seed) % 2;
    }
    bath->afterwards = (enum ws_afterwards)(aid_random(seed) % WS_AFTERWARDS);
    bath->time_ms = some_int(seed);
    bath->pour_in_ms = some_int(seed);
    bath->drain_ms = some_int(seed);
    bath->count_in_ms = some_int(seed);
    bath->longest_ms = some_int(seed);
    bath->clock_from = (enum ws_clock_from)(aid_random(seed) % 2);
    bath->drain = (enum ws_drain)(aid_random(seed) % 2);
    bath->agitation.rhythm = (enum ws_rhythm)(aid_random(seed) % WS_RHYTHMS);
    bath->agitation.first_ms = some_int(seed);
    bath->agitation.every_ms = some_int(seed);
    bath->agitation.length_ms = some_int(seed);
    bath->agitation.inversions = (int)(aid_random(seed) % 100) - 50;
    bath->agitation.tap = aid_random(seed) % 2;
    bath->agitation.moments = (int)(aid_random(seed) % (WS_MOMENTS + 1));
    for (int i = 0; i < bath->agitation.moments; i++)
        bath->agitation.moment_ms[i] = some_int(seed);
    bath->start_c = some_double(seed);
    bath->want_c = some_double(seed);
    bath->tolerance_c = some_double(seed);
    bath->ratio_per_10c = some_double(seed);
    bath->points = (int)(aid_random(seed) % (WS_POINTS + 1));
    for (int i = 0; i < bath->points; i++)
        bath->point[i] = (struct ws_point){ some_double(seed), some_int(seed), some_int(seed) };
    bath->open_film = aid_random(seed) % 2;
    bath->light_ms = aid_random(seed) % 2 ? 0 : some_int(seed);
    bath->pieces = (int)(aid_random(seed) % 100);
    bath->piece_every_ms = some_int(seed);
}

static void some_plan(uint64_t *seed, int baths)
{
    memset(&plan, 0, sizeof plan);
    some_id(seed, &plan.id);
    if (aid_random(seed) % 2)
        some_id(seed, &plan.repeats);
    plan.engine = (int)(aid_random(seed) % 1000);
    some_text(seed, plan.process, sizeof plan.process);
    some_text(seed, plan.tank, sizeof plan.tank);
    some_text(seed, plan.who, sizeof plan.who);
    plan.fill_ml = some_double(seed);
    plan.cover_ml = some_double(seed);
    plan.places = (int)(aid_random(seed) % (WS_PLACES + 1));
    for (int i = 0; i < plan.places; i++) {
        some_id(seed, &plan.place[i].roll);
        some_text(seed, plan.place[i].number, WS_NUMBER);
        some_text(seed, plan.place[i].film, WS_NAME);
        plan.place[i].reel = (int)(aid_random(seed) % 20);
        plan.place[i].rolls = some_double(seed);
    }
    plan.baths = baths;
    for (int i = 0; i < baths; i++)
        some_bath(seed, &plan.bath[i]);
    plan.ready_lead_ms = some_int(seed);
    plan.insist_ms = some_int(seed);
    plan.late_ms = some_int(seed);
    plan.confirm_grace_ms = some_int(seed);
    plan.undo_ms = INT64_MAX;
    plan.least_move_ms = INT64_MIN;
    plan.reading_every_ms = some_int(seed);
    plan.long_rest_ms = some_int(seed);
    plan.come_back_lead_ms = some_int(seed);
    plan.follow = aid_random(seed) % 2;
    plan.room_c = some_double(seed);
    plan.halving_ms = some_int(seed);
    some_text(seed, plan.reason, sizeof plan.reason);
}

/* Method: plans of random content, fixed seed, are written, read over a result full of other bytes,
 * and compared byte for byte: the source is cleared before it is filled, so that padding is alike,
 * and what is not known is one and the same NAN. */
static void test_random_plans_come_back(void **state)
{
    uint64_t seed = 0xD1B54A32D192ED03u;

    (void)state;
    for (int round = 0; round < 150; round++) {
        char *text, *again;

        some_plan(&seed, round % (WS_BATHS + 1));
        text = ws_plan_to_json(&plan);
        assert_non_null(text);
        assert_null(strchr(text, '\n'));
        memset(&back, 0xA5, sizeof back);
        aid_ok(ws_plan_from_json(text, strlen(text), &back, aid_why()));
        again = ws_plan_to_json(&back);
        assert_string_equal(text, again);
        assert_int_equal(back.baths, plan.baths);
        assert_int_equal(back.places, plan.places);
        assert_memory_equal(&back, &plan, sizeof plan);
        free(text);
        free(again);
    }
}

/* Makes a locale whose decimal mark is a comma, as many machines have, and takes it; false where
 * the tool for it is missing. */
static bool take_comma(void)
{
    static const char source[] = "LC_NUMERIC\n"
                                 "decimal_point \"<U002C>\"\n"
                                 "thousands_sep \"\"\n"
                                 "grouping -1\n"
                                 "END LC_NUMERIC\n";
    char command[700];

    aid_write(aid_path("source"), source, sizeof source - 1);
    snprintf(command, sizeof command,
             "localedef -c -i %s/source -f ANSI_X3.4-1968 %s/comma >/dev/null 2>&1", aid_folder(),
             aid_folder());
    if (system(command) == -1 || !aid_exists(aid_path("comma")))
        return false;
    setenv("LOCPATH", aid_folder(), 1);
    return setlocale(LC_NUMERIC, "comma") != NULL;
}

/* Method: plan and process are written with a decimal point, then where the mark is a comma; the
 * texts are the same, and are read there too. */
static void test_the_locale_does_not_matter(void **state)
{
    static struct ws_process process, read;
    uint64_t seed = 7;
    char *text[2], *process_text[2], number[8];

    (void)state;
    some_plan(&seed, 3);
    snprintf(process.name, sizeof process.name, "p");
    process.baths = 1;
    ws_bath_default(WS_BATH_DEVELOPER, &process.bath[0]);
    process.bath[0].points = 1;
    process.bath[0].point[0] = (struct ws_point){ 20.123456789012345, 570000, 0 };
    process.bath[0].want_c = 20.5;
    process.bath[0].ratio_per_10c = 2.35;
    text[0] = ws_plan_to_json(&plan);
    process_text[0] = ws_process_to_json(&process);
    if (!take_comma()) {
        free(text[0]);
        free(process_text[0]);
        skip();
    }
    snprintf(number, sizeof number, "%.1f", 0.5);
    assert_string_equal(number, "0,5");
    text[1] = ws_plan_to_json(&plan);
    process_text[1] = ws_process_to_json(&process);
    aid_ok(ws_plan_from_json(text[1], strlen(text[1]), &back, aid_why()));
    aid_ok(ws_process_from_json(process_text[1], strlen(process_text[1]), &read, aid_why()));
    setlocale(LC_NUMERIC, "C");
    assert_string_equal(text[0], text[1]);
    assert_string_equal(process_text[0], process_text[1]);
    assert_memory_equal(&back, &plan, sizeof plan);
    assert_true(read.bath[0].point[0].c == 20.123456789012345);
    for (int i = 0; i < 2; i++) {
        free(text[i]);
        free(process_text[i]);
    }
}

/* Method: single members are taken away, given another type or too many items; the path is said and
 * the result is left alone. */
static void test_refusals(void **state)
{
    static const struct {
        const char *from, *to, *says;
    } wrong[] = {
        { "\"engine\":2,", "", "engine: missing" },
        { "\"engine\":2,", "\"engine\":1.5,", "engine: missing, or not" },
        { "\"engine\":2,", "\"engine\":99999999999,", "engine:" },
        { "\"tank\":\"A\"", "\"tank\":7", "tank:" },
        { "\"tank\":\"A\"",
          "\"tank\":\"0123456789012345678901234567890123456789012345678901234567890123\"",
          "tank:" },
        { "\"fill_ml\":300.0", "\"fill_ml\":\"300\"", "fill_ml:" },
        { "\"follow\":false", "\"follow\":0", "follow:" },
        { "\"kind\":\"fixer\"", "\"kind\":\"soup\"", "bath[1].kind:" },
        { "\"kind\":\"fixer\"", "\"kind\":\"fixer\",\"light_ms\":\"2:00\"", "bath[1].light_ms:" },
        { "\"kind\":\"fixer\"", "\"kind\":\"fixer\",\"light_ms\":1.5", "bath[1].light_ms:" },
        { "\"kind\":\"fixer\"", "\"kind\":\"fixer\",\"light_ms\":null", "bath[1].light_ms:" },
        { "\"ml\":150.0", "\"ml\":150.0,\"drawn_ml\":\"10\"", "bath[0].part[0].drawn_ml:" },
        { "\"water\":true", "\"water\":1", "bath[0].part[1].water:" },
        { "\"moment_ms\":[]", "\"moment_ms\":[1,2,3,4,5,6,7,8,9]",
          "bath[0].agitation.moment_ms: must be a list of at most 8" },
        { "\"moment_ms\":[]", "\"moment_ms\":[1.5]", "bath[0].agitation.moment_ms[0]:" },
        { "\"dilution\":[1.0,1.0]", "\"dilution\":[\"1\"]", "bath[0].dilution[0]:" },
        { "\"dilution\":[1.0,1.0]", "\"dilution\":[1,2,3,4,5]", "bath[0].dilution: must be" },
        { "\"place\":[]", "\"place\":{}", "place: must be a list" },
        { "\"place\":[]", "\"place\":[1]", "place[0].roll: missing" },
        { "\"id\":\"", "\"id\":\"x", "id:" },
        { "\"engine\":2,", "\"engine\":2,\"repeats\":1,", "repeats:" },
        { "{", "[{", "line 1" },
        { "{", "", "line 1" },
    };
    char *text;

    (void)state;
    aid_plan(&plan, NULL, NULL);
    text = ws_plan_to_json(&plan);
    memset(&back, 0, sizeof back);
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        char *at = strstr(text, wrong[i].from), *spoiled;

        if (at == NULL)
            fail_msg("%s is not in %s", wrong[i].from, text);
        spoiled = malloc(strlen(text) + 128);
        sprintf(spoiled, "%.*s%s%s", (int)(at - text), text, wrong[i].to,
                at + strlen(wrong[i].from));
        aid_is(ws_plan_from_json(spoiled, strlen(spoiled), &back, aid_why()), WS_BAD_INPUT);
        if (strncmp(aid_message.text, wrong[i].says, strlen(wrong[i].says)) != 0)
            fail_msg("\"%s\" does not begin with \"%s\"", aid_message.text, wrong[i].says);
        assert_int_equal(back.baths, 0);
        free(spoiled);
    }
    free(text);
}

/* Method: what can't be written: a text that is no UTF-8, a number without end, an unknown kind. */
static void test_what_cannot_be_written(void **state)
{
    (void)state;
    aid_plan(&plan, NULL, NULL);
    plan.tank[0] = '\xFF';
    assert_null(ws_plan_to_json(&plan));
    aid_plan(&plan, NULL, NULL);
    plan.bath[1].want_c = INFINITY;
    assert_null(ws_plan_to_json(&plan));
    aid_plan(&plan, NULL, NULL);
    plan.bath[0].kind = WS_BATH_KINDS;
    assert_null(ws_plan_to_json(&plan));
}

/* Method: a plan that is full: every list to its end, every text of characters that take six bytes,
 * every number of the longest. It is well below what is taken for no plan any more (1 MiB, in
 * run_read.c). */
static void test_the_longest(void **state)
{
    const double longest = -1.2345678901234567e-300;
    struct ws_bath bath = { .dilution = { .parts = WS_PARTS },
                            .parts = WS_PARTS,
                            .points = WS_POINTS };
    char *text;

    (void)state;
    memset(bath.name, 1, WS_NAME - 1);
    bath.agitation.moments = WS_MOMENTS;
    for (int i = 0; i < WS_MOMENTS; i++)
        bath.agitation.moment_ms[i] = INT64_MIN;
    for (int i = 0; i < WS_PARTS; i++) {
        bath.dilution.part[i] = bath.part[i].ml = bath.part[i].drawn_ml = longest;
        memset(bath.part[i].name, 1, WS_NAME - 1);
    }
    for (int i = 0; i < WS_POINTS; i++)
        bath.point[i] = (struct ws_point){ longest, INT64_MIN, INT64_MIN };
    memset(&plan, 0, sizeof plan);
    plan.baths = WS_BATHS;
    plan.places = WS_PLACES;
    for (int i = 0; i < WS_BATHS; i++)
        plan.bath[i] = bath;
    for (int i = 0; i < WS_PLACES; i++) {
        memset(plan.place[i].number, 1, WS_NUMBER - 1);
        memset(plan.place[i].film, 1, WS_NAME - 1);
    }
    text = ws_plan_to_json(&plan);
    assert_non_null(text);
    assert_in_range(strlen(text), 100000, (1 << 20) / 3);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_random_plans_come_back),
        cmocka_unit_test_setup_teardown(test_the_locale_does_not_matter, aid_begin, aid_end),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_what_cannot_be_written),
        cmocka_unit_test(test_the_longest),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
