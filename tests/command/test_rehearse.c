/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verb `rehearse`. Method: a process file of this test's own, at 9:30 with agitation each full
 * minute, played by the command line in this process; its lines are read back as JSON. Moments
 * expected are the process's own convention by hand: clock from the full tank, drain of 10 s inside
 * the time, get-ready 15 s before the pour. */
#include "../aid.h"
#include "ran.h"

#include <stdbool.h>
#include <stdlib.h>

#include "wetside/book/book.h"

static const char process_text[] =
    "{ \"wetside\": \"process\", \"format\": 1, \"name\": \"Tarn evening\",\n"
    "  \"film\": \"Tarn 125\",\n"
    "  \"baths\": [\n"
    "    { \"kind\": \"developer\", \"dilution\": \"1+1\",\n"
    "      \"points\": [ { \"at\": \"20C\", \"time\": \"9:30\" },\n"
    "                    { \"at\": \"24C\", \"time\": \"7:00\" } ],\n"
    "      \"agitation\": { \"pattern\": \"cycles\", \"first\": \"0:30\", \"every\": \"1:00\",\n"
    "                       \"length\": \"0:10\" } },\n"
    "    { \"kind\": \"stop\", \"time\": \"0:30\" },\n"
    "    { \"kind\": \"fixer\", \"time\": \"5:00\" } ] }\n";

static int begin(void **state)
{
    *state = strdup(ran_write("tarn.json", process_text));
    return 0;
}

static int end(void **state)
{
    free(*state);
    ran_folder_remove();
    return 0;
}

/* The lines of the output as an array. */
static json_t *lines_of(const char *const *word)
{
    struct ran said = ran_words(word);
    json_t *list = json_array();

    if (said.status != 0)
        print_error("%s", said.err);
    assert_int_equal(said.status, 0);
    assert_string_equal(said.err, "");
    for (char *line = strtok(said.out, "\n"); line != NULL; line = strtok(NULL, "\n")) {
        json_t *object = json_loads(line, 0, NULL);

        assert_true(json_is_object(object));
        assert_true(json_is_number(json_object_get(object, "t")));
        assert_non_null(json_object_get(object, "tank"));
        assert_true(json_is_string(json_object_get(object, "bath")));
        assert_true(json_is_string(json_object_get(object, "cue")));
        json_array_append_new(list, object);
    }
    ran_free(&said);
    return list;
}

static bool is(const json_t *line, const char *bath, const char *cue)
{
    return strcmp(json_string_value(json_object_get(line, "bath")), bath) == 0 &&
           strcmp(json_string_value(json_object_get(line, "cue")), cue) == 0;
}

static double t_of(const json_t *line)
{
    return json_number_value(json_object_get(line, "t"));
}

/* The moment of the first such cue; fails if there is none. */
static double when(const json_t *list, const char *bath, const char *cue)
{
    const json_t *line;
    size_t i;

    json_array_foreach((json_t *)list, i, line)
    {
        if (is(line, bath, cue))
            return t_of(line);
    }
    print_error("no %s of %s\n", cue, bath);
    assert_true(false);
    return 0;
}

/* Agitations of the developer: how many, how many confirmed, and the moments of the others. */
static int agitations(const json_t *list, int *confirmed, double missed[8], int *misses)
{
    const json_t *line;
    size_t i;
    int count = 0;

    *confirmed = *misses = 0;
    json_array_foreach((json_t *)list, i, line)
    {
        const json_t *is_confirmed = json_object_get(line, "confirmed");

        if (!is(line, "developer", "agitate"))
            continue;
        assert_true(json_is_boolean(is_confirmed));
        count++;
        if (json_is_true(is_confirmed))
            (*confirmed)++;
        else if (*misses < 8)
            missed[(*misses)++] = t_of(line);
    }
    return count;
}

static void hands_in_time(void **state)
{
    json_t *list = lines_of(WORDS("rehearse", "--process", *state, "--json"));
    const json_t *line, *last = json_array_get(list, json_array_size(list) - 1);
    double missed[8], t = -1e9;
    int confirmed, misses;
    size_t i;

    json_array_foreach(list, i, line)
    {
        assert_true(t_of(line) >= t);
        t = t_of(line);
    }
    assert_int_equal(agitations(list, &confirmed, missed, &misses), 10);
    assert_int_equal(confirmed, 10);
    ws_assert_near(when(list, "developer", "agitate"), 0, 0);
    ws_assert_near(when(list, "developer", "ready_to_pour"), 545, 0);
    ws_assert_near(when(list, "developer", "pour_out"), 560, 0);
    assert_true(when(list, "developer", "pour_in") < 0);
    assert_string_equal(json_string_value(json_object_get(last, "cue")), "done");
    assert_string_equal(json_string_value(json_object_get(last, "bath")), "fixer");
    json_decref(list);
}

static void a_warmer_developer_is_shorter(void **state)
{
    json_t *list = lines_of(
        WORDS("rehearse", "--process", *state, "--at", "24C", "--tank", "tank A", "--json"));

    ws_assert_near(when(list, "developer", "pour_out"), 410, 0);
    assert_string_equal(json_string_value(json_object_get(json_array_get(list, 0), "tank")),
                        "tank A");
    json_decref(list);
    list = lines_of(WORDS("rehearse", "--process", *state, "--at", "68", "--unit", "F", "--json"));
    ws_assert_near(when(list, "developer", "pour_out"), 560, 0);
    json_decref(list);
}

/* Away from 4:10 to 6:20: the cycles at 5:00 and 6:00 are not confirmed, the end stays. */
static void the_doorbell(void **state)
{
    const char *events = ran_write("bell.csv", "t,event,value\n4:10,away,\n6:20,back,\n");
    json_t *list = lines_of(WORDS("rehearse", "--process", *state, "--events", events, "--json"));
    double missed[8];
    int confirmed, misses;

    assert_int_equal(agitations(list, &confirmed, missed, &misses), 10);
    assert_int_equal(misses, 2);
    ws_assert_near(missed[0], 300, 0);
    ws_assert_near(missed[1], 360, 0);
    ws_assert_near(when(list, "developer", "pour_out"), 560, 0);
    json_decref(list);
}

static void speaks_to_people(void **state)
{
    struct ran said = ran("rehearse", "--process", *state);

    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "9:20  developer      pour out"));
    assert_non_null(strstr(said.out, "0:00  developer      agitate  until 0:30"));
    ran_free(&said);
    said = ran("rehearse", "--process", *state, "--tank", "tank A");
    assert_non_null(strstr(said.out, "9:20  tank A  developer      pour out"));
    ran_free(&said);
}

/* Agitation that goes on throughout asks for no press, so none is missing. */
static void nothing_is_missed_of_what_is_not_asked(void **state)
{
    const char *process = ran_write(
        "throughout.json",
        "{ \"wetside\": \"process\", \"format\": 1, \"name\": \"Tarn\", \"film\": \"Tarn 125\",\n"
        "  \"baths\": [\n"
        "    { \"kind\": \"developer\", \"time\": \"9:30\", \"temperature\": \"20C\" },\n"
        "    { \"kind\": \"stop\", \"time\": \"0:40\",\n"
        "      \"agitation\": { \"pattern\": \"continuous\" } } ] }\n");
    struct ran said = ran("rehearse", "--process", process);
    json_t *list = lines_of(WORDS("rehearse", "--process", process, "--json")), *line;
    size_t i;
    (void)state;
    assert_non_null(strstr(said.out, "stop           agitate  until "));
    assert_null(strstr(said.out, "not confirmed"));
    json_array_foreach(list, i, line)
    {
        if (is(line, "stop", "agitate"))
            assert_true(json_is_null(json_object_get(line, "confirmed")));
    }
    json_decref(list);
    ran_free(&said);
}

/* The same words give the same bytes: nothing of the day or the machine is in them. */
static void is_the_same_each_time(void **state)
{
    struct ran one = ran("rehearse", "--process", *state, "--json");
    struct ran two = ran("rehearse", "--process", *state, "--json");

    assert_string_equal(one.out, two.out);
    ran_free(&one);
    ran_free(&two);
}

static void refuses_with_one_line(void **state)
{
    const char *unknown = ran_write("unknown.csv", "t,event,value\n4:10,sneeze,\n");
    const char *broken = ran_write("broken.csv", "t,event,value\nsoon,away,\n");
    const char *nowhere = ran_path("nowhere.csv");

    ran_refused(2, WORDS("rehearse", "--process", *state, "--at", "200C"), "--at");
    ran_refused(2, WORDS("rehearse", "--process", *state, "--fill", "0"), "--fill");
    ran_refused(2, WORDS("rehearse", "--process", *state, "--tank", ""), "--tank", "such as A");
    ran_refused(2, WORDS("rehearse", "--process", *state, "--tank", "\x1b[2J"), "--tank",
                "control");
    ran_refused(2, WORDS("rehearse", "--process", *state, "--tank", "\xff"), "--tank", "UTF-8");
    ran_refused(2, WORDS("rehearse", "--process", *state, "--events", unknown), "unknown.csv",
                "sneeze");
    ran_refused(2, WORDS("rehearse", "--process", *state, "--events", broken), "broken.csv",
                "soon");
    ran_refused(1, WORDS("rehearse", "--process", *state, "--events", nowhere), "nowhere.csv");
}

static const char *book_with(const char *name, const char *count_in, const char *get_ready)
{
    struct ws_book *book = NULL;
    const char *path = ran_path(name);

    assert_int_equal(ws_book_open(path, WS_BOOK_WRITE, &book, NULL), WS_OK);
    assert_int_equal(ws_setting_set(book, "count_in", count_in, NULL), WS_OK);
    assert_int_equal(ws_setting_set(book, "get_ready", get_ready, NULL), WS_OK);
    ws_book_close(book);
    return path;
}

/* Method: a book set to a count-in of 9 s and get-ready 40 s before the pour, another set to what
 * is neither, and none: the cues come as at the sink with that book. The clock starts 15 s after
 * first liquid, the developer is poured out at 9:20. */
static void as_the_book_is_set(void **state)
{
    static const struct {
        const char *name, *count_in, *get_ready;
        double in, ready;
    } row[] = {
        { "set.db", "9", "40", -24, 520 },
        { "odd.db", "soon", "-3", -20, 545 },
        { NULL, NULL, NULL, -20, 545 },
    };

    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        char book[256];
        json_t *list;

        snprintf(book, sizeof book, "%s",
                 row[i].name != NULL ? book_with(row[i].name, row[i].count_in, row[i].get_ready)
                                     : ran_path("none.db"));
        list = lines_of(WORDS("rehearse", "--process", *state, "--json", "--book", book));
        ws_assert_near(when(list, "developer", "get_ready"), row[i].in, 1e-9);
        ws_assert_near(when(list, "developer", "ready_to_pour"), row[i].ready, 1e-9);
        json_decref(list);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hands_in_time),
        cmocka_unit_test(a_warmer_developer_is_shorter),
        cmocka_unit_test(the_doorbell),
        cmocka_unit_test(speaks_to_people),
        cmocka_unit_test(nothing_is_missed_of_what_is_not_asked),
        cmocka_unit_test(as_the_book_is_set),
        cmocka_unit_test(is_the_same_each_time),
        cmocka_unit_test(refuses_with_one_line),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
