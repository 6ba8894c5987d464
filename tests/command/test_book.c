/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verbs rolls, roll, batches and batch. Method: calls the command line in this process on books
 * in a folder of its own: what one call keeps, another must show. Developed rolls come from the
 * demo book, whose numbers are read from it, not assumed. */
#include "../aid.h"
#include "ran.h"

#include <stdlib.h>

#include "wetside/book/demo.h"
#include "wetside/drive/choice.h"

static int begin(void **state)
{
    const char *path = ran_path("demo.db");
    struct ws_book *book = NULL;
    struct ws_message why = { "" };

    if (ws_book_open(path, WS_BOOK_WRITE, &book, &why) != WS_OK ||
        ws_demo_fill(book, INT64_C(1773500000000), &why) != WS_OK) {
        print_error("%s\n", why.text);
        return 1;
    }
    ws_book_close(book);
    *state = strdup(path);
    return 0;
}

static int end(void **state)
{
    free(*state);
    ran_folder_remove();
    return 0;
}

static const char *text_of(const json_t *object, const char *key)
{
    const char *text = json_string_value(json_object_get(object, key));

    if (text == NULL)
        print_error("%s is no text\n", key);
    assert_non_null(text);
    return text;
}

static double number_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);

    if (!json_is_number(value))
        print_error("%s is no number\n", key);
    assert_true(json_is_number(value));
    return json_number_value(value);
}

static void keeps_a_roll(void **state)
{
    const char *book = ran_path("rolls.db");
    json_t *answer = ran_json("--book", book, "roll", "add", "2026-0143", "--film", "Tarn 125",
                              "--ei", "125", "--subject", "harbour, fog", "--json");
    struct ran said;
    (void)state;
    assert_string_equal(text_of(answer, "number"), "2026-0143");
    json_decref(answer);
    /* Without a number: the one that follows. A double is said, not refused. */
    said = ran("--book", book, "roll", "add", "--film", "Halden 400", "--format", "120");
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "2026-0144"));
    ran_free(&said);
    said = ran("--book", book, "roll", "add", "2026-0144", "--film", "Halden 400");
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "2 rolls bear this number"));
    ran_free(&said);
    answer = ran_json("--book", book, "rolls", "--waiting", "--json");
    assert_int_equal(json_array_size(answer), 3);
    assert_true(json_is_null(json_object_get(json_array_get(answer, 0), "developed")));
    json_decref(answer);
    answer = ran_json("--book", book, "roll", "2026-0143", "--json");
    assert_string_equal(text_of(answer, "film"), "Tarn 125");
    assert_string_equal(text_of(answer, "subject"), "harbour, fog");
    ws_assert_near(number_of(answer, "ei"), 125, 0);
    assert_true(json_is_null(json_object_get(answer, "run")));
    json_decref(answer);
    said = ran("--book", book, "roll", "2026-0143");
    assert_non_null(strstr(said.out, "not developed yet"));
    ran_free(&said);
    /* A number that is near is named, one that is far is not. */
    ran_refused(1, WORDS("--book", book, "roll", "2026-0999"), "2026-0999", "the nearest");
    ran_refused(1, WORDS("--book", book, "roll", "7"),
                "no roll \"7\" in the book, and none like it");
    ran_refused(1, WORDS("--book", book, "roll", "2026-0143", "--run", "2"), "2026-0143",
                "no run 2");
    ran_refused(1, WORDS("--book", book, "roll", "2026-0143", "--run", "1", "--json"), "no run 1");
}

static void refuses_a_bad_roll(void **state)
{
    const char *book = ran_path("none.db");
    (void)state;
    ran_refused(2, WORDS("--book", book, "roll", "add", "1"), "--film");
    ran_refused(2, WORDS("--book", book, "roll", "add", "1", "--film", "T", "--format", "126"),
                "--format", "135-36");
    ran_refused(2, WORDS("--book", book, "roll", "add", "1", "--film", "T", "--ei", "-1"), "--ei");
    ran_refused(2, WORDS("--book", book, "roll", "add", "1", "--film", "T", "--exposed", "1.4.26"),
                "--exposed", "2026-03-14");
    ran_refused(2,
                WORDS("--book", book, "roll", "add", "1", "--film", "T", "--exposed", "2026-02-29"),
                "--exposed", "calendar");
    ran_refused(2, WORDS("--book", book, "roll", "verdict", "1", "nice"), "nice", "good");
    /* Nothing of this has begun a book. */
    ran_refused(1, WORDS("--book", book, "rolls"), "no book yet");
}

static void keeps_a_batch_to_the_millilitre(void **state)
{
    const char *book = ran_path("batches.db");
    json_t *answer =
        ran_json("--book", book, "batch", "add", "MQB-014", "--what", "MQ borax", "--volume", "1l",
                 "--made", "2026-03-01", "--least", "100", "--colon", "in", "--json");
    (void)state;
    ws_assert_near(number_of(answer, "left_ml"), 1000, 0);
    assert_string_equal(text_of(answer, "colon"), "in");
    assert_string_equal(text_of(answer, "use"), "developer");
    json_decref(answer);
    ran_refused(1, WORDS("--book", book, "batch", "add", "MQB-014", "--what", "again"), "MQB-014");
    answer = ran_json("--book", book, "batch", "take-stock", "MQB-014", "740", "--reason",
                      "measured", "--json");
    ws_assert_near(number_of(answer, "left_ml"), 740, 0);
    json_decref(answer);
    answer = ran_json("--book", book, "batch", "MQB-014", "--json");
    assert_int_equal(json_array_size(json_object_get(answer, "ledger")), 2);
    assert_int_equal(json_array_size(json_object_get(answer, "rolls")), 0);
    json_decref(answer);
    /* A volume that is not known stays so. */
    answer = ran_json("--book", book, "batch", "add", "F-009", "--what", "fixer", "--use", "fixer",
                      "--kind", "working", "--json");
    assert_true(json_is_null(json_object_get(answer, "left_ml")));
    json_decref(answer);
    answer = ran_json("--book", book, "batches", "--use", "fixer", "--json");
    assert_int_equal(json_array_size(answer), 1);
    json_decref(answer);
    answer = ran_json("--book", book, "batches", "--json");
    assert_int_equal(json_array_size(answer), 2);
    json_decref(answer);
}

static void refuses_a_bad_batch(void **state)
{
    const char *book = ran_path("none.db");
    (void)state;
    ran_refused(2, WORDS("--book", book, "batch", "add", "--what", "x"), "number");
    ran_refused(2, WORDS("--book", book, "batch", "add", "X"), "--what");
    ran_refused(2, WORDS("--book", book, "batch", "add", "X", "--what", "x", "--volume", "-1"),
                "--volume");
    ran_refused(2, WORDS("--book", book, "batch", "add", "X", "--what", "x", "--use", "soup"),
                "--use", "soup", "developer");
    ran_refused(2, WORDS("--book", book, "batch", "take-stock", "X", "5"), "--reason");
    ran_refused(2, WORDS("--book", book, "batch", "take-stock", "X"), "take-stock");
    ran_refused(1, WORDS("--book", book, "batches"), "no book yet");
}

/* Every developed roll of the demo has a page that says with what it was developed, and each batch
 * named there knows the roll. */
static void pages_of_the_demo_agree(void **state)
{
    const char *book = *state;
    json_t *list = ran_json("--book", book, "rolls", "--json");
    int developed = 0;
    size_t i;
    json_t *line;

    assert_true(json_array_size(list) > 0);
    json_array_foreach(list, i, line)
    {
        const char *number = text_of(line, "number"), *batch;
        json_t *page, *run, *bath, *batch_page, *roll;
        bool found = false;
        size_t k;

        if (json_is_null(json_object_get(line, "developed")))
            continue;
        developed++;
        ran_refused(1, WORDS("--book", book, "roll", number, "--run", "2"), number, "no run 2");
        page = ran_json("--book", book, "roll", number, "--run", "1", "--json");
        run = json_object_get(page, "run");
        assert_true(json_is_object(run));
        assert_true(json_array_size(json_object_get(run, "baths")) >= 3);
        json_array_foreach(json_object_get(run, "baths"), k, bath)
        {
            assert_true(number_of(bath, "planned_seconds") > 0);
            assert_true(number_of(bath, "actual_seconds") > 0);
            assert_true(number_of(bath, "cycles_asked") >= number_of(bath, "cycles_confirmed"));
        }
        if (json_is_string(json_object_get(line, "batch"))) {
            batch = text_of(line, "batch");
            batch_page = ran_json("--book", book, "batch", batch, "--json");
            json_array_foreach(json_object_get(batch_page, "rolls"), k, roll) found =
                found || strcmp(text_of(roll, "number"), number) == 0;
            assert_true(found);
            assert_true(json_array_size(json_object_get(batch_page, "ledger")) > 0);
            json_decref(batch_page);
        }
        json_decref(page);
    }
    assert_true(developed > 0);
    json_decref(list);
}

/* Repeats the latest run of the book for a minute longer; gives the number of its first roll. */
static void repeat_longer(const char *path, char number[WS_NUMBER])
{
    struct ws_choice *choice = calloc(1, sizeof *choice);
    struct ws_setup *setup = calloc(1, sizeof *setup);
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_stamp stamp = { .boot.byte = { 1 }, .wall_ns = INT64_C(1773500000000) * 1000000 };
    struct ws_book *book = NULL;
    struct ws_message why = { "" };
    struct ws_run_line run;
    int64_t row;
    int n;

    assert_int_equal(ws_book_open(path, WS_BOOK_WRITE, &book, &why), WS_OK);
    assert_int_equal(ws_run_list(book, true, 0, &run, 1, &n), WS_OK);
    assert_int_equal(ws_choice_repeat(book, run.row, choice, &why), WS_OK);
    memset(choice->bottle, 0, sizeof choice->bottle); /* its bottles may hold too little by now */
    assert_int_equal(ws_choice_plan(choice, 1, setup, plan, NULL, &why), WS_OK);
    n = ws_choice_developer(choice);
    assert_int_equal(ws_choice_set_time(choice, plan->bath[n].time_ms + 60000, &why), WS_OK);
    assert_int_equal(ws_choice_keep(book, choice, 1, &why), WS_OK);
    assert_int_equal(ws_choice_plan(choice, 1, setup, plan, NULL, &why), WS_OK);
    assert_int_equal(ws_run_keep(book, plan, &stamp, &row, &why), WS_OK);
    ws_text_copy(number, WS_NUMBER, choice->roll[0].number);
    ws_book_close(book);
    free(plan);
    free(setup);
    free(choice);
}

/* A repeated run names the one it repeats and what was changed, in text and for scripts; another
 * one has nothing there. */
static void a_repeated_run_says_what_was_changed(void **state)
{
    const char *book = *state;
    json_t *list = ran_json("--book", book, "rolls", "--limit", "1", "--json"), *page, *again;
    char was[WS_NUMBER], number[WS_NUMBER];
    bool time = false;
    struct ran said;
    size_t i;
    json_t *line;

    snprintf(was, sizeof was, "%s", text_of(json_array_get(list, 0), "number"));
    json_decref(list);
    page = ran_json("--book", book, "roll", was, "--json");
    assert_true(json_is_null(json_object_get(json_object_get(page, "run"), "repeats")));
    json_decref(page);
    repeat_longer(book, number);
    page = ran_json("--book", book, "roll", number, "--json");
    again = json_object_get(json_object_get(page, "run"), "repeats");
    assert_non_null(strstr(text_of(again, "rolls"), was));
    json_array_foreach(json_object_get(again, "changed"), i, line)
    {
        time = time || strstr(json_string_value(line), "time ") != NULL;
    }
    assert_true(time);
    json_decref(page);
    said = ran("--book", book, "roll", number);
    assert_non_null(strstr(said.out, "repeats the run of "));
    assert_non_null(strstr(said.out, "  changed: "));
    ran_free(&said);
}

static void finds_and_judges(void **state)
{
    const char *book = *state;
    json_t *list = ran_json("--book", book, "rolls", "--limit", "1", "--json"), *page, *found;
    char number[64];

    assert_int_equal(json_array_size(list), 1);
    snprintf(number, sizeof number, "%s", text_of(json_array_get(list, 0), "number"));
    json_decref(list);
    page = ran_json("--book", book, "roll", "verdict", number, "uneven", "--remark", "zygomorphic",
                    "--json");
    json_decref(page);
    found = ran_json("--book", book, "rolls", "zygo", "--json");
    assert_int_equal(json_array_size(found), 1);
    assert_string_equal(text_of(json_array_get(found, 0), "number"), number);
    assert_string_equal(text_of(json_array_get(found, 0), "verdict"), "uneven");
    json_decref(found);
    found = ran_json("--book", book, "rolls", "no", "such", "words", "--json");
    assert_int_equal(json_array_size(found), 0);
    json_decref(found);
}

/* What is to be typed again stands whole in the lists, however long it is, and the columns after it
 * stay in line. */
static void lists_cut_no_name(void **state)
{
    const char *book = ran_path("long.db");
    const char *name = "MQB liquid, the second tin of March", *number = "2026-harbour-at-dawn-0143";
    struct ran said;
    (void)state;
    said = ran("--book", book, "batch", "add", name, "--what", "MQ borax", "--made", "2026-03-01");
    ran_free(&said);
    said = ran("--book", book, "batch", "add", "X-1", "--what", "X", "--made", "2026-03-02");
    ran_free(&said);
    said = ran("--book", book, "batches");
    assert_non_null(strstr(said.out, "MQB liquid, the second tin of March 2026-03-01 "));
    assert_non_null(strstr(said.out, "X-1                                 2026-03-02 "));
    ran_free(&said);
    said = ran("--book", book, "roll", "add", number, "--film", "Tarn 125");
    ran_free(&said);
    said = ran("--book", book, "roll", "add", "7", "--film", "Tarn 125");
    ran_free(&said);
    for (int waiting = 0; waiting < 2; waiting++) {
        said = waiting ? ran("--book", book, "rolls", "--waiting") : ran("--book", book, "rolls");
        assert_non_null(strstr(said.out, "2026-harbour-at-dawn-0143 Tarn 125 "));
        assert_non_null(strstr(said.out, "7                         Tarn 125 "));
        ran_free(&said);
    }
}

static void text_has_no_control_bytes(void **state)
{
    const char *book = *state;
    const char *const *calls[] = { WORDS("--book", book, "rolls"), WORDS("--book", book, "batches"),
                                   WORDS("--book", book, "process", "list") };
    (void)state;
    for (size_t i = 0; i < sizeof calls / sizeof *calls; i++) {
        struct ran said = ran_words(calls[i]);

        assert_int_equal(said.status, 0);
        assert_true(strlen(said.out) > 20);
        for (const char *at = said.out; *at != '\0'; at++)
            assert_true(*at == '\n' || (unsigned char)*at >= 0x20);
        ran_free(&said);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keeps_a_roll),
        cmocka_unit_test(refuses_a_bad_roll),
        cmocka_unit_test(keeps_a_batch_to_the_millilitre),
        cmocka_unit_test(refuses_a_bad_batch),
        cmocka_unit_test(pages_of_the_demo_agree),
        cmocka_unit_test(finds_and_judges),
        cmocka_unit_test(a_repeated_run_says_what_was_changed),
        cmocka_unit_test(lists_cut_no_name),
        cmocka_unit_test(text_has_no_control_bytes),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
