/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verb `demo` without a terminal. Method: calls the command line in this process with a folder
 * of its own for temporary files, reads its lines as JSON, and looks what is left in the folder. */
#include "../aid.h"
#include "ran.h"

#include <dirent.h>
#include <stdbool.h>
#include <stdlib.h>

static int begin(void **state)
{
    (void)state;
    return setenv("TMPDIR", ran_folder(), 1);
}

static int end(void **state)
{
    (void)state;
    ran_folder_remove();
    return 0;
}

static int left_behind(void)
{
    DIR *dir = opendir(ran_folder());
    struct dirent *entry;
    int count = 0;

    assert_non_null(dir);
    while ((entry = readdir(dir)) != NULL)
        count += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    closedir(dir);
    return count;
}

/* Cues in order to the last "done", then the rolls, each with batch and millilitres. */
static void plays_a_run_and_keeps_its_rolls(void **state)
{
    struct ran said = ran("demo", "--json");
    bool done = false, agitated = false;
    int rolls = 0;
    double t = -1;
    (void)state;
    assert_int_equal(said.status, 0);
    assert_string_equal(said.err, "");
    for (char *line = strtok(said.out, "\n"); line != NULL; line = strtok(NULL, "\n")) {
        json_t *object = json_loads(line, 0, NULL), *cue = json_object_get(object, "cue");

        assert_true(json_is_object(object));
        if (cue != NULL) {
            assert_int_equal(rolls, 0);
            assert_true(json_number_value(json_object_get(object, "t")) >= t);
            t = json_number_value(json_object_get(object, "t"));
            done = done || strcmp(json_string_value(cue), "done") == 0;
            agitated = agitated || strcmp(json_string_value(cue), "agitate") == 0;
        } else {
            assert_true(done);
            assert_true(json_is_string(json_object_get(object, "number")));
            assert_true(json_is_string(json_object_get(object, "developed")));
            assert_true(json_is_string(json_object_get(object, "batch")));
            assert_true(json_number_value(json_object_get(object, "stock_ml")) > 0);
            rolls++;
        }
        json_decref(object);
    }
    assert_true(agitated);
    assert_true(rolls > 0);
    ran_free(&said);
    assert_int_equal(left_behind(), 0);
}

static void says_that_it_is_invented(void **state)
{
    struct ran said = ran("demo", "--plain");
    (void)state;
    assert_int_equal(said.status, 0);
    assert_int_equal(strncmp(said.out, "demo: an invented darkroom", 26), 0);
    assert_non_null(strstr(said.out, "\nrolls kept:\n  "));
    ran_free(&said);
    assert_int_equal(left_behind(), 0);
}

static void needs_a_folder(void **state)
{
    (void)state;
    assert_int_equal(setenv("TMPDIR", "/no/such/folder", 1), 0);
    ran_refused(1, WORDS("demo", "--plain"), "/no/such/folder");
    assert_int_equal(setenv("TMPDIR", ran_folder(), 1), 0);
    ran_refused(2, WORDS("demo", "loudly"), "loudly");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plays_a_run_and_keeps_its_rolls),
        cmocka_unit_test(says_that_it_is_invented),
        cmocka_unit_test(needs_a_folder),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
