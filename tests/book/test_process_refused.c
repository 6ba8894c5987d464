/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a process file may not say: numbers that no bath has, fields that would do nothing, text
 * that is no JSON. Each by its path or its line, in words that help. */
#include "book_aid.h"

#include <stdlib.h>

#include "wetside/calc/units.h"

static struct ws_process process;

#define HEAD "{\"wetside\": \"process\", \"format\": 1, \"name\": \"p\", \"baths\": ["
#define TAIL "]}"

/* A developer and a wash that are right, open for one field more. */
#define DEVELOPER "{\"kind\": \"developer\", \"time\": \"9:30\", \"temperature\": \"20C\", "
#define POINTS    "{\"kind\": \"developer\", \"points\": [{\"at\": \"20C\", \"time\": \"9:30\""
#define WASH      "{\"kind\": \"wash\", \"time\": \"10:00\", "
#define FIXER     "{\"kind\": \"fixer\", \"time\": \"5:00\", "
#define AGITATE   WASH "\"agitation\": {\"pattern\": "

struct row {
    const char *bath;
    const char *says; /* null: it is right */
};

static void try_rows(const struct row *row, size_t rows)
{
    for (size_t i = 0; i < rows; i++) {
        char text[600];
        enum ws_status status;

        snprintf(text, sizeof text, HEAD "%s" TAIL, row[i].bath);
        status = ws_process_from_json(text, strlen(text), &process, aid_why());
        if (row[i].says == NULL) {
            if (status != WS_OK)
                fail_msg("refused: %s\n%s", text, aid_message.text);
            continue;
        }
        if (status != WS_BAD_INPUT)
            fail_msg("not refused: %s", text);
        if (strncmp(aid_message.text, row[i].says, strlen(row[i].says)) != 0)
            fail_msg("\"%s\" does not begin with \"%s\"", aid_message.text, row[i].says);
    }
}
#define TRY(rows) try_rows(rows, sizeof(rows) / sizeof *(rows))

/* Method: for each number a developer may have, values just inside and just outside what the manual
 * says; the refusal begins with the path. */
static void test_numbers_of_a_developer(void **state)
{
    static const struct row rows[] = {
        { DEVELOPER "\"ratio_per_10c\": 1}", NULL },
        { DEVELOPER "\"ratio_per_10c\": 2.35}", NULL },
        { DEVELOPER "\"ratio_per_10c\": 10}", NULL },
        { DEVELOPER "\"ratio_per_10c\": -1}", "baths[0].ratio_per_10c: not between 1 and 10" },
        { DEVELOPER "\"ratio_per_10c\": 0}", "baths[0].ratio_per_10c: not between" },
        { DEVELOPER "\"ratio_per_10c\": 0.999}", "baths[0].ratio_per_10c: not between" },
        { DEVELOPER "\"ratio_per_10c\": 10.001}", "baths[0].ratio_per_10c: not between" },
        { DEVELOPER "\"ratio_per_10c\": 1e300}", "baths[0].ratio_per_10c: not between" },
        { DEVELOPER "\"tolerance\": \"0C\"}", NULL },
        { DEVELOPER "\"tolerance\": \"20C\"}", NULL },
        { DEVELOPER "\"tolerance\": \"20.1C\"}", "baths[0].tolerance: 20.1 C is not between" },
        { DEVELOPER "\"tolerance\": \"-1C\"}", "baths[0].tolerance: write a difference" },
        { DEVELOPER "\"tolerance\": 1e300}", "baths[0].tolerance: not between 0 and 20 C" },
        { DEVELOPER "\"longest\": \"20:00\"}", "baths[0].longest: a developer never runs long" },
        { DEVELOPER "\"points\": [{\"at\": \"20C\", \"time\": \"9:30\"}]}",
          "baths[0].time: the points give it" },
        { POINTS "}]}", NULL },
        { POINTS ", \"step\": \"9:30\"}]}", NULL },
        { POINTS ", \"step\": \"9:31\"}]}", "baths[0].points[0].step: must be above 0" },
        { POINTS ", \"step\": \"0:00\"}]}", "baths[0].points[0].step: must be above 0" },
        { POINTS "}, {\"at\": \"-5C\", \"time\": \"48h\"}]}", NULL },
        { POINTS "}, {\"at\": \"68F\", \"time\": \"9:00\"}]}",
          "baths[0].points: 20 C has two times, 9:30 and 9:00" },
        { POINTS "}, {\"at\": \"-5.1C\", \"time\": \"9:30\"}]}", "baths[0].points[1].at: " },
        { POINTS "}, {\"at\": 50.1, \"time\": \"9:30\"}]}", "baths[0].points[1].at: not between" },
        { POINTS "}, {\"at\": \"22C\", \"time\": \"0.5s\"}]}", "baths[0].points[1].time: a point" },
        { DEVELOPER "\"pieces\": 6, \"piece_every\": \"2:00\"}",
          "baths[0].time: the first sheet would be due out before the last is in" },
        { DEVELOPER "\"agitation\": {\"pattern\": \"cycles\", \"every\": \"0.2s\", "
                    "\"length\": \"0.1s\"}}",
          "baths[0].agitation.every: 0.2 s is not between 0:01" },
        { "{\"kind\": \"developer\", \"time\": \"10h\", \"temperature\": \"20C\", "
          "\"agitation\": {\"pattern\": \"cycles\", \"every\": \"1s\", \"length\": \"1s\"}}",
          "baths[0].agitation.every: more than 2047 cycles" },
    };

    (void)state;
    TRY(rows);
}

/* Method: likewise for what every bath may have. */
static void test_numbers_of_a_bath(void **state)
{
    static const struct row rows[] = {
        { WASH "\"ratio_per_10c\": 2}", "baths[0].ratio_per_10c: only a developer has one" },
        { "{\"kind\": \"wash\", \"points\": [{\"at\": \"20C\", \"time\": \"9:30\"}]}",
          "baths[0].points: only a developer has points" },
        { "{\"kind\": \"wash\", \"time\": \"48:00:00\"}", NULL },
        { "{\"kind\": \"wash\", \"time\": \"48:00:01\"}", "baths[0].time: " },
        { "{\"kind\": \"wash\", \"time\": \"0.9s\"}", "baths[0].time: must be at least a second" },
        { WASH "\"temperature\": -5.001}", "baths[0].temperature: not between -5 and 50 C" },
        { WASH "\"temperature\": \"122.1F\"}", "baths[0].temperature: " },
        { WASH "\"pour_in\": \"10:00\", \"drain_time\": \"0:00\", \"count_in\": \"1:00\"}", NULL },
        { WASH "\"pour_in\": \"10:01\"}", "baths[0].pour_in: 10:01 is not between" },
        { WASH "\"drain_time\": \"10:01\"}", "baths[0].drain_time: 10:01 is not between" },
        { WASH "\"count_in\": \"1:01\"}", "baths[0].count_in: 1:01 is not between" },
        { WASH "\"longest\": \"10:00\"}", NULL },
        { WASH "\"longest\": \"9:59\"}", "baths[0].longest: 9:59 is not between 10:00" },
        { WASH "\"longest\": \"0:00\"}", "baths[0].longest: is no time" },
        { WASH "\"pieces\": 64, \"piece_every\": \"0:09\"}", NULL },
        { WASH "\"pieces\": 65, \"piece_every\": \"0:09\"}", "baths[0].pieces: 65 is not between" },
        { WASH "\"pieces\": 1000000000}", "baths[0].pieces: 1000000000 is not between 0 and 64" },
        { WASH "\"pieces\": 10000000000}", "baths[0].pieces: is more than" },
        { WASH "\"pieces\": -1}", "baths[0].pieces: must be a whole number" },
        { WASH "\"pieces\": 2.5}", "baths[0].pieces: must be a whole number" },
        { WASH "\"pieces\": 2, \"piece_every\": \"0.5s\"}", "baths[0].piece_every: 0.5 s is not" },
        { WASH "\"piece_every\": \"0:10\"}", "baths[0].piece_every: is for two pieces or more" },
        { WASH "\"open_film\": true, \"light_after\": \"2:00\"}", NULL },
        { WASH "\"light_after\": \"2:00\"}",
          "baths[0].light_after: is for a fixer, or for a bath" },
        { FIXER "\"light_after\": \"2:00\"}", NULL },
        { FIXER "\"light_after\": \"6:00\"}", NULL },
        { FIXER "\"light_after\": \"49h\"}",
          "baths[0].light_after: \"49h\" is more than 48 hours" },
        { FIXER "\"light_after\": \"5:00\", \"may_run_long\": false}", NULL },
        { FIXER "\"light_after\": \"5:01\", \"may_run_long\": false}",
          "baths[0].light_after: 5:01 is not between 0:00 and 5:00" },
        { FIXER "\"light_after\": \"8:01\", \"longest\": \"8:00\"}",
          "baths[0].light_after: 8:01 is not between 0:00 and 8:00" },
        { FIXER "\"light_after\": \"0:00\"}", "baths[0].light_after: is no time; leave it out" },
        { FIXER "\"light_after\": \"-2:00\"}", "baths[0].light_after: \"-2:00\" is negative" },
        { FIXER "\"light_after\": 120}", "baths[0].light_after: write a time as text" },
        { DEVELOPER "\"open_film\": true, \"light_after\": \"2:00\"}",
          "baths[0].light_after: film in this bath is not fixed" },
        { WASH "\"dilution\": \"100000+1\"}", NULL },
        { WASH "\"dilution\": \"100001+1\"}", "baths[0].dilution: " },
        { WASH "\"dilution\": \"0+1\"}", "baths[0].dilution: " },
        { WASH "\"dilution\": \"-1+1\"}", "baths[0].dilution: " },
    };

    (void)state;
    TRY(rows);
}

/* Method: likewise for the agitation; a field its pattern makes no use of is refused too, since
 * what was meant would not be done. */
static void test_numbers_of_an_agitation(void **state)
{
    static const struct row rows[] = {
        { AGITATE "\"stand\", \"first\": \"24h\"}}", NULL },
        { AGITATE "\"stand\", \"first\": \"24:00:01\"}}", "baths[0].agitation.first: 24:00:01" },
        { AGITATE "\"cycles\", \"every\": \"24h\", \"length\": \"24h\"}}", NULL },
        { AGITATE "\"cycles\", \"every\": \"1:00\", \"length\": \"1:01\"}}",
          "baths[0].agitation.length: 1:01 is not between 0:01 and 1:00" },
        { AGITATE "\"cycles\", \"every\": \"25h\", \"length\": \"0:10\"}}",
          "baths[0].agitation.every: 25:00:00 is not between" },
        { AGITATE "\"cycles\", \"every\": \"1:00\", \"length\": \"0:10\", \"inversions\": 60}}",
          NULL },
        { AGITATE "\"cycles\", \"every\": \"1:00\", \"length\": \"0:10\", \"inversions\": 61}}",
          "baths[0].agitation.inversions: 61 is not between" },
        { AGITATE "\"cycles\", \"every\": \"1:00\", \"length\": \"0:10\", \"inversions\": -4}}",
          "baths[0].agitation.inversions: must be a whole number" },
        { AGITATE "\"moments\", \"moments\": [\"0:00\"], \"length\": \"0:10\"}}",
          "baths[0].agitation.moments[0]: moments must follow" },
        { AGITATE "\"moments\", \"moments\": [\"5:00\"], \"length\": \"0:00\"}}",
          "baths[0].agitation.length: 0:00 is not between" },
        { WASH "\"agitation\": {\"first\": \"0:30\", \"every\": \"1:00\", \"length\": \"0:10\"}}",
          "baths[0].agitation.every: is for the patterns" },
        { AGITATE "\"stand\", \"length\": \"0:10\"}}", "baths[0].agitation.length: is for the" },
        { AGITATE "\"stand\", \"first\": \"0:30\", \"inversions\": 4, \"length\": \"0:10\"}}",
          NULL },
        { AGITATE "\"continuous\", \"every\": \"0:30\"}}", "baths[0].agitation.every: is for the" },
        { AGITATE "\"cycles\", \"every\": \"1:00\", \"length\": \"0:10\", "
                  "\"moments\": [\"5:00\"]}}",
          "baths[0].agitation.moments: is for the pattern" },
    };

    (void)state;
    TRY(rows);
}

/* Method: a process that holds what would do nothing (the book may, a file may not) is written, and
 * what was written is read: the writer leaves it out. */
static void test_what_does_nothing_is_not_written(void **state)
{
    struct ws_bath *wash = &process.bath[0], *developer = &process.bath[1];
    char *text;

    (void)state;
    memset(&process, 0, sizeof process);
    ws_text_copy(process.name, sizeof process.name, "p");
    process.baths = 2;
    ws_bath_default(WS_BATH_WASH, wash);
    wash->time_ms = 600000;
    wash->ratio_per_10c = 2;
    wash->piece_every_ms = 10000;
    wash->agitation.every_ms = wash->agitation.length_ms = 10000;
    ws_bath_default(WS_BATH_DEVELOPER, developer);
    developer->time_ms = 570000;
    developer->longest_ms = 600000;
    developer->points = 1;
    developer->point[0] = (struct ws_point){ .c = 20, .time_ms = 570000 };
    aid_ok(ws_process_check(&process, aid_why()));
    text = ws_process_to_json(&process);
    assert_non_null(text);
    aid_ok(ws_process_from_json(text, strlen(text), &process, aid_why()));
    free(text);
    assert_int_equal(wash->piece_every_ms, 0);
    assert_int_equal(wash->agitation.every_ms, 0);
    assert_int_equal(developer->points, 1);
}

/* ---- no JSON --------------------------------------------------------------------------------- */

#define TEXT(text) text, sizeof(text) - 1

/* Method: texts that are no JSON, or more than it; the line is known from the text, and none of the
 * library's own words is in it. */
static void test_no_json(void **state)
{
    static const struct {
        const char *text;
        size_t length;
        const char *says, *more;
    } rows[] = {
        { TEXT(""), "it is empty", "{" },
        { TEXT(" \n"), "it is empty", "{" },
        { TEXT("\xEF\xBB\xBF{}"), "line 1: it begins with a byte order mark", "without one" },
        { TEXT("{\n\"a\": \"x\0y\"}"), "line 2: a zero byte", "UTF-8" },
        { TEXT("\xFF\xFE{\0}\0"), "line 1: a zero byte", "save it" },
        { TEXT("{\n\"a\": \"\xFF\"}"), "line 2, column ", "save the file as UTF-8" },
        { TEXT("{\n\"a\": \"\\u0000\"}"), "line 2, column ", "can't hold \\u0000" },
        { TEXT("{\n\"a\\u0000\": 1}"), "line 2, column ", "can't hold \\u0000" },
        { TEXT("{\n\"a\": 1,\n\"a\": 2}"), "line 3, column 3: this field is there twice",
          "behind: \"a\"" },
        { TEXT("{\n\"a\": 1e999}"), "line 2, column ", "too large" },
        { TEXT("{\n\"a\": 99999999999999999999}"), "line 2, column ", "too large" },
        { TEXT("{\n\"a\": 1,,}"), "line 2, column 8: no JSON", "behind: \"a\": 1,," },
        { TEXT("{\n\"a\": 1\n\"b\": 2}"), "line 3, column ", "a comma" },
        { TEXT("{\n\"a\": [1, 2"), "line 2, column ", "missing" },
        { TEXT("{\n\"a\": \"x\ny\"}"), "line 2, column ", "a quote" },
        { TEXT("{}\n{}"), "line 2, column 1: more than one object", "leave out" },
    };
    static const char *const foreign[] = { "near", "token",  "unexpected", "expected",
                                           "key",  "decode", "parsing",    "JSON_" };
    char deep[4000];

    (void)state;
    memset(deep, '[', sizeof deep);
    aid_is(ws_process_from_json(deep, sizeof deep, &process, aid_why()), WS_BAD_INPUT);
    aid_says("line 1, column 2049: lists in lists too deep to read");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        aid_is(ws_process_from_json(rows[i].text, rows[i].length, &process, aid_why()),
               WS_BAD_INPUT);
        if (strncmp(aid_message.text, rows[i].says, strlen(rows[i].says)) != 0)
            fail_msg("\"%s\" does not begin with \"%s\"", aid_message.text, rows[i].says);
        aid_says(rows[i].more);
        for (size_t k = 0; k < sizeof foreign / sizeof foreign[0]; k++)
            if (strstr(aid_message.text, foreign[k]) != NULL)
                fail_msg("\"%s\" has \"%s\" in it", aid_message.text, foreign[k]);
    }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, aid_begin, aid_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_numbers_of_a_developer),
        TEST(test_numbers_of_a_bath),
        TEST(test_numbers_of_an_agitation),
        TEST(test_what_does_nothing_is_not_written),
        TEST(test_no_json),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
