/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside phrases: what is printed can be edited and checked, and what is wrong has its line. */
#include "aid.h"

#include <stdlib.h>

#include "ran.h"

static int begin(void **state)
{
    (void)state;
    setenv("XDG_CONFIG_HOME", ran_folder(), 1);
    setenv("LC_ALL", "C", 1);
    return 0;
}

static int end(void **state)
{
    (void)state;
    ran_folder_remove();
    return 0;
}

/* Method: what is printed of each language goes into a file and through --check; the words of the
 * file are UTF-8 though the locale has none. */
static void test_printed_is_sound(void **state)
{
    static const char *const language[] = { "en", "de", NULL };

    (void)state;
    for (int i = 0; i < 3; i++) {
        struct ran print = i < 2 ? ran("phrases", language[i]) : ran("phrases"), check;
        const char *path;

        assert_int_equal(print.status, 0);
        assert_string_equal(print.err, "");
        assert_int_equal(strstr(print.out, "ausgießen") != NULL, i == 1);
        path = ran_write("my.phrases", print.out);
        check = ran("phrases", "--check", path);
        assert_int_equal(check.status, 0);
        assert_string_equal(check.err, "");
        assert_non_null(strstr(check.out, "sound, all"));
        ran_free(&check);
        ran_free(&print);
    }
}

/* Method: a file with four faults and all else missing: a line each, none on the output. */
static void test_each_fault_has_a_line(void **state)
{
    const char *path = ran_write("bad", "rest: {no}\nfoo: x\nwords\nstop: \xff\nleft: ok\n");
    struct ran check = ran("phrases", "--check", path);
    int lines = 0;

    (void)state;
    assert_int_equal(check.status, 2);
    assert_string_equal(check.out, "");
    for (const char *at = check.err; *at != '\0'; at = strchr(at, '\n') + 1) {
        assert_int_equal(strncmp(at, "wetside: ", 9), 0);
        lines++;
    }
    /* Of 41 phrases rest has its line, left is there. */
    assert_int_equal(lines, 4 + 39);
    assert_non_null(strstr(check.err, "bad, line 1: {no} is no word"));
    assert_non_null(strstr(check.err, "bad, line 2: 'foo' is no phrase"));
    assert_non_null(strstr(check.err, "bad, line 3: has no colon"));
    assert_non_null(strstr(check.err, "bad, line 4: is no UTF-8"));
    assert_non_null(strstr(check.err, "bad: wash is missing"));
    ran_free(&check);
}

/* Method: the same file for a script. */
static void test_faults_for_a_script(void **state)
{
    struct ran check = ran("--json", "phrases", "--check", ran_write("bad", "rest: {no}\n"));
    json_t *answer = json_loads(check.out, 0, NULL), *first;

    (void)state;
    assert_int_equal(check.status, 2);
    assert_string_equal(check.err, "");
    assert_true(json_is_false(json_object_get(answer, "sound")));
    first = json_array_get(json_object_get(answer, "faults"), 0);
    assert_int_equal(json_integer_value(json_object_get(first, "line")), 1);
    assert_true(json_is_true(json_object_get(first, "left_out")));
    assert_int_equal(json_array_size(json_object_get(answer, "faults")), 41);
    json_decref(answer);
    ran_free(&check);
}

/* Method: a file of one's own with one phrase and one fault is in force; the fault is said beside.
 */
static void test_ones_own_are_in_force(void **state)
{
    char own[300];
    struct ran print;
    json_t *answer;

    (void)state;
    snprintf(own, sizeof own, "mkdir -p '%s/wetside'", ran_folder());
    assert_int_equal(system(own), 0);
    ran_write("wetside/phrases.de", "rest: absetzen\nfoo: x\n");
    print = ran("phrases", "de");
    assert_int_equal(print.status, 0);
    assert_non_null(strstr(print.out, "\nrest: absetzen\n"));
    assert_non_null(strstr(print.out, "\nagitate: {tank}, {film}, kippen\n"));
    assert_non_null(strstr(print.err, "phrases.de, line 2: 'foo' is no phrase"));
    ran_free(&print);
    ran_write("wetside/phrases.de", "rest: absetzen\n");
    print = ran("phrases", "de", "--json");
    answer = json_loads(print.out, 0, NULL);
    assert_string_equal(json_string_value(json_object_get(answer, "language")), "de");
    assert_string_equal(json_string_value(json_object_get(answer, "file")),
                        ran_path("wetside/phrases.de"));
    assert_string_equal(
        json_string_value(json_object_get(json_object_get(answer, "phrases"), "rest")), "absetzen");
    json_decref(answer);
    ran_free(&print);
    answer = ran_json("phrases", "en", "--json");
    assert_true(json_is_null(json_object_get(answer, "file")));
    json_decref(answer);
}

/* Method: a language nobody wrote phrases in begins as English, with a line that says where its own
 * would be. */
static void test_another_language(void **state)
{
    struct ran print = ran("phrases", "fr");

    (void)state;
    assert_int_equal(print.status, 0);
    assert_non_null(strstr(print.out, "\nstop: stop bath\n"));
    assert_non_null(strstr(print.err, "wetside/phrases.fr"));
    ran_free(&print);
}

static void test_wrong_use(void **state)
{
    (void)state;
    ran_refused(2, WORDS("phrases", "en", "de"), "de: one word too many");
    ran_refused(2, WORDS("phrases", "--check", "a", "en"), "en: one word too many");
    ran_refused(1, WORDS("phrases", "--check", ran_path("none")), "none", "name one that is");
    ran_refused(2, WORDS("phrases", "../../etc/passwd"), "is no language");
    ran_refused(2, WORDS("phrases", "\x1b"), "is no language");
    ran_refused(2, WORDS("phrases", ""), "is no language");
    ran_refused(2, WORDS("phrases", "--chek", "a"), "--chek");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_printed_is_sound, begin, end),
        cmocka_unit_test_setup_teardown(test_each_fault_has_a_line, begin, end),
        cmocka_unit_test_setup_teardown(test_faults_for_a_script, begin, end),
        cmocka_unit_test_setup_teardown(test_ones_own_are_in_force, begin, end),
        cmocka_unit_test_setup_teardown(test_another_language, begin, end),
        cmocka_unit_test_setup_teardown(test_wrong_use, begin, end),
    };

    return cmocka_run_group_tests_name("phrases", tests, NULL, NULL);
}
