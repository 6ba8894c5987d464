/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verb `dilute`. Method: calls the command line in this process and reads its JSON; the
 * millilitres expected are worked out by hand beside each case (the trade's own examples among
 * them: 145 ml of stock for two rolls, and the three ways out). */
#include "../aid.h"
#include "ran.h"

static double number_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);

    assert_true(json_is_number(value));
    return json_number_value(value);
}

static void splits_the_fill(void **state)
{
    json_t *answer = ran_json("dilute", "1+100", "--fill", "500", "--json"), *parts;
    (void)state;
    ws_assert_near(number_of(answer, "stock_ml"), 500.0 / 101, 1e-6);
    ws_assert_near(number_of(answer, "water_ml"), 50000.0 / 101, 1e-6);
    ws_assert_near(number_of(answer, "total_ml"), 500, 0);
    parts = json_object_get(answer, "parts_ml");
    assert_int_equal(json_array_size(parts), 2);
    json_decref(answer);

    answer = ran_json("--json", "dilute", "1+1+100", "--fill", "510");
    parts = json_object_get(answer, "parts_ml");
    assert_int_equal(json_array_size(parts), 3);
    ws_assert_near(json_number_value(json_array_get(parts, 0)), 5, 1e-9);
    ws_assert_near(json_number_value(json_array_get(parts, 1)), 5, 1e-9);
    ws_assert_near(json_number_value(json_array_get(parts, 2)), 500, 1e-9);
    ws_assert_near(number_of(answer, "stock_ml"), 10, 1e-9);
    json_decref(answer);

    answer = ran_json("dilute", "stock", "--fill", "0.6l", "--json");
    ws_assert_near(number_of(answer, "stock_ml"), 600, 0);
    ws_assert_near(number_of(answer, "water_ml"), 0, 0);
    json_decref(answer);
}

static void a_colon_is_asked_about(void **state)
{
    json_t *answer;
    (void)state;
    ran_refused(2, WORDS("dilute", "1:4", "--fill", "600"), "1+4", "1+3");
    answer = ran_json("dilute", "1:4", "--fill", "600", "--colon", "plus", "--json");
    ws_assert_near(number_of(answer, "stock_ml"), 120, 1e-9);
    ws_assert_near(number_of(answer, "water_ml"), 480, 1e-9);
    json_decref(answer);
    answer = ran_json("dilute", "1:4", "--fill", "600", "--colon", "in", "--json");
    ws_assert_near(number_of(answer, "stock_ml"), 150, 1e-9);
    json_decref(answer);
    answer = ran_json("dilute", "1:1", "--fill", "600", "--colon", "in", "--json");
    ws_assert_near(number_of(answer, "stock_ml"), 600, 1e-9);
    ws_assert_near(number_of(answer, "water_ml"), 0, 1e-9);
    json_decref(answer);
}

/* Two rolls at 1+3 in 580 ml: 72.5 ml of stock each, below 100. */
static void offers_ways_out_when_short(void **state)
{
    json_t *answer =
        ran_json("dilute", "1+3", "--fill", "580", "--rolls", "2", "--least", "100", "--json");
    const json_t *offers = json_object_get(answer, "offers"), *offer;
    (void)state;
    ws_assert_near(number_of(answer, "stock_per_roll_ml"), 72.5, 1e-9);
    assert_int_equal(json_array_size(offers), 3);
    offer = json_array_get(offers, 0);
    assert_string_equal(json_string_value(json_object_get(offer, "kind")), "stronger");
    assert_string_equal(json_string_value(json_object_get(offer, "dilution")), "1+1");
    ws_assert_near(number_of(offer, "stock_per_roll_ml"), 145, 1e-9);
    offer = json_array_get(offers, 1);
    assert_string_equal(json_string_value(json_object_get(offer, "kind")), "fewer_rolls");
    ws_assert_near(number_of(offer, "rolls"), 1, 0);
    ws_assert_near(number_of(offer, "stock_per_roll_ml"), 145, 1e-9);
    offer = json_array_get(offers, 2);
    assert_string_equal(json_string_value(json_object_get(offer, "kind")), "larger_fill");
    ws_assert_near(number_of(offer, "fill_ml"), 800, 1e-9);
    ws_assert_near(number_of(offer, "stock_per_roll_ml"), 100, 1e-9);
    json_decref(answer);

    answer = ran_json("dilute", "1+1", "--fill", "580", "--rolls", "2", "--least", "100", "--json");
    assert_null(json_object_get(answer, "offers"));
    ws_assert_near(number_of(answer, "stock_per_roll_ml"), 145, 1e-9);
    json_decref(answer);
    answer = ran_json("dilute", "1+1", "--fill", "580", "--json");
    assert_null(json_object_get(answer, "stock_per_roll_ml"));
    json_decref(answer);
}

/* 335 ml at 1+200: 1.667 ml of stock, which is 16.67 ml of ten in a hundred. */
static void makes_little_measurable(void **state)
{
    json_t *answer = ran_json("dilute", "1+200", "--fill", "335", "--json");
    const json_t *premix = json_object_get(answer, "premix");
    struct ran said;
    (void)state;
    assert_int_equal(json_array_size(premix), 1);
    ws_assert_near(number_of(json_array_get(premix, 0), "stock_ml"), 10, 0);
    ws_assert_near(number_of(json_array_get(premix, 0), "water_ml"), 90, 0);
    ws_assert_near(number_of(json_array_get(premix, 0), "take_ml"), 3350.0 / 201, 1e-6);
    json_decref(answer);
    said = ran("dilute", "1+200", "--fill", "335");
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "mix 10 ml with 90 ml of water, take 16.7 ml"));
    ran_free(&said);
    said = ran("dilute", "1+9", "--fill", "500");
    assert_non_null(strstr(said.out, "50 ml"));
    assert_non_null(strstr(said.out, "450 ml"));
    assert_null(strstr(said.out, "to measure"));
    ran_free(&said);
}

static void refuses_with_one_line(void **state)
{
    (void)state;
    ran_refused(2, WORDS("dilute", "1+100", "--fill", "0.0001"), "--fill: 0.0001 ml",
                "such as 500");
    ran_refused(2, WORDS("dilute", "0+0", "--fill", "500"), "0+0");
    ran_refused(2, WORDS("dilute", "0+4", "--fill", "500"), "0+4");
    ran_refused(2, WORDS("dilute", "1+-4", "--fill", "500"), "1+-4");
    ran_refused(2, WORDS("dilute", "--fill", "500"), "dilution", "1+4");
    ran_refused(2, WORDS("dilute", "1+4"), "--fill", "500");
    ran_refused(2, WORDS("dilute", "1+4", "--fill", "0"), "--fill");
    ran_refused(2, WORDS("dilute", "1+4", "--fill", "-5"), "--fill");
    ran_refused(2, WORDS("dilute", "1+4", "--fill", "16oz"), "--fill", "US", "imperial");
    ran_refused(2, WORDS("dilute", "1+4", "--fill", "500", "--rolls", "0"), "--rolls");
    ran_refused(2, WORDS("dilute", "1+4", "--fill", "500", "--least", "x"), "--least");
    ran_refused(2, WORDS("dilute", "1:4", "--fill", "500", "--colon", "maybe"), "--colon", "plus",
                "in");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(splits_the_fill),
        cmocka_unit_test(a_colon_is_asked_about),
        cmocka_unit_test(offers_ways_out_when_short),
        cmocka_unit_test(makes_little_measurable),
        cmocka_unit_test(refuses_with_one_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
