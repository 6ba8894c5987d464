/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Process files: the manual's examples, every default, every refusal by its path, and back. */
#include "book_aid.h"

#include <stdlib.h>

static struct ws_process process;

static enum ws_status read_text(const char *text)
{
    return ws_process_from_json(text, strlen(text), &process, aid_why());
}

/* ---- the manual ------------------------------------------------------------------------------ */

/* The `nth` literal block of the manual, malloced. */
static char *example(const char *manual, int nth)
{
    static const char begin[] = ".Bd -literal\n", end[] = ".Ed\n";
    const char *from = manual, *to;

    for (int i = 0; i <= nth; i++) {
        from = strstr(from, begin);
        assert_non_null(from);
        from += sizeof begin - 1;
    }
    to = strstr(from, end);
    assert_non_null(to);
    return strndup(from, (size_t)(to - from));
}

/* Method: the examples are cut out of the manual, read, and compared with what they say. */
static void test_the_manuals_examples(void **state)
{
    long size;
    char *manual = (char *)aid_bytes("man/wetside-process.5", &size), *text;
    const struct ws_bath *developer;

    (void)state;
    assert_non_null(manual);
    manual[size] = '\0';
    text = example(manual, 0);
    aid_ok(read_text(text));
    free(text);
    assert_string_equal(process.name, "Tarn 125 in MQB 1+1");
    assert_int_equal(process.baths, 6);
    developer = &process.bath[1];
    assert_int_equal(developer->points, 3);
    assert_true(developer->point[2].c == 215.0 / 9); /* 75 F */
    assert_int_equal(developer->point[2].time_ms, 390000);
    assert_int_equal(developer->point[0].step_ms, 30000);
    assert_int_equal(developer->time_ms, 0);
    assert_int_equal(developer->agitation.rhythm, WS_CYCLES);
    assert_int_equal(developer->agitation.inversions, 4);
    assert_true(developer->agitation.tap);
    ws_assert_near(developer->tolerance_c, 0.5, 0);
    assert_int_equal(process.bath[3].longest_ms, 600000);
    assert_int_equal(process.bath[3].afterwards, WS_TO_BOTTLE);
    assert_int_equal(process.bath[5].longest_ms, 60000);

    text = example(manual, 1);
    aid_ok(read_text(text));
    free(text);
    developer = &process.bath[0];
    assert_int_equal(developer->points, 1);
    assert_true(developer->point[0].c == 20);
    assert_int_equal(developer->point[0].time_ms, 420000);
    ws_assert_near(developer->ratio_per_10c, 2.2, 0);
    assert_int_equal(developer->clock_from, WS_FROM_FIRST_LIQUID);
    assert_true(developer->open_film);
    assert_int_equal(developer->pieces, 6);
    assert_int_equal(developer->piece_every_ms, 10000);
    assert_int_equal(developer->light_ms, 0);
    assert_int_equal(process.bath[1].light_ms, 120000);

    text = example(manual, 2);
    aid_ok(read_text(text));
    free(text);
    assert_int_equal(process.baths, 4);
    for (int i = 0; i < process.baths; i++) {
        assert_int_equal(process.bath[i].open_film, i < 3);
        assert_int_equal(process.bath[i].pieces, 0);
        assert_int_equal(process.bath[i].light_ms, i == 2 ? 120000 : 0);
    }
    free(manual);
}

/* Method: every field the reader knows stands in the manual as an item, asked of the program's own
 * table. */
extern const char *const ws_bath_fields[];

static void test_the_manual_names_every_field(void **state)
{
    static const char *const others[] = { "wetside", "format",     "id",    "film",
                                          "ei",      "note",       "baths", "at",
                                          "step",    "pattern",    "first", "every",
                                          "length",  "inversions", "tap",   "moments" };
    long size;
    char *manual = (char *)aid_bytes("man/wetside-process.5", &size), item[64];

    (void)state;
    assert_non_null(manual);
    manual[size] = '\0';
    for (int i = 0; ws_bath_fields[i] != NULL; i++) {
        snprintf(item, sizeof item, ".It Cm %s\n", ws_bath_fields[i]);
        if (strstr(manual, item) == NULL)
            fail_msg("the manual does not say: %s", ws_bath_fields[i]);
    }
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        snprintf(item, sizeof item, ".It Cm %s\n", others[i]);
        if (strstr(manual, item) == NULL)
            fail_msg("the manual does not say: %s", others[i]);
    }
    free(manual);
}

/* ---- defaults -------------------------------------------------------------------------------- */

#define HEAD      "{\"wetside\": \"process\", \"format\": 1, \"name\": \"p\", "
#define DEVELOPER "{\"kind\": \"developer\", \"time\": \"9:30\", \"temperature\": \"20C\"}"

/* Method: the least a bath of each kind must say; all else is ws_bath_default's. */
static void test_defaults(void **state)
{
    (void)state;
    for (int k = 0; k < WS_BATH_KINDS; k++) {
        struct ws_bath usual;
        char text[256];

        snprintf(text, sizeof text,
                 HEAD
                 "\"baths\": [{\"kind\": \"%s\", \"time\": \"9:30\", \"temperature\": \"20C\"}]}",
                 ws_bath_kind_token((enum ws_bath_kind)k));
        aid_ok(read_text(text));
        ws_bath_default((enum ws_bath_kind)k, &usual);
        assert_string_equal(process.bath[0].name, usual.name);
        assert_int_equal(process.bath[0].afterwards, usual.afterwards);
        assert_int_equal(process.bath[0].pour_in_ms, usual.pour_in_ms);
        assert_int_equal(process.bath[0].drain_ms, usual.drain_ms);
        assert_int_equal(process.bath[0].count_in_ms, usual.count_in_ms);
        assert_int_equal(process.bath[0].longest_ms, usual.longest_ms);
        assert_int_equal(process.bath[0].clock_from, usual.clock_from);
        assert_int_equal(process.bath[0].drain, usual.drain);
        assert_int_equal(process.bath[0].agitation.rhythm, WS_STAND);
        assert_true(isnan(process.bath[0].start_c));
        assert_true(isnan(process.bath[0].tolerance_c));
        assert_int_equal(process.bath[0].points, k == WS_BATH_DEVELOPER ? 1 : 0);
        assert_int_equal(process.bath[0].time_ms, k == WS_BATH_DEVELOPER ? 0 : 570000);
    }
}

/* Method: ways to write the same, side by side. */
static void test_ways_of_writing(void **state)
{
    static const struct {
        const char *bath;
        int64_t time_ms;
        double c;
    } same[] = {
        { "\"time\": \"9:30\", \"temperature\": \"68F\"", 570000, 20 },
        { "\"time\": \"9.5\", \"temperature\": \"20\"", 570000, 20 },
        { "\"time\": \"9 1/2\", \"temperature\": 20", 570000, 20 },
        { "\"time\": \"570s\", \"temperature\": 20.5", 570000, 20.5 },
        { "\"time\": \"9m30.001s\", \"temperature\": \"20,5 \xC2\xB0"
          "C\"",
          570001, 20.5 },
    };

    (void)state;
    for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
        char text[256];

        snprintf(text, sizeof text, HEAD "\"baths\": [{\"kind\": \"wash\", %s}]}", same[i].bath);
        aid_ok(read_text(text));
        assert_int_equal(process.bath[0].time_ms, same[i].time_ms);
        assert_true(process.bath[0].want_c == same[i].c);
    }
    aid_ok(read_text(HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"5:00\", \"tolerance\": "
                          "\"0.9F\", \"may_run_long\": true}]}"));
    ws_assert_near(process.bath[0].tolerance_c, 0.5, 1e-15);
    assert_int_equal(process.bath[0].longest_ms, 0);
}

/* ---- refusals -------------------------------------------------------------------------------- */

/* Method: each line of the table is a file with one thing wrong, and what the refusal must say: the
 * path first, then what would be right. Whatever was in the result stays there. */
static void test_refusals(void **state)
{
    static const struct {
        const char *text, *says;
    } wrong[] = {
        { "", "it is empty" },
        { "{", "line 1, column 1" },
        { "{\n  \"wetside\": \"process\",\n  \"format\": 1,,\n}", "line 3, column" },
        { "[]", "line 1: a process file is one object in braces" },
        { "{\"format\": 1}", "wetside: must be \"process\"" },
        { "{\"wetside\": \"formula\", \"format\": 1}", "wetside: must be" },
        { "{\"wetside\": \"process\"}", "format: must be 1" },
        { "{\"wetside\": \"process\", \"format\": 2}", "format: is from a newer wetside" },
        { "{\"wetside\": \"process\", \"format\": 1, \"name\": \"a\", \"name\": \"b\"}", "line 1" },
        { HEAD "\"bath\": []}", "bath: no such field; the nearest are baths" },
        { HEAD "\"baths\": []}", "baths: must be a list of 1 to 24" },
        { HEAD "\"baths\": {}}", "baths: must be a list" },
        { HEAD "\"baths\": [1]}", "baths[0]: must be an object" },
        { HEAD "\"ei\": \"fast\", \"baths\": [" DEVELOPER "]}", "ei: must be a whole number" },
        { HEAD "\"ei\": -1, \"baths\": [" DEVELOPER "]}", "ei: must be a whole number" },
        { HEAD "\"ei\": 2.5, \"baths\": [" DEVELOPER "]}", "ei: must be a whole number" },
        { HEAD "\"id\": \"xyz\", \"baths\": [" DEVELOPER "]}", "id: must be 32" },
        { HEAD "\"film\": 3, \"baths\": [" DEVELOPER "]}", "film: must be text" },
        { HEAD "\"note\": \"\\u0007\", \"baths\": [" DEVELOPER "]}", "note: control characters" },
        { HEAD "\"film\": \"0123456789012345678901234567890123456789012345678901234567890123\","
               " \"baths\": [" DEVELOPER "]}",
          "film: \"0123456789012345678901234567890123456789...\" is too long" },
        { "{\"wetside\": \"process\", \"format\": 1, \"baths\": [" DEVELOPER "]}", "name:" },
        { HEAD "\"baths\": [{\"time\": \"1:00\"}]}", "baths[0].kind: is missing" },
        { HEAD "\"baths\": [{\"kind\": \"soup\", \"time\": \"1:00\"}]}",
          "baths[0].kind: \"soup\" is none of \"presoak\", \"developer\"" },
        { HEAD "\"baths\": [{\"kind\": 4}]}", "baths[0].kind: must be one of" },
        { HEAD "\"baths\": [" DEVELOPER ", {\"kind\": \"stop\", \"tme\": \"0:30\"}]}",
          "baths[1].tme: no such field; the nearest are time" },
        { HEAD "\"baths\": [" DEVELOPER ", {\"kind\": \"stop\"}]}", "baths[1].time: 0:00" },
        { HEAD "\"baths\": [" DEVELOPER ", {\"kind\": \"stop\", \"time\": 30}]}",
          "baths[1].time: write a time as text" },
        { HEAD "\"baths\": [" DEVELOPER ", {\"kind\": \"stop\", \"time\": \"-0:30\"}]}",
          "baths[1].time: \"-0:30\" is negative" },
        { HEAD "\"baths\": [" DEVELOPER ", {\"kind\": \"stop\", \"time\": \"90h\"}]}",
          "baths[1].time: \"90h\" is more than 48 hours" },
        { HEAD "\"baths\": [" DEVELOPER ", {\"kind\": \"stop\", \"time\": \"7:75\"}]}",
          "baths[1].time: \"7:75\" is not a time" },
        { HEAD "\"baths\": [" DEVELOPER ", {\"kind\": \"stop\", \"time\": \"0:00\"}]}",
          "baths[1].time: must be at least a second" },
        { HEAD "\"baths\": [{\"kind\": \"developer\"}]}",
          "baths[0].points: a developer needs a time at a temperature" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"time\": \"9:30\"}]}",
          "baths[0].temperature: is missing; a developer's time needs" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"points\": []}]}",
          "baths[0].points: must be a list of 1 to 32" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"points\": [3]}]}",
          "baths[0].points: each must be an object" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"points\": [{\"time\": \"9:30\"}]}]}",
          "baths[0].points[0].at: is missing" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"points\": [{\"at\": \"20C\"}]}]}",
          "baths[0].points[0].time: a point needs its time" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"points\": [{\"at\": \"20C\", \"time\": "
               "\"9:30\", \"note\": \"x\"}]}]}",
          "baths[0].points[0].note: no such field" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"time\": \"9:30\", \"temperature\": "
               "\"200C\"}]}",
          "baths[0].temperature: \"200C\" is outside -5.0 C to 50.0 C" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"time\": \"9:30\", \"temperature\": 200}]}",
          "baths[0].temperature: not between -5 and 50 C" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"time\": \"9:30\", \"temperature\": true}]}",
          "baths[0].temperature: write a temperature" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"time\": \"9:30\", \"temperature\": \"20C\","
               " \"dilution\": \"0+0\"}]}",
          "baths[0].dilution: \"0+0\": each part of stock" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"time\": \"9:30\", \"temperature\": \"20C\","
               " \"dilution\": \"1:4\"}]}",
          "baths[0].dilution: \"1:4\" has two meanings" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"time\": \"9:30\", \"temperature\": \"20C\","
               " \"dilution\": 4}]}",
          "baths[0].dilution: write a dilution as text" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"time\": \"9:30\", \"temperature\": \"20C\","
               " \"ratio_per_10c\": 40}]}",
          "baths[0].ratio_per_10c: not between 1 and 10" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"time\": \"9:30\", \"temperature\": \"20C\","
               " \"ratio_per_10c\": \"2\"}]}",
          "baths[0].ratio_per_10c: must be a number" },
        { HEAD "\"baths\": [{\"kind\": \"developer\", \"time\": \"9:30\", \"temperature\": \"20C\","
               " \"may_run_long\": true}]}",
          "baths[0].may_run_long: a developer may not" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"may_run_long\": true, "
               "\"longest\": \"20:00\"}]}",
          "baths[0].may_run_long: give this or longest" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"longest\": \"2:00\"}]}",
          "baths[0].longest: 2:00 is not between" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"may_run_long\": false}]}",
          "baths[0].may_run_long: a bath that may not run long needs its time" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"may_run_long\": 1}]}",
          "baths[0].may_run_long: must be true or false" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"clock\": \"start\"}]}",
          "baths[0].clock: \"start\" is none of \"full\", \"first liquid\"" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"drain\": \"never\"}]}",
          "baths[0].drain: \"never\" is none of \"inside\", \"after\"" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"afterwards\": \"sink\"}]}",
          "baths[0].afterwards: \"sink\" is none of" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"tolerance\": \"1\"}]}",
          "baths[0].tolerance: write a difference" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"tolerance\": \"xC\"}]}",
          "baths[0].tolerance: write a difference" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"tolerance\": -1}]}",
          "baths[0].tolerance: not between 0 and 20" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"pour_in\": \"1h\"}]}",
          "baths[0].pour_in: 1:00:00 is not between" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"name\": \" \"}]}",
          "baths[0].name: is empty" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"agitation\": \"stand\"}]}",
          "baths[0].agitation: must be an object" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"agitation\": {\"rhythm\": "
               "\"stand\"}}]}",
          "baths[0].agitation.rhythm: no such field" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"agitation\": {\"pattern\": "
               "\"twist\"}}]}",
          "baths[0].agitation.pattern: \"twist\" is none of \"stand\"" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"agitation\": {\"pattern\": "
               "\"cycles\", \"every\": \"1:00\"}}]}",
          "baths[0].agitation.length: 0:00" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"agitation\": {\"pattern\": "
               "\"moments\", \"length\": \"0:10\", \"moments\": [\"2:00\", \"soon\"]}}]}",
          "baths[0].agitation.moments[1]: \"soon\" is not a time" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"agitation\": {\"pattern\": "
               "\"moments\", \"length\": \"0:10\", \"moments\": [\"2:00\", \"1:00\"]}}]}",
          "baths[0].agitation.moments[1]" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"agitation\": {\"moments\": "
               "\"2:00\"}}]}",
          "baths[0].agitation.moments: must be a list" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"pieces\": 500, "
               "\"piece_every\": \"0:10\"}]}",
          "baths[0].pieces: 500 is not between" },
        { HEAD "\"baths\": [{\"kind\": \"wash\", \"time\": \"9:30\", \"pieces\": 6}]}",
          "baths[0].piece_every: 0:00" },
    };

    (void)state;
    aid_ok(read_text(HEAD "\"baths\": [" DEVELOPER "]}"));
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        if (read_text(wrong[i].text) != WS_BAD_INPUT)
            fail_msg("not refused: %s", wrong[i].text);
        if (strncmp(aid_message.text, wrong[i].says, strlen(wrong[i].says)) != 0)
            fail_msg("\"%s\" does not begin with \"%s\"", aid_message.text, wrong[i].says);
        assert_null(strchr(aid_message.text, '\n'));
        assert_string_equal(process.name, "p");
        assert_int_equal(process.baths, 1);
    }
}

/* Method: every beginning of a right file, every single byte of it changed to each of a few others,
 * and depth upon depth of brackets. Whatever is said, nothing may be read beyond the text (the
 * address sanitizer watches), and what is accepted passes the check. */
static void test_spoiled_files(void **state)
{
    static const char right[] =
        HEAD "\"baths\": [{\"kind\": \"developer\", \"points\": [{\"at\": \"20C\", \"time\": "
             "\"9:30\"}], \"agitation\": {\"pattern\": \"moments\", \"moments\": [\"2:00\"], "
             "\"length\": \"10s\"}}]}";
    static const char others[] = { '\0', '"', '{', ']', ',', '9', '-', '\xFF', '\x01' };
    char *text;

    (void)state;
    aid_ok(read_text(right));
    for (size_t n = 0; n < sizeof right - 1; n++) {
        text = malloc(n + 1); /* no byte beyond, so that reading one is caught */
        memcpy(text, right, n);
        assert_int_equal(ws_process_from_json(text, n, &process, aid_why()), WS_BAD_INPUT);
        free(text);
    }
    for (size_t at = 0; at < sizeof right - 1; at++)
        for (size_t o = 0; o < sizeof others; o++) {
            text = strndup(right, sizeof right);
            text[at] = others[o];
            if (ws_process_from_json(text, sizeof right - 1, &process, aid_why()) == WS_OK)
                aid_ok(ws_process_check(&process, aid_why()));
            free(text);
        }
    text = malloc(200000);
    memset(text, '[', 200000);
    assert_int_equal(ws_process_from_json(text, 200000, &process, aid_why()), WS_BAD_INPUT);
    free(text);
}

/* ---- and back -------------------------------------------------------------------------------- */

/* Method: a process as a person writes it comes back short: what has its default is left out, and
 * the same text is read and written again without a change. */
static void test_it_is_written_for_people(void **state)
{
    static const char text[] = "{\n"
                               "  \"wetside\": \"process\",\n"
                               "  \"format\": 1,\n"
                               "  \"name\": \"p\",\n"
                               "  \"film\": \"Tarn 125\",\n"
                               "  \"ei\": 125,\n"
                               "  \"baths\": [\n"
                               "    {\n"
                               "      \"kind\": \"developer\",\n"
                               "      \"dilution\": \"1+100\",\n"
                               "      \"time\": \"6:30.5\",\n"
                               "      \"temperature\": \"75F\",\n"
                               "      \"tolerance\": \"0.5C\",\n"
                               "      \"ratio_per_10c\": 2.35,\n"
                               "      \"agitation\": {\n"
                               "        \"pattern\": \"cycles\",\n"
                               "        \"first\": \"0:30\",\n"
                               "        \"every\": \"1:00\",\n"
                               "        \"length\": \"0:10\",\n"
                               "        \"inversions\": 4,\n"
                               "        \"tap\": true\n"
                               "      }\n"
                               "    },\n"
                               "    {\n"
                               "      \"kind\": \"wash\",\n"
                               "      \"time\": \"5:00\",\n"
                               "      \"may_run_long\": false\n"
                               "    }\n"
                               "  ]\n"
                               "}\n";
    char *back;

    (void)state;
    aid_ok(read_text(text));
    back = ws_process_to_json(&process);
    assert_non_null(strstr(back, "\"time\": \"390.500s\""));
    free(back);
    process.bath[0].point[0].time_ms = 390000;
    back = ws_process_to_json(&process);
    assert_non_null(strstr(back, "\"time\": \"6:30\""));
    assert_non_null(strstr(back, "\"ratio_per_10c\": 2.35,"));
    assert_non_null(strstr(back, "\"temperature\": \"75F\""));
    assert_int_equal(strlen(back), sizeof text - 1 - strlen(".5"));
    free(back);
    /* Round numbers are where the fewest digits would be an exponent: 2e+01. */
    process.bath[0].want_c = 20;
    process.bath[0].dilution = (struct ws_dilution){ { 1, 100 }, 2 };
    back = ws_process_to_json(&process);
    assert_non_null(strstr(back, "\"temperature\": \"20C\""));
    assert_non_null(strstr(back, "\"dilution\": \"1+100\""));
    free(back);
}

static int64_t some_ms(uint64_t *seed, int64_t least_ms, int64_t most_ms)
{
    int64_t ms = least_ms + (int64_t)(aid_random(seed) % (uint64_t)(most_ms - least_ms + 1));

    return aid_random(seed) % 2 == 0     ? ms
           : ms / 1000 * 1000 < least_ms ? least_ms
                                         : ms / 1000 * 1000;
}

/* Degrees as read from text in Celsius or Fahrenheit, and now and then any double. */
static double some_c(uint64_t *seed)
{
    switch (aid_random(seed) % 4) {
    case 0:
        return (double)(aid_random(seed) % 300) / 10;
    case 1:
        return ((double)(500 + aid_random(seed) % 400) / 10 - 32.0) * 5.0 / 9.0;
    case 2:
        return NAN;
    default:
        return 10 + (double)(aid_random(seed) >> 11) * 0x1p-53 * 20;
    }
}

static void some_dilution(uint64_t *seed, struct ws_dilution *out)
{
    static const struct ws_dilution choice[] = {
        { { 0 }, 0 },
        { { 1 }, 1 },
        { { 1, 100 }, 2 },
        { { 0 }, 1 },
        { { 1, 1, 100 }, 3 },
        { { 1.5, 1, 200 }, 3 },
        { { 0.1, 0.25, 0.125, 33.333 }, 4 },
    };

    *out = choice[aid_random(seed) % (sizeof choice / sizeof choice[0])];
}

static void some_agitation(uint64_t *seed, struct ws_agitation *out)
{
    out->rhythm = (enum ws_rhythm)(aid_random(seed) % WS_SHUFFLE);
    out->first_ms = some_ms(seed, 0, 60000);
    out->every_ms = some_ms(seed, 30000, 90000);
    out->length_ms = some_ms(seed, 1000, 20000);
    out->inversions = (int)(aid_random(seed) % 9);
    out->tap = aid_random(seed) % 2;
    /* What the pattern makes no use of is not in a file. */
    if (out->rhythm != WS_CYCLES)
        out->every_ms = 0;
    if (out->rhythm == WS_CONTINUOUS ||
        (out->rhythm == WS_STAND && (out->first_ms == 0 || out->inversions == 0)))
        out->length_ms = 0;
    out->moments = out->rhythm == WS_AT_MOMENTS ? 1 + (int)(aid_random(seed) % WS_MOMENTS) : 0;
    for (int i = 0; i < out->moments; i++)
        out->moment_ms[i] = (i == 0 ? 0 : out->moment_ms[i - 1]) + some_ms(seed, 1000, 600000);
}

static void some_bath(uint64_t *seed, struct ws_bath *out)
{
    double c;

    ws_bath_default((enum ws_bath_kind)(aid_random(seed) % WS_BATH_KINDS), out);
    if (aid_random(seed) % 2)
        snprintf(out->name, sizeof out->name, "vessel \"%d\" \\ \xC3\xBC",
                 (int)(aid_random(seed) % 9));
    some_dilution(seed, &out->dilution);
    some_agitation(seed, &out->agitation);
    out->time_ms = some_ms(seed, 1000, 3600000);
    out->want_c = some_c(seed);
    out->tolerance_c = aid_random(seed) % 2 ? NAN : (double)(aid_random(seed) % 20) / 8 + 0.1;
    out->pour_in_ms = some_ms(seed, 0, 60000);
    out->drain_ms = some_ms(seed, 0, 60000);
    out->count_in_ms = some_ms(seed, 0, 30000);
    out->clock_from = (enum ws_clock_from)(aid_random(seed) % 2);
    out->drain = (enum ws_drain)(aid_random(seed) % 2);
    out->afterwards = (enum ws_afterwards)(aid_random(seed) % WS_AFTERWARDS);
    out->open_film = aid_random(seed) % 2;
    if ((out->open_film || out->kind == WS_BATH_FIXER) && out->kind != WS_BATH_PRESOAK &&
        out->kind != WS_BATH_DEVELOPER)
        out->light_ms = aid_random(seed) % 2 ? 0 : some_ms(seed, 1, out->time_ms);
    out->longest_ms = aid_random(seed) % 3 == 0   ? 0
                      : aid_random(seed) % 2 == 0 ? out->time_ms
                                                  : out->time_ms + some_ms(seed, 0, 60000);
    if (out->kind == WS_BATH_DEVELOPER) {
        out->points = 1 + (int)(aid_random(seed) % 5);
        for (int i = 0; i < out->points; i++) {
            do
                c = some_c(seed);
            while (isnan(c));
            out->point[i] = (struct ws_point){ c, some_ms(seed, 1000, 3600000), 0 };
            out->point[i].step_ms =
                some_ms(seed, 0, out->point[i].time_ms < 30000 ? out->point[i].time_ms : 30000);
        }
        out->ratio_per_10c = aid_random(seed) % 2 ? 0 : 1.5 + (double)(aid_random(seed) % 100) / 37;
        out->time_ms = out->longest_ms = 0;
    }
}

static bool same_double(double a, double b)
{
    return (isnan(a) && isnan(b)) || memcmp(&a, &b, sizeof a) == 0;
}

static void assert_same_agitation(const struct ws_agitation *a, const struct ws_agitation *b)
{
    assert_int_equal(a->rhythm, b->rhythm);
    assert_int_equal(a->first_ms, b->first_ms);
    assert_int_equal(a->every_ms, b->every_ms);
    assert_int_equal(a->length_ms, b->length_ms);
    assert_int_equal(a->inversions, b->inversions);
    assert_int_equal(a->tap, b->tap);
    assert_int_equal(a->moments, b->moments);
    for (int i = 0; i < a->moments; i++)
        assert_int_equal(a->moment_ms[i], b->moment_ms[i]);
}

static void assert_same_bath(const struct ws_bath *a, const struct ws_bath *b)
{
    assert_int_equal(a->kind, b->kind);
    assert_string_equal(a->name, b->name);
    assert_int_equal(a->dilution.parts, b->dilution.parts);
    for (int i = 0; i < a->dilution.parts; i++)
        assert_true(same_double(a->dilution.part[i], b->dilution.part[i]));
    assert_int_equal(a->parts, b->parts);
    assert_int_equal(a->afterwards, b->afterwards);
    assert_int_equal(a->time_ms, b->time_ms);
    assert_int_equal(a->pour_in_ms, b->pour_in_ms);
    assert_int_equal(a->drain_ms, b->drain_ms);
    assert_int_equal(a->count_in_ms, b->count_in_ms);
    assert_int_equal(a->longest_ms, b->longest_ms);
    assert_int_equal(a->clock_from, b->clock_from);
    assert_int_equal(a->drain, b->drain);
    assert_same_agitation(&a->agitation, &b->agitation);
    assert_true(same_double(a->start_c, b->start_c));
    assert_true(same_double(a->want_c, b->want_c));
    assert_true(same_double(a->tolerance_c, b->tolerance_c));
    assert_true(same_double(a->ratio_per_10c, b->ratio_per_10c));
    assert_int_equal(a->points, b->points);
    for (int i = 0; i < a->points; i++) {
        assert_true(same_double(a->point[i].c, b->point[i].c));
        assert_int_equal(a->point[i].time_ms, b->point[i].time_ms);
        assert_int_equal(a->point[i].step_ms, b->point[i].step_ms);
    }
    assert_int_equal(a->open_film, b->open_film);
    assert_int_equal(a->light_ms, b->light_ms);
    assert_int_equal(a->pieces, b->pieces);
    assert_int_equal(a->piece_every_ms, b->piece_every_ms);
}

/* Method: random processes from a fixed seed that pass the check are written, read and compared
 * field by field, doubles by their bits; then kept in a book and found there again. */
static void test_random_processes_come_back(void **state)
{
    static struct ws_process one, two, kept;
    struct ws_book *book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    uint64_t seed = 0x9E3779B97F4A7C15u;
    int done = 0;

    (void)state;
    for (int round = 0; round < 3000; round++) {
        bool agree = true;
        char *text;

        memset(&one, 0, sizeof one);
        snprintf(one.name, sizeof one.name, "process %d", round % 20);
        if (round % 2)
            snprintf(one.note, sizeof one.note, "line one\nline two\t\"%d\"", round);
        one.ei = round % 3 * 100;
        if (round % 5)
            ws_id_make(&one.id);
        one.baths = 1 + (int)(aid_random(&seed) % 5);
        for (int i = 0; i < one.baths; i++)
            some_bath(&seed, &one.bath[i]);
        for (int i = 0; i < one.baths; i++)
            agree = agree && ws_points_agree(one.bath[i].point, one.bath[i].points, NULL) == WS_OK;
        if (!agree || ws_process_check(&one, NULL) != WS_OK)
            continue;
        text = ws_process_to_json(&one);
        assert_non_null(text);
        aid_ok(ws_process_from_json(text, strlen(text), &two, aid_why()));
        assert_true(ws_id_equal(&one.id, &two.id));
        assert_string_equal(one.note, two.note);
        assert_int_equal(one.ei, two.ei);
        assert_int_equal(one.baths, two.baths);
        for (int i = 0; i < one.baths; i++)
            assert_same_bath(&one.bath[i], &two.bath[i]);
        free(text);
        if (done++ % 20 == 0) {
            aid_ok(ws_process_keep(book, &one, round, aid_why()));
            aid_ok(ws_process_find(book, one.name, &kept, aid_why()));
            assert_true(ws_id_equal(&one.id, &kept.id));
            assert_int_equal(one.baths, kept.baths);
            for (int i = 0; i < one.baths; i++)
                assert_same_bath(&one.bath[i], &kept.bath[i]);
        }
    }
    assert_true(done > 500);
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, aid_begin, aid_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_the_manuals_examples),
        TEST(test_the_manual_names_every_field),
        TEST(test_defaults),
        TEST(test_ways_of_writing),
        TEST(test_refusals),
        TEST(test_spoiled_files),
        TEST(test_it_is_written_for_people),
        TEST(test_random_processes_come_back),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
