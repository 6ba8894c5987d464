/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From choices to a plan, and the pre-flight's lines. Volumes and offers are worked by hand from
 * the ratios; film names and bottles are invented. */
#include "aid.h"

#include "wetside/calc/setup.h"
#include "wetside/calc/units.h"

static struct ws_process process;
static struct ws_setup setup;
static struct ws_plan plan;
static struct ws_time_at at;
static struct ws_preflight line[WS_PREFLIGHT_LINES];
static struct ws_message why;

static void add_bath(enum ws_bath_kind kind, int64_t time_ms)
{
    struct ws_bath *bath = &process.bath[process.baths++];

    ws_bath_default(kind, bath);
    bath->time_ms = time_ms;
}

static void add_place(const char *number, int reel)
{
    struct ws_place *place = &setup.place[setup.places++];

    ws_text_copy(place->number, sizeof place->number, number);
    ws_text_copy(place->film, sizeof place->film, "Tarn 125");
    place->reel = reel;
    place->rolls = 1;
}

/* A developer 1+1 of 9:30 at 20 C, stop, fixer, wash; one roll, 300 ml. */
static int begin(void **state)
{
    (void)state;
    memset(&process, 0, sizeof process);
    why.text[0] = '\0';
    strcpy(process.name, "Tarn 125, one plus one");
    add_bath(WS_BATH_DEVELOPER, 0);
    process.bath[0].points = 1;
    process.bath[0].point[0] = (struct ws_point){ 20, 570000, 30000 };
    process.bath[0].dilution = (struct ws_dilution){ { 1, 1 }, 2 };
    ws_agitation_pattern(0, &process.bath[0].agitation);
    add_bath(WS_BATH_STOP, 30000);
    add_bath(WS_BATH_FIXER, 300000);
    add_bath(WS_BATH_WASH, 600000);
    ws_setup_default(&setup, &process);
    strcpy(setup.tank, "tank A");
    setup.fill_ml = 300;
    setup.cover_ml = 290;
    setup.bath_c[0] = 20;
    add_place("2026-0143", 1);
    strcpy(setup.bottle[0][0].name, "MQB-014");
    setup.bottle[0][0].batch.byte[0] = 1;
    setup.bottle[0][0].left_ml = 740;
    setup.bottle[0][0].least_ml = 100;
    setup.bottle[0][0].age_days = 11;
    return 0;
}

static int preflight(void)
{
    assert_int_equal(ws_setup_plan(&setup, &plan, &at, &why), WS_OK);
    return ws_setup_preflight(&setup, &plan, &at, line);
}

static const struct ws_preflight *find(int lines, const char *text)
{
    for (int i = 0; i < lines; i++) {
        if (strstr(line[i].text, text))
            return &line[i];
    }
    for (int i = 0; i < lines; i++)
        print_message("%d %s\n", line[i].level, line[i].text);
    fail_msg("no line says \"%s\"", text);
    return NULL;
}

static bool any(int lines, const char *text)
{
    for (int i = 0; i < lines; i++) {
        if (strstr(line[i].text, text))
            return true;
    }
    return false;
}

/* Method: one plus one in 300 ml is 150 and 150; the time at the point is the point's. */
static void millilitres_and_time(void **state)
{
    (void)state;
    assert_int_equal(ws_setup_plan(&setup, &plan, &at, &why), WS_OK);
    assert_int_equal(plan.bath[0].parts, 2);
    ws_assert_near(plan.bath[0].part[0].ml, 150, 1e-9);
    ws_assert_near(plan.bath[0].part[1].ml, 150, 1e-9);
    assert_true(plan.bath[0].part[1].water);
    assert_true(ws_id_equal(&plan.bath[0].part[0].batch, &setup.bottle[0][0].batch));
    assert_int_equal(plan.bath[0].time_ms, 570000);
    assert_int_equal(at.rests_on, WS_ONE_POINT);
    /* A wash is water; a stop without a bottle is logged by its own name. */
    assert_true(plan.bath[3].part[0].water);
    assert_string_equal(plan.bath[1].part[0].name, "stop");
    assert_true(ws_id_none(&plan.bath[1].part[0].batch));
}

/* Method: bottles are named for baths that are water: a wash by its kind, a stop and a developer
 * because the process says so. None is poured from, and none is spoken of in the pre-flight. */
static void water_is_drawn_from_no_bottle(void **state)
{
    static const int water[] = { 0, 1, 3 };
    int n;

    (void)state;
    process.bath[0].dilution = process.bath[1].dilution = (struct ws_dilution){ { 0 }, 1 };
    for (size_t i = 0; i < sizeof water / sizeof *water; i++) {
        strcpy(setup.bottle[water[i]][0].name, "MQB-014");
        setup.bottle[water[i]][0].batch.byte[0] = 1;
        setup.bottle[water[i]][0].left_ml = 5;
    }
    n = preflight();
    for (size_t i = 0; i < sizeof water / sizeof *water; i++) {
        const struct ws_bath *bath = &plan.bath[water[i]];

        assert_int_equal(bath->parts, 1);
        assert_true(bath->part[0].water);
        assert_string_equal(bath->part[0].name, "water");
        assert_true(ws_id_none(&bath->part[0].batch));
        ws_assert_near(bath->part[0].ml, 300, 1e-9);
        assert_int_equal(bath->afterwards, WS_TO_DRAIN);
    }
    assert_false(any(n, "MQB-014"));
    find(n, "developer: 300 ml water");
    find(n, "stop: 300 ml water");
    /* A wash of something is one whose process says of what. */
    process.bath[3].dilution = (struct ws_dilution){ { 1, 99 }, 2 };
    setup.bottle[3][0].left_ml = 100;
    preflight();
    ws_assert_near(plan.bath[3].part[0].ml, 3, 1e-9);
    assert_string_equal(plan.bath[3].part[0].name, "MQB-014");
}

/* Method: without a temperature the point's own time stands; a colder bath takes longer, to whole
 * seconds. */
static void times_follow_the_temperature(void **state)
{
    (void)state;
    setup.bath_c[0] = NAN;
    assert_int_equal(ws_setup_plan(&setup, &plan, &at, &why), WS_OK);
    assert_int_equal(plan.bath[0].time_ms, 570000);
    setup.bath_c[0] = 18;
    assert_int_equal(ws_setup_plan(&setup, &plan, &at, &why), WS_OK);
    assert_true(plan.bath[0].time_ms > 640000 && plan.bath[0].time_ms < 720000);
    assert_int_equal(plan.bath[0].time_ms % 1000, 0);
}

/* Method: a stand time is not carried along without points of its own; with two it is. */
static void stand_is_not_compensated(void **state)
{
    (void)state;
    process.bath[0].agitation = (struct ws_agitation){ .rhythm = WS_STAND, .first_ms = 30000 };
    process.bath[0].point[0].time_ms = 3600000;
    setup.bath_c[0] = 23;
    assert_int_equal(ws_setup_plan(&setup, &plan, &at, &why), WS_OK);
    assert_int_equal(plan.bath[0].time_ms, 3600000);
    process.bath[0].point[1] = (struct ws_point){ 24, 2700000, 60000 };
    process.bath[0].points = 2;
    assert_int_equal(ws_setup_plan(&setup, &plan, &at, &why), WS_OK);
    assert_true(plan.bath[0].time_ms < 3000000);
}

/* Method: a fill below what covers the reels is refused, and says both numbers. */
static void a_fill_must_cover(void **state)
{
    (void)state;
    setup.cover_ml = 580;
    assert_int_equal(ws_setup_plan(&setup, &plan, &at, &why), WS_BAD_PLAN);
    assert_non_null(strstr(why.text, "300"));
    assert_non_null(strstr(why.text, "580"));
}

/* Method: what the lines must say for one ordinary roll; none of them stops or warns. */
static void an_ordinary_roll(void **state)
{
    int n;

    (void)state;
    process.bath[0].ratio_per_10c = 2.5; /* its own ratio: no caution of the general one */
    n = preflight();
    find(n, "developer, stop, fixer, wash");
    find(n, "150 ml MQB-014 + 150 ml water; the graduate now shows 300 ml");
    find(n, "11 days old, 740 ml left");
    find(n, "300 ml in every bath: the reels need 290 ml");
    find(n, "Core tube in, lid turned");
    find(n, "Reel 1 (bottom): 2026-0143  Tarn 125");
    find(n, "20.0 C: stop, fixer, wash");
    find(n, "Gloves");
    find(n, "developer: 9:30 at 20.0 C (");
    find(n, "), from one point");
    for (int i = 0; i < n; i++)
        assert_int_equal(line[i].level, WS_PREFLIGHT_ASK);
}

/* Method: two rolls in 580 ml at 1+3 leave 72.5 ml of stock each, below 100: offered are 1+1
 * (290 + 290), one roll with an empty reel (145 each), 800 ml (200 + 600); a reason is wanted. */
static void too_little_stock_a_roll(void **state)
{
    const struct ws_preflight *warned;
    int n;

    (void)state;
    add_place("2026-0144", 2);
    setup.fill_ml = 580;
    setup.cover_ml = 580;
    setup.dilution = (struct ws_dilution){ { 1, 3 }, 2 };
    n = preflight();
    warned = find(n, "72.5 ml of stock a roll, below your 100 ml");
    assert_int_equal(warned->level, WS_PREFLIGHT_WARN);
    assert_true(warned->wants_reason);
    assert_non_null(strstr(warned->text, "1+1 (290 ml + 290 ml)"));
    assert_non_null(strstr(warned->text, "1 roll, empty reels beside (145 ml each)"));
    assert_non_null(strstr(warned->text, "fill 800 ml (200 ml + 600 ml)"));
    strcpy(setup.reason, "only this stock is left");
    assert_int_equal(ws_setup_plan(&setup, &plan, &at, &why), WS_OK);
    assert_string_equal(plan.reason, "only this stock is left");
}

/* Method: 1+300 in 500 ml is 1.66 ml, which no syringe at the sink measures well: 10 + 90, take
 * 16.6. */
static void high_dilutions_are_made_measurable(void **state)
{
    int n;

    (void)state;
    setup.fill_ml = 500;
    setup.dilution = (struct ws_dilution){ { 1, 300 }, 2 };
    setup.bottle[0][0].least_ml = 0;
    n = preflight();
    find(n, "mix 10 ml MQB-014 + 90 ml water; take 16.6 ml of that + 483 ml water");
    ws_assert_near(plan.bath[0].part[0].ml, 500.0 / 301, 1e-9);
    ws_assert_near(plan.bath[0].part[0].drawn_ml, 10, 0);
    ws_assert_near(ws_part_drawn_ml(&plan.bath[0].part[0]), 10, 0);
    ws_assert_near(plan.bath[0].part[1].drawn_ml, 0, 0);
    ws_assert_near(ws_part_drawn_ml(&plan.bath[0].part[1]), 500.0 * 300 / 301, 1e-9);
    /* The bath's 1.66 ml are in the bottle, the pre-dilution's 10 ml are not: none is offered. */
    setup.bottle[0][0].left_ml = 9.9;
    n = preflight();
    find(n, "1.66 ml MQB-014 + 498 ml water");
    ws_assert_near(plan.bath[0].part[0].drawn_ml, 0, 0);
    for (int i = 0; i < n; i++)
        assert_int_not_equal(line[i].level, WS_PREFLIGHT_STOP);
    setup.bottle[0][0].left_ml = 10;
    n = preflight();
    find(n, "mix 10 ml MQB-014");
    setup.premix = false;
    n = preflight();
    find(n, "1.66 ml MQB-014 + 498 ml water");
}

/* Method: the same bottle in the stop too (1+30 in 500: 16.1 ml) and 20 ml in it: both together
 * would ask 26.1, so that the pre-dilution is not offered; 27 ml allow it. */
static void a_premix_leaves_the_other_bath_its_stock(void **state)
{
    (void)state;
    setup.fill_ml = 500;
    setup.dilution = (struct ws_dilution){ { 1, 300 }, 2 };
    process.bath[1].dilution = (struct ws_dilution){ { 1, 30 }, 2 };
    setup.bottle[0][0].least_ml = 0;
    setup.bottle[1][0] = setup.bottle[0][0];
    setup.bottle[0][0].left_ml = setup.bottle[1][0].left_ml = 20;
    preflight();
    ws_assert_near(plan.bath[0].part[0].drawn_ml, 0, 0);
    setup.bottle[0][0].left_ml = setup.bottle[1][0].left_ml = 27;
    preflight();
    ws_assert_near(plan.bath[0].part[0].drawn_ml, 10, 0);
}

/* Method: trays with film lying open in the developer: a real run stops, as no sound would cue it
 * in black; a rehearsal is warned; with working sound nothing is said of it. */
static void open_film_needs_sound(void **state)
{
    int n;

    (void)state;
    process.bath[0].open_film = true;
    n = preflight();
    assert_int_equal(find(n, "developer: film lies open, the screen would be black")->level,
                     WS_PREFLIGHT_STOP);
    setup.rehearsal = true;
    n = preflight();
    assert_int_equal(find(n, "developer: film would lie open")->level, WS_PREFLIGHT_WARN);
    assert_false(any(n, "the screen would be black"));
    setup.rehearsal = false;
    setup.sound = true;
    n = preflight();
    assert_false(any(n, "lie open") || any(n, "lies open"));
    process.bath[0].open_film = false;
    setup.sound = false;
    n = preflight();
    assert_false(any(n, "lie open") || any(n, "lies open"));
}

/* Method: what keys mean in the dark stands last, with open film alone; a deep tank, whose
 * developer is open, has no lid to turn. */
static void open_film_is_told_of_the_dark(void **state)
{
    int n;

    (void)state;
    setup.sound = true;
    n = preflight();
    assert_false(any(n, "In the dark"));
    assert_true(any(n, "lid turned"));
    process.bath[0].open_film = true;
    n = preflight();
    assert_ptr_equal(find(n, "In the dark: space means done, or ready."), &line[n - 1]);
    assert_false(any(n, "lid turned"));
    setup.rehearsal = true;
    n = preflight();
    find(n, "In the dark (l rehearses it)");
}

/* Method: a bottle that holds less than is asked stops; an unknown volume does not. */
static void a_bottle_that_holds_too_little(void **state)
{
    int n;

    (void)state;
    setup.bottle[0][0].left_ml = 149;
    n = preflight();
    assert_int_equal(find(n, "the book says 149 ml left, 150 ml are asked")->level,
                     WS_PREFLIGHT_STOP);
    assert_true(find(n, "the book says 149 ml left, 150 ml are asked")->bottle);
    setup.bottle[0][0].left_ml = NAN;
    n = preflight();
    find(n, "unknown volume left");
    for (int i = 0; i < n; i++)
        assert_int_not_equal(line[i].level, WS_PREFLIGHT_STOP);
}

/* Method: neighbours 2.8 C apart pass, a tenth more warns (common practice, 5 F). */
static void baths_too_far_apart(void **state)
{
    int n;

    (void)state;
    setup.bath_c[1] = 17.2;
    n = preflight();
    assert_false(any(n, "crack the gelatin"));
    setup.bath_c[1] = 17.1;
    n = preflight();
    assert_int_equal(find(n, "crack the gelatin")->level, WS_PREFLIGHT_WARN);
}

/* Method: a rehearsal asks for water in every bath, names no bottle and no roll. */
static void a_rehearsal_takes_water_and_no_film(void **state)
{
    int n;

    (void)state;
    setup.rehearsal = true;
    n = preflight();
    find(n, "developer: 300 ml water");
    find(n, "fixer: 300 ml water");
    find(n, "Empty reels or spoiled film");
    assert_false(any(n, "MQB-014"));
    assert_false(any(n, "2026-0143"));
    for (int i = 0; i < plan.baths; i++)
        assert_true(plan.bath[i].parts == 1 && plan.bath[i].part[0].water);
}

/* Method: two stock parts are named A and B until bottles are. 1+1+100 in 500: 4.90 of each, too
 * little for a graduate, so each is pre-diluted: 10 + 90, take 49. 1+1+12 in 14: one
 * tenfold mix goes in, two do not. */
static void two_parts_have_names(void **state)
{
    int n;

    (void)state;
    memset(setup.bottle, 0, sizeof setup.bottle);
    setup.fill_ml = 500;
    setup.dilution = (struct ws_dilution){ { 1, 1, 100 }, 3 };
    n = preflight();
    find(n, "developer: A: mix 10 ml + 90 ml water, take 49 ml; B: mix 10 ml + 90 ml water, take "
            "49 ml; then water to 500 ml");
    ws_assert_near(plan.bath[0].part[1].drawn_ml, 10, 0);
    setup.premix = false;
    n = preflight();
    find(n, "4.9 ml A + 4.9 ml B + 490 ml water");
    setup.premix = true;
    setup.fill_ml = 14;
    setup.cover_ml = 0;
    setup.dilution = (struct ws_dilution){ { 1, 1, 12 }, 3 };
    n = preflight();
    find(n, "developer: A: mix 10 ml + 90 ml water, take 10 ml; B: 1 ml; then water to 14 ml");
    setup.fill_ml = 500;
    setup.dilution = (struct ws_dilution){ { 1, 1, 100 }, 3 };
    n = preflight();
    ws_assert_near(plan.bath[0].part[0].ml, 500 / 102.0, 1e-9);
}

/* Method: twelve reels, sixteen baths of long names: no line runs over its room. */
static void lines_never_run_over(void **state)
{
    int n;

    (void)state;
    while (process.baths < WS_BATHS)
        add_bath(WS_BATH_OTHER, 60000);
    for (int i = 0; i < process.baths; i++) {
        memset(process.bath[i].name, 'x', sizeof process.bath[i].name - 1);
        setup.bath_c[i] = i % 2 ? 10 : 20;
    }
    while (setup.places < WS_PLACES)
        add_place("a number that goes on and on and on and on and", setup.places + 1);
    n = preflight();
    assert_true(n > WS_BATHS && n < WS_PREFLIGHT_LINES);
    find(n, "Core tube in");
    for (int i = 0; i < n; i++)
        assert_true(strlen(line[i].text) < sizeof line[i].text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(millilitres_and_time, begin),
        cmocka_unit_test_setup(water_is_drawn_from_no_bottle, begin),
        cmocka_unit_test_setup(times_follow_the_temperature, begin),
        cmocka_unit_test_setup(stand_is_not_compensated, begin),
        cmocka_unit_test_setup(a_fill_must_cover, begin),
        cmocka_unit_test_setup(an_ordinary_roll, begin),
        cmocka_unit_test_setup(too_little_stock_a_roll, begin),
        cmocka_unit_test_setup(high_dilutions_are_made_measurable, begin),
        cmocka_unit_test_setup(a_premix_leaves_the_other_bath_its_stock, begin),
        cmocka_unit_test_setup(open_film_needs_sound, begin),
        cmocka_unit_test_setup(open_film_is_told_of_the_dark, begin),
        cmocka_unit_test_setup(a_bottle_that_holds_too_little, begin),
        cmocka_unit_test_setup(baths_too_far_apart, begin),
        cmocka_unit_test_setup(a_rehearsal_takes_water_and_no_film, begin),
        cmocka_unit_test_setup(two_parts_have_names, begin),
        cmocka_unit_test_setup(lines_never_run_over, begin),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
