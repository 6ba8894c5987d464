/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets in trays and film in a deep tank, on the command line. Method: process files of this
 * test's own, shown and played in this process; cues are read back as JSON. Moments expected are
 * the process's own by hand: from the first sheet into the pre-soak; a count of 5 s before the
 * developer; every sheet 10 s after the one before, in and out. */
#include "../aid.h"
#include "ran.h"

#include <stdbool.h>
#include <stdlib.h>

enum { SHEETS = 6 };

#define TRAY                                                                                       \
    "\"clock\": \"first liquid\", \"open_film\": true, \"pieces\": 6, \"piece_every\": \"0:10\","  \
    " \"agitation\": { \"pattern\": \"shuffle\", \"every\": \"0:05\" }"

/* The stop goes on by itself, as seconds count there; the others wait for the hand. */
static const char trays_text[] =
    "{ \"wetside\": \"process\", \"format\": 1, \"name\": \"Corvex in trays\", \"baths\": [\n"
    "    { \"kind\": \"presoak\", \"time\": \"2:00\", " TRAY " },\n"
    "    { \"kind\": \"developer\", \"time\": \"7:00\", \"temperature\": \"20C\", " TRAY " },\n"
    "    { \"kind\": \"stop\", \"time\": \"1:00\", \"may_run_long\": false, " TRAY " },\n"
    "    { \"kind\": \"fixer\", \"time\": \"5:00\", \"light_after\": \"2:00\", " TRAY " } ] }\n";

static const char deep_text[] =
    "{ \"wetside\": \"process\", \"format\": 1, \"name\": \"Osprey deep\", \"baths\": [\n"
    "    { \"kind\": \"developer\", \"time\": \"8:00\", \"temperature\": \"20C\",\n"
    "      \"open_film\": true, \"agitation\": { \"pattern\": \"cycles\", \"first\": \"0:30\",\n"
    "      \"every\": \"1:00\", \"length\": \"0:10\" } },\n"
    "    { \"kind\": \"stop\", \"time\": \"1:00\", \"open_film\": true },\n"
    "    { \"kind\": \"fixer\", \"time\": \"6:00\", \"open_film\": true, \"light_after\": \"2:00\" "
    "} ] "
    "}\n";

struct files {
    char *trays, *deep;
};

static int begin(void **state)
{
    static struct files files;

    files.trays = strdup(ran_write("trays.json", trays_text));
    files.deep = strdup(ran_write("deep.json", deep_text));
    *state = &files;
    return files.trays == NULL || files.deep == NULL ? -1 : 0;
}

static int end(void **state)
{
    struct files *files = *state;

    free(files->trays);
    free(files->deep);
    ran_folder_remove();
    return 0;
}

/* ---- the cues that were played */

static json_t *play(const char *process, const char *events_text)
{
    const char *events = ran_write("events.csv", events_text);
    struct ran said =
        ran("rehearse", "--process", process, "--events", events, "--tank", "A", "--json");
    json_t *list = json_array();

    if (said.status != 0)
        print_error("%s", said.err);
    assert_int_equal(said.status, 0);
    for (char *line = strtok(said.out, "\n"); line != NULL; line = strtok(NULL, "\n"))
        json_array_append_new(list, json_loads(line, 0, NULL));
    ran_free(&said);
    return list;
}

static bool is(const json_t *line, const char *bath, const char *cue)
{
    return strcmp(json_string_value(json_object_get(line, "bath")), bath) == 0 &&
           strcmp(json_string_value(json_object_get(line, "cue")), cue) == 0;
}

static int count(const json_t *list, const char *bath, const char *cue)
{
    int n = 0;

    for (size_t i = 0; i < json_array_size(list); i++)
        n += is(json_array_get(list, i), bath, cue);
    return n;
}

/* The nth such cue, 0 up; fails if there is none. */
static const json_t *nth(const json_t *list, const char *bath, const char *cue, int n)
{
    for (size_t i = 0; i < json_array_size(list); i++)
        if (is(json_array_get(list, i), bath, cue) && n-- == 0)
            return json_array_get(list, i);
    fail_msg("too few %s of %s", cue, bath);
    return NULL;
}

static double when(const json_t *list, const char *bath, const char *cue, int n)
{
    return json_number_value(json_object_get(nth(list, bath, cue, n), "t"));
}

static int member(const json_t *line, const char *name)
{
    return (int)json_integer_value(json_object_get(line, name));
}

/* Six sheets, in order and numbered, the first at `t`, the others 10 s apart. */
static void sheets_at(const json_t *list, const char *bath, const char *cue, double t)
{
    assert_int_equal(count(list, bath, cue), SHEETS);
    for (int k = 0; k < SHEETS; k++) {
        ws_assert_near(when(list, bath, cue, k), t + 10 * k, 1e-9);
        assert_int_equal(member(nth(list, bath, cue, k), "index"), k);
        assert_int_equal(member(nth(list, bath, cue, k), "of"), SHEETS);
    }
}

/* Ticks each 5 s in (after, before), every sixth a pass: `ticks` of them, passes included. */
static void ticks_between(const json_t *list, const char *bath, double after, double before,
                          int ticks)
{
    int n = 0;

    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *line = json_array_get(list, i);
        const bool pass = is(line, bath, "pass");

        if (!pass && !is(line, bath, "shuffle"))
            continue;
        n++;
        ws_assert_near(json_number_value(json_object_get(line, "t")), after + 5 * n, 1e-9);
        assert_int_equal(pass, n % SHEETS == 0);
        assert_int_equal(member(line, "index"), n);
    }
    assert_int_equal(n, ticks);
    assert_true(after + 5 * n < before);
    assert_true(after + 5 * (n + 1) >= before);
}

/* ---- trays */

/* Hands in time, lights out before the first sheet, on over the fixer, somebody away for a while.
 */
static void sheets_go_through_the_trays(void **state)
{
    const struct files *files = *state;
    json_t *list = play(files->trays, "t,event,value\n"
                                      "-0:20,lights_out,\n"
                                      "3:20,away,\n"
                                      "4:00,back,\n"
                                      "13:05,lights_on,\n");

    sheets_at(list, "pre-soak", "piece_in", 0);
    sheets_at(list, "pre-soak", "piece_out", 125);
    sheets_at(list, "developer", "piece_in", 125);
    sheets_at(list, "developer", "piece_out", 545);
    sheets_at(list, "stop", "piece_in", 545);
    sheets_at(list, "stop", "piece_out", 605);
    sheets_at(list, "fixer", "piece_in", 605);
    sheets_at(list, "fixer", "piece_out", 905);
    ticks_between(list, "pre-soak", 50, 120, 13);
    ticks_between(list, "developer", 125 + 50, 545, 73);
    ticks_between(list, "stop", 545 + 50, 605, 1);
    ticks_between(list, "fixer", 605 + 50, 905, 49);
    ws_assert_near(when(list, "developer", "ready_to_pour", 0), 530, 1e-9);
    ws_assert_near(when(list, "stop", "ready_to_pour", 0), 590, 1e-9);
    assert_int_equal(count(list, "developer", "ready_to_pour"), 1);
    /* No other agitation is asked for, and nothing is poured in. */
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *cue = json_string_value(json_object_get(json_array_get(list, i), "cue"));

        assert_string_not_equal(cue, "agitate");
        assert_string_not_equal(cue, "pour_in");
    }
    json_decref(list);
}

/* Hands by the file: out of the pre-soak they come ten seconds late, and press in vain in the
 * developer. The sheets stay in the pre-soak until the developer takes them in; in the developer
 * they have their seven minutes all the same. */
static void late_hands_move_all_sheets_alike(void **state)
{
    const struct files *files = *state;
    json_t *list = play(files->trays, "t,event,value\n"
                                      "2:05,hand,\n"
                                      "2:10,hand,\n"
                                      "4:00,hand,\n"
                                      "9:10,hand,\n");

    sheets_at(list, "pre-soak", "piece_in", 0);
    sheets_at(list, "pre-soak", "piece_out", 135);
    sheets_at(list, "developer", "piece_in", 135);
    sheets_at(list, "developer", "piece_out", 555);
    sheets_at(list, "stop", "piece_in", 555);
    ticks_between(list, "developer", 135 + 50, 555, 73);
    json_decref(list);
}

/* For people it says which sheet of how many. */
static void says_which_sheet(void **state)
{
    const struct files *files = *state;
    struct ran said = ran("rehearse", "--process", files->trays, "--tank", "A");

    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "0:50  A  pre-soak       piece in  6 of 6\n"));
    assert_non_null(strstr(said.out, "9:05  A  developer      piece out  1 of 6\n"));
    assert_non_null(strstr(said.out, "3:00  A  developer      shuffle\n"));
    assert_non_null(strstr(said.out, "3:25  A  developer      pass\n"));
    ran_free(&said);
}

/* What a process says of its trays is shown, kept, and comes out of the book as it went in. */
static void the_process_says_so(void **state)
{
    const struct files *files = *state;
    const char *book = ran_path("trays.db");
    struct ran said = ran("process", "show", files->trays), back;

    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "one sheet every 5 s\n"));
    assert_non_null(strstr(said.out, "    6 sheets, one every 10 s; film lies open: black\n"));
    assert_non_null(strstr(said.out, "black; light may go on 2:00 after the last is in\n"));
    ran_free(&said);
    said = ran("--book", book, "process", "import", files->trays, files->deep);
    assert_int_equal(said.status, 0);
    ran_free(&said);
    said = ran("--book", book, "process", "export", "Corvex in trays");
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "\"light_after\": \"2:00\""));
    back = ran("process", "show", ran_write("back.json", said.out), "--json");
    assert_string_equal(back.out, said.out);
    ran_free(&back);
    ran_free(&said);
}

/* ---- a deep tank */

/* Film in one piece: it is agitated and poured as in a closed tank, open from the first bath to the
 * light; no sheet is called. */
static void a_deep_tank_has_no_sheets(void **state)
{
    const struct files *files = *state;
    json_t *list = play(files->deep, "t,event,value\n-0:30,lights_out,\n12:00,lights_on,\n");
    struct ran said = ran("process", "show", files->deep);

    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *cue = json_string_value(json_object_get(json_array_get(list, i), "cue"));

        assert_string_not_equal(cue, "piece_in");
        assert_string_not_equal(cue, "piece_out");
        assert_string_not_equal(cue, "shuffle");
        assert_string_not_equal(cue, "pass");
    }
    assert_int_equal(count(list, "developer", "agitate"), 8);
    ws_assert_near(when(list, "developer", "pour_out", 0), 470, 1e-9);
    assert_int_equal(count(list, "fixer", "done"), 1);
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "    film lies open: black; light may go on after 2:00\n"));
    ran_free(&said);
    json_decref(list);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sheets_go_through_the_trays),
        cmocka_unit_test(late_hands_move_all_sheets_alike),
        cmocka_unit_test(says_which_sheet),
        cmocka_unit_test(the_process_says_so),
        cmocka_unit_test(a_deep_tank_has_no_sheets),
    };

    return cmocka_run_group_tests(tests, begin, end);
}
