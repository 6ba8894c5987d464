/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verb `time`. Method: calls the command line in this process and reads its JSON, or its text;
 * what the numbers should be is known from the points themselves (a point gives back its time) and
 * from the defining line, ln t over 1/T, worked out here on its own. */
#include "../aid.h"
#include "ran.h"

#include <stdlib.h>

static double number_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);

    if (!json_is_number(value))
        print_error("%s is no number\n", key);
    assert_true(json_is_number(value));
    return json_number_value(value);
}

static void a_point_gives_back_its_time(void **state)
{
    json_t *answer =
        ran_json("time", "--point", "20C=6:30", "--point", "75F=4 3/4", "--at", "20C", "--json");
    (void)state;
    assert_true(json_is_integer(json_object_get(answer, "seconds")));
    ws_assert_near(number_of(answer, "seconds"), 390, 0);
    assert_string_equal(json_string_value(json_object_get(answer, "rests_on")), "between");
    json_decref(answer);
    answer =
        ran_json("time", "--json", "--point", "20C=6:30", "--point", "75F=4 3/4", "--at", "75F");
    ws_assert_near(number_of(answer, "seconds"), 285, 0);
    json_decref(answer);
}

/* Between two points ln t is linear in 1/T. */
static void between_points_follows_the_line(void **state)
{
    json_t *answer =
        ran_json("time", "--point", "20C=6:30", "--point", "75F=4 3/4", "--at", "22.4C", "--json");
    double x0 = 1 / 293.15, x1 = 1 / (273.15 + (75 - 32) / 1.8), x = 1 / (273.15 + 22.4);
    double want = exp(log(390) + (log(285) - log(390)) * (x - x0) / (x1 - x0));
    double got = number_of(answer, "seconds");
    (void)state;
    ws_assert_near(got, want, 0.06);
    ws_assert_near(got * 10, round(got * 10), 1e-9);
    assert_true(number_of(answer, "low_seconds") < got);
    assert_true(number_of(answer, "high_seconds") > got);
    assert_true(number_of(answer, "ratio_per_10c") > 1.5);
    assert_true(json_is_array(json_object_get(answer, "cautions")));
    json_decref(answer);
}

static void says_what_it_rests_on_and_cautions(void **state)
{
    json_t *answer = ran_json("time", "--point", "20C=6:30", "--at", "24C", "--json");
    const json_t *cautions = json_object_get(answer, "cautions");
    (void)state;
    assert_string_equal(json_string_value(json_object_get(answer, "rests_on")), "one_point");
    ws_assert_near(number_of(answer, "ratio_per_10c"), 2.35, 1e-6);
    assert_true(json_array_size(cautions) >= 1);
    for (size_t i = 0; i < json_array_size(cautions); i++)
        assert_true(json_string_length(json_array_get(cautions, i)) > 0);
    json_decref(answer);
    answer =
        ran_json("time", "--point", "20C=6:30", "--point", "24C=4:45", "--at", "16C", "--json");
    assert_string_equal(json_string_value(json_object_get(answer, "rests_on")), "beyond");
    json_decref(answer);
    answer = ran_json("time", "--point", "20C=10", "--at", "22C", "--ratio", "2", "--json");
    ws_assert_near(number_of(answer, "ratio_per_10c"), 2, 1e-6);
    json_decref(answer);
}

static void speaks_to_people(void **state)
{
    struct ran said = ran("time", "--point", "20=6:30", "--point", "24=285s", "--at", "20");
    (void)state;
    assert_int_equal(said.status, 0);
    assert_int_equal(strncmp(said.out, "6:30  (", 7), 0);
    assert_non_null(strstr(said.out, "between published points"));
    ran_free(&said);
    /* What may be misread is said in words. */
    said = ran("time", "--point", "68=7.30", "--at", "68", "--unit", "F");
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "7.30 is read as 7 minutes 18 seconds"));
    assert_non_null(strstr(said.out, "68.0 F"));
    ran_free(&said);
}

static void refuses_with_one_line(void **state)
{
    (void)state;
    ran_refused(2, WORDS("time", "--point", "20C=6:30"), "--at", "22.4C");
    ran_refused(2, WORDS("time", "--point", "20C=5", "--point", "20C=9", "--at", "20C"),
                "--point: 20 C has two times, 5:00 and 9:00");
    ran_refused(2, WORDS("time", "--at", "20C"), "--point", "20C=6:30");
    ran_refused(2, WORDS("time", "--point", "20C", "--at", "20C"), "--point", "20C=6:30");
    ran_refused(2, WORDS("time", "--point", "20C=-6:30", "--at", "20C"), "--point 20C=-6:30");
    ran_refused(2, WORDS("time", "--point", "20C=900h", "--at", "20C"), "--point 20C=900h");
    ran_refused(2, WORDS("time", "--point", "20C=0", "--at", "20C"), "time");
    ran_refused(2, WORDS("time", "--point", "200C=6:30", "--at", "20C"), "--point 200C=6:30");
    ran_refused(2, WORDS("time", "--point", "20C=6:30", "--at", "200"), "--at");
    ran_refused(2, WORDS("time", "--point", "20C=6:30", "--at", "20C", "--ratio", "-1"), "--ratio");
    ran_refused(2, WORDS("time", "--point", "20C=6:30", "--at", "20C", "--ratio", "40"), "ratio");
    ran_refused(2, WORDS("time", "--point", "20C=6:30", "--at", "20C", "--unit", "K"), "--unit",
                "C or F");
    ran_refused(2, WORDS("time", "--point", "20C=6:30", "--at", "20C", "extra"), "extra");
    ran_refused(2, WORDS("time", "--at"), "--at", "needs a value");
    /* What the points come to is no time, or hardly one. */
    ran_refused(2, WORDS("time", "--point", "20C=6:30", "--point", "21C=0:02", "--at", "30C"),
                "30.0 C", "less than a second");
    ran_refused(2, WORDS("time", "--point", "20C=6:30", "--point", "21C=0:02", "--at", "15C"),
                "15.0 C", "more than 48 hours");
    ran_refused(2, WORDS("time", "--colour"), "--colour", "time --help");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_point_gives_back_its_time),
        cmocka_unit_test(between_points_follows_the_line),
        cmocka_unit_test(says_what_it_rests_on_and_cautions),
        cmocka_unit_test(speaks_to_people),
        cmocka_unit_test(refuses_with_one_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
