/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all verbs have in common: help, version, options before and after the verb, wrong usage,
 * and an output that can't be written. Method: calls the command line in this process. */
#include "../aid.h"
#include "ran.h"

#include <stdlib.h>
#include <unistd.h>

#include "wetside/command/call.h"
#include "wetside/port/alsa.h"
#include "wetside/port/speech.h"

static void every_verb_helps_itself(void **state)
{
    (void)state;
    for (const struct ws_verb *verb = ws_verbs; verb->name != NULL; verb++) {
        struct ran after = ran(verb->name, "--help"), before = ran("help", verb->name);

        assert_int_equal(after.status, 0);
        assert_string_equal(after.err, "");
        assert_string_equal(after.out, verb->help);
        assert_string_equal(before.out, verb->help);
        assert_non_null(strstr(after.out, "usage: wetside "));
        assert_non_null(strstr(after.out, "example: wetside "));
        for (const char *line = after.out; line != NULL && *line != '\0';) {
            const char *end = strchr(line, '\n');

            assert_non_null(end);
            assert_true(end - line <= 92);
            line = end + 1;
        }
        ran_free(&after);
        ran_free(&before);
    }
}

static void lists_the_verbs(void **state)
{
    struct ran said = ran("help"), same = ran("--help");
    json_t *list = ran_json("help", "--json");
    size_t verbs = 0;
    (void)state;
    assert_string_equal(said.out, same.out);
    for (const struct ws_verb *verb = ws_verbs; verb->name != NULL; verb++, verbs++)
        assert_non_null(strstr(said.out, verb->name));
    assert_int_equal(json_array_size(list), verbs);
    json_decref(list);
    ran_free(&said);
    ran_free(&same);
}

static void says_its_version(void **state)
{
    struct ran said = ran("--version"), after = ran("time", "--version");
    (void)state;
    assert_int_equal(said.status, 0);
    assert_int_equal(
        strncmp(said.out, "wetside " WS_VERSION "\n", strlen("wetside " WS_VERSION "\n")), 0);
    assert_non_null(strstr(said.out, ws_alsa_built()
                                         ? "\nsound: ALSA, loaded when needed\n"
                                         : "\nsound: built without, the terminal bell"));
    assert_non_null(strstr(said.out, ws_speech_built() ? "\nspeech: espeak-ng, loaded when needed\n"
                                                       : "\nspeech: built without, tones only\n"));
    assert_string_equal(after.out, said.out);
    ran_free(&said);
    ran_free(&after);
}

static void common_options_stand_on_either_side(void **state)
{
    const char *book = ran_path("none.db");
    (void)state;
    ran_refused(1, WORDS("--book", book, "rolls"), "none.db", "no book yet");
    ran_refused(1, WORDS("rolls", "--book", book), "none.db", "no book yet");
    ran_refused(1, WORDS("--json", "rolls", "--book", book), "none.db");
    assert_int_equal(access(book, F_OK), -1);
    ran_folder_remove();
}

static void wrong_usage_is_one_line(void **state)
{
    (void)state;
    ran_refused(2, WORDS("develop"), "develop", "wetside help");
    ran_refused(2, WORDS("help", "develop"), "develop", "wetside help");
    ran_refused(2, WORDS("--colour"), "--colour", "wetside --help");
    ran_refused(2, WORDS("-x", "rolls"), "-x");
    ran_refused(2, WORDS("rolls", "-x"), "-x", "wetside rolls --help");
    ran_refused(2, WORDS("--book"), "--book", "needs a value");
    ran_refused(2, WORDS("--json=3", "rolls"), "--json", "no value");
    ran_refused(2, WORDS("process", "burn"), "burn", "import");
    ran_refused(2, WORDS("roll"), "number");
    ran_refused(2, WORDS("batch"), "number");
    ran_refused(2, WORDS("rehearse"), "--process");
    ran_refused(2, WORDS("console", "--json"), "--json");
    /* A word with an escape in it is shown, not sent. */
    ran_refused(2, WORDS(""), "'' is no verb");
    ran_refused(2, WORDS("\033[2J"), "[2J is no verb");
}

/* A value that the option takes. */
static const char *value_of(const char *option)
{
    static const struct {
        const char *option, *value;
    } value[] = { { "--at", "20C" },     { "--unit", "C" },
                  { "--colon", "plus" }, { "--use", "fixer" },
                  { "--kind", "stock" }, { "--made", "2026-03-14" },
                  { "--format", "120" }, { "--exposed", "2026-03-14" } };

    for (size_t i = 0; i < sizeof value / sizeof value[0]; i++)
        if (strcmp(value[i].option, option) == 0)
            return value[i].value;
    return "2";
}

/* Of two values one would be dropped in silence; a flag says the same twice. Method: every option
 * with a value that the help of a verb names, given to it twice; then the ones beside the rule. */
static void an_option_is_given_once(void **state)
{
    (void)state;
    for (const struct ws_verb *verb = ws_verbs; verb->name != NULL; verb++) {
        const char *at = verb->help;

        while ((at = strstr(at, "\n  --")) != NULL) {
            char option[24] = "";

            at += 3;
            assert_int_equal(sscanf(at, "%23s", option), 1);
            /* What takes a value has its letter there in capitals. */
            if (strcmp(option, "--colon") != 0 &&
                (at[strlen(option) + 1] < 'A' || at[strlen(option) + 1] > 'Z'))
                continue;
            if (strcmp(option, "--point") == 0)
                continue;
            ran_refused(2, WORDS(verb->name, option, value_of(option), option, value_of(option)),
                        option, "twice");
        }
    }
    ran_refused(2, WORDS("rolls", "--book", "a.db", "--book", "a.db"), "--book", "twice");
    ran_refused(2, WORDS("--book", "a.db", "rolls", "--book", "b.db"), "--book", "twice");
    ran_refused(2, WORDS("--book", "a.db", "--book=b.db", "rolls"), "--book", "twice");
    /* A beginning of its name is the option too. */
    ran_refused(2, WORDS("time", "--process", "a", "--proc", "b", "--at", "20C"), "--process",
                "twice");
    ran_refused(1, WORDS("--json", "rolls", "--json", "--book", ran_path("none.db")), "no book");
    ran_folder_remove();
}

/* Each verb, on a device that is full. What was kept all the same is named, and is in the book. */
static void an_output_that_cant_be_written_fails(void **state)
{
    const char
        *book = ran_path("full.db"),
        *file = ran_write(
            "wash.json",
            "{\"wetside\": \"process\", \"format\": 1, \"name\": \"W\", \"baths\": [{\"kind\": "
            "\"wash\", \"time\": \"1:00\"}]}");
    const struct {
        const char *word[12], *kept;
    } row[] = {
        { { "help" }, NULL },
        { { "--version" }, NULL },
        { { "time", "--help" }, NULL },
        { { "time", "--point", "20C=6", "--at", "20C" }, NULL },
        { { "time", "--point", "20C=6", "--at", "20C", "--json" }, NULL },
        { { "dilute", "1+4", "--fill", "500" }, NULL },
        { { "rehearse", "--process", file }, NULL },
        { { "demo", "--plain" }, NULL },
        { { "roll", "add", "2026-0143", "--film", "Tarn 125" }, "roll 2026-0143" },
        { { "roll", "add", "2026-0144", "--film", "Tarn 125", "--json" }, "roll 2026-0144" },
        { { "rolls", "--waiting" }, NULL },
        { { "roll", "2026-0143" }, NULL },
        { { "batch", "add", "MQB-014", "--what", "MQB" }, "batch MQB-014" },
        { { "batch", "take-stock", "MQB-014", "600", "--reason", "measured" },
          "the stock-take of batch MQB-014" },
        { { "batches", "--json" }, NULL },
        { { "batch", "MQB-014" }, NULL },
        { { "process", "import", file }, "process W" },
        { { "process", "list" }, NULL },
        { { "process", "export", "W" }, NULL },
    };
    json_t *answer;
    (void)state;
    if (access("/dev/full", W_OK) != 0)
        skip();
    setenv("WETSIDE_BOOK", book, 1);
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        struct ran ran = { .out = NULL };
        FILE *full = fopen("/dev/full", "w");
        const char *kept;

        assert_non_null(full);
        ran_to(&ran, full, row[i].word);
        fclose(full);
        kept = strstr(ran.err, "kept");
        if (ran.status != 1 || strstr(ran.err, "the output can't be written") == NULL)
            fail_msg("%s: %d %s", row[i].word[0], ran.status, ran.err);
        assert_ptr_equal(strchr(ran.err, '\n'), ran.err + strlen(ran.err) - 1);
        assert_int_equal(kept != NULL, row[i].kept != NULL);
        if (row[i].kept != NULL && strstr(kept, row[i].kept) == NULL)
            fail_msg("no '%s' in: %s", row[i].kept, ran.err);
        ran_free(&ran);
    }
    answer = ran_json("rolls", "--waiting", "--json");
    assert_int_equal(json_array_size(answer), 2);
    json_decref(answer);
    answer = ran_json("batch", "MQB-014", "--json");
    assert_int_equal(json_integer_value(json_object_get(answer, "left_ml")), 600);
    json_decref(answer);
    unsetenv("WETSIDE_BOOK");
    ran_folder_remove();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_verb_helps_itself),
        cmocka_unit_test(lists_the_verbs),
        cmocka_unit_test(says_its_version),
        cmocka_unit_test(common_options_stand_on_either_side),
        cmocka_unit_test(wrong_usage_is_one_line),
        cmocka_unit_test(an_option_is_given_once),
        cmocka_unit_test(an_output_that_cant_be_written_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
