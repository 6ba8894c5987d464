/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Dilutions: reading with and without a colon, millilitres, offers, pre-dilutions. */
#include "aid.h"

#include "wetside/calc/dilution.h"

#define COUNT(table) (sizeof(table) / sizeof *(table))

static struct ws_dilution read_ok(const char *text, enum ws_colon colon)
{
    struct ws_dilution dilution = { .parts = -1 };
    struct ws_message why = { "" };

    if (ws_dilution_read(text, colon, &dilution, &why) != WS_OK) {
        print_error("\"%s\": %s\n", text, why.text);
        fail();
    }
    return dilution;
}

/* Method: a table of every form; the parts, what it prints as, and that this reads back the same.
 */
static void reads_prints_and_round_trips(void **state)
{
    static const struct {
        const char *text;
        enum ws_colon colon;
        int parts;
        double part[WS_PARTS];
        const char *printed;
    } row[] = {
        { "1+100", WS_COLON_ASK, 2, { 1, 100 }, "1+100" },
        { " 1 + 100 ", WS_COLON_ASK, 2, { 1, 100 }, "1+100" },
        { "1+1", WS_COLON_ASK, 2, { 1, 1 }, "1+1" },
        { "1+1+100", WS_COLON_ASK, 3, { 1, 1, 100 }, "1+1+100" },
        { "1.5 + 1 + 200", WS_COLON_ASK, 3, { 1.5, 1, 200 }, "1.5+1+200" },
        { "1,5+1+200", WS_COLON_ASK, 3, { 1.5, 1, 200 }, "1.5+1+200" },
        { "1+2+3+94", WS_COLON_ASK, 4, { 1, 2, 3, 94 }, "1+2+3+94" },
        { "1+1+0", WS_COLON_ASK, 3, { 1, 1, 0 }, "1+1+0" },
        { "2+3", WS_COLON_ASK, 2, { 2, 3 }, "2+3" },
        { "1+0.5", WS_COLON_ASK, 2, { 1, 0.5 }, "1+0.5" },
        { "0.001+100000", WS_COLON_ASK, 2, { 0.001, 100000 }, "0.001+100000" },
        { "stock", WS_COLON_ASK, 1, { 1 }, "stock" },
        { "Stock ", WS_COLON_ASK, 1, { 1 }, "stock" },
        { "undiluted", WS_COLON_ASK, 1, { 1 }, "stock" },
        { "water", WS_COLON_ASK, 1, { 0 }, "water" },
        { " Water", WS_COLON_IN, 1, { 0 }, "water" },
        { "1+0", WS_COLON_ASK, 1, { 1 }, "stock" },
        { "2+0", WS_COLON_ASK, 1, { 1 }, "stock" },
        { "1+100", WS_COLON_IN, 2, { 1, 100 }, "1+100" },
        { "1:4", WS_COLON_PLUS, 2, { 1, 4 }, "1+4" },
        { "1 : 4", WS_COLON_PLUS, 2, { 1, 4 }, "1+4" },
        { "1:4", WS_COLON_IN, 2, { 1, 3 }, "1+3" },
        { "1:1", WS_COLON_PLUS, 2, { 1, 1 }, "1+1" },
        { "1:1", WS_COLON_IN, 1, { 1 }, "stock" },
        { "1:0", WS_COLON_PLUS, 1, { 1 }, "stock" },
        { "1:1:100", WS_COLON_PLUS, 3, { 1, 1, 100 }, "1+1+100" },
        { "1:1:100", WS_COLON_IN, 3, { 1, 1, 98 }, "1+1+98" },
        { "0.1:0.3", WS_COLON_IN, 2, { 0.1, 0.2 }, "0.1+0.2" },
    };

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        struct ws_dilution dilution = read_ok(row[i].text, row[i].colon), back;
        char text[64];

        assert_int_equal(dilution.parts, row[i].parts);
        for (int k = 0; k < row[i].parts; k++)
            ws_assert_near(dilution.part[k], row[i].part[k], 1e-12);
        assert_int_equal(ws_dilution_print(&dilution, text, sizeof text), strlen(row[i].printed));
        assert_string_equal(text, row[i].printed);
        back = read_ok(text, WS_COLON_ASK);
        assert_int_equal(back.parts, dilution.parts);
        for (int k = 0; k < back.parts; k++)
            ws_assert_near(back.part[k], dilution.part[k], 1e-12);
    }
}

/* Method: everything that must be refused names its text and writes nothing. */
static void refuses(void **state)
{
    static const struct {
        const char *text;
        enum ws_colon colon;
    } bad[] = {
        { "", WS_COLON_ASK },          { "  ", WS_COLON_ASK },
        { "1", WS_COLON_ASK },         { "100", WS_COLON_PLUS },
        { "+", WS_COLON_ASK },         { "1+", WS_COLON_ASK },
        { "+100", WS_COLON_ASK },      { "1++100", WS_COLON_ASK },
        { "0+0", WS_COLON_ASK },       { "0+100", WS_COLON_ASK },
        { "1+0+100", WS_COLON_ASK },   { "-1+100", WS_COLON_ASK },
        { "1+-100", WS_COLON_ASK },    { "1-100", WS_COLON_ASK },
        { "1+1+1+1+1", WS_COLON_ASK }, { "1+100 ml", WS_COLON_ASK },
        { "a+b", WS_COLON_ASK },       { "1/100", WS_COLON_ASK },
        { "1+1:100", WS_COLON_PLUS },  { "1:1+100", WS_COLON_PLUS },
        { "1:", WS_COLON_PLUS },       { ":4", WS_COLON_IN },
        { "0:4", WS_COLON_PLUS },      { "0:0", WS_COLON_IN },
        { "4:1", WS_COLON_IN },        { "1:0.5", WS_COLON_IN },
        { "1:0", WS_COLON_IN },        { "60:60:100", WS_COLON_IN },
        { "1+1,000", WS_COLON_ASK },   { "0.0001+1", WS_COLON_ASK },
        { "1+0.0001", WS_COLON_ASK },  { "1+100001", WS_COLON_ASK },
        { "stock+1", WS_COLON_ASK },   { "stocks", WS_COLON_ASK },
        { "water+1", WS_COLON_ASK },   { "1+water", WS_COLON_ASK },
        { "1e2+1", WS_COLON_ASK },     { "nan+1", WS_COLON_ASK },
        { "1+inf", WS_COLON_ASK },     { "99999999999999999+1", WS_COLON_ASK },
        { "1:1.0005", WS_COLON_IN }, /* less water than a part may be */
    };
    struct ws_dilution dilution = { .parts = -7 };
    struct ws_message why;

    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++) {
        why.text[0] = '\0';
        if (ws_dilution_read(bad[i].text, bad[i].colon, &dilution, &why) != WS_BAD_INPUT) {
            print_error("\"%s\" was not refused\n", bad[i].text);
            fail();
        }
        if (strspn(bad[i].text, " ") < strlen(bad[i].text))
            assert_non_null(strstr(why.text, bad[i].text));
        assert_true(strlen(why.text) > 20);
        assert_int_equal(ws_dilution_read(bad[i].text, bad[i].colon, &dilution, NULL),
                         WS_BAD_INPUT);
    }
    assert_int_equal(ws_dilution_read(NULL, WS_COLON_ASK, &dilution, &why), WS_BAD_INPUT);
    assert_int_equal(dilution.parts, -7);
}

/* Method: a colon without a meaning is refused with both spelled out. */
static void a_bare_colon_is_asked_about(void **state)
{
    struct ws_dilution dilution = { .parts = -7 };
    struct ws_message why;

    (void)state;
    assert_int_equal(ws_dilution_read("1:4", WS_COLON_ASK, &dilution, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "1+4"));
    assert_non_null(strstr(why.text, "1+3"));
    assert_int_equal(ws_dilution_read("1:1", WS_COLON_ASK, &dilution, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "1+1"));
    assert_non_null(strstr(why.text, "stock"));
    assert_int_equal(ws_dilution_read("1:1:100", WS_COLON_ASK, &dilution, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "1+1+100"));
    assert_non_null(strstr(why.text, "1+1+98"));
    assert_int_equal(dilution.parts, -7);
}

/* Method: no dilution, 1+0 spelled out, and every size of buffer up to enough. */
static void none_and_too_small_a_buffer_print(void **state)
{
    struct ws_dilution none = { .parts = 0 }, spelled = { .part = { 1, 0 }, .parts = 2 };
    struct ws_dilution long_one = read_ok("1.5+1+200", WS_COLON_ASK);
    char text[32];

    (void)state;
    assert_int_equal(ws_dilution_print(&none, text, sizeof text), 0);
    assert_string_equal(text, "");
    ws_dilution_print(&spelled, text, sizeof text);
    assert_string_equal(text, "stock");
    for (size_t size = 0; size <= 10; size++) {
        memset(text, '#', sizeof text);
        assert_int_equal(ws_dilution_print(&long_one, text, size), size == 0   ? 0
                                                                   : size <= 9 ? size - 1
                                                                               : 9);
        if (size > 0)
            assert_memory_equal(text, "1.5+1+200", size - 1 < 9 ? size - 1 : 9);
        assert_int_equal(text[size], '#');
    }
    assert_int_equal(ws_dilution_stock_parts(&none), 0);
    assert_int_equal(ws_dilution_stock_parts(&(struct ws_dilution){ { 1 }, 1 }), 1);
    assert_int_equal(ws_dilution_stock_parts(&spelled), 1);
    assert_int_equal(ws_dilution_stock_parts(&long_one), 2);
}

/* Method: closed forms. The numbers of 1+2+100 in 500 ml are 500/103 of each part. */
static void splits(void **state)
{
    static const struct {
        const char *text;
        enum ws_colon colon;
        double total, ml[WS_PARTS];
    } row[] = {
        { "1+1", WS_COLON_ASK, 300, { 150, 150 } },
        { "1+100", WS_COLON_ASK, 500, { 500.0 / 101, 50000.0 / 101 } },
        { "1:4", WS_COLON_PLUS, 600, { 120, 480 } },
        { "1:4", WS_COLON_IN, 600, { 150, 450 } },
        { "1:1", WS_COLON_IN, 600, { 600 } },
        { "1+2+100", WS_COLON_ASK, 500, { 500.0 / 103, 1000.0 / 103, 50000.0 / 103 } },
        { "1.5+1+200", WS_COLON_ASK, 405, { 3, 2, 400 } },
        { "1+2+3+4", WS_COLON_ASK, 1000, { 100, 200, 300, 400 } },
        { "stock", WS_COLON_ASK, 250, { 250 } },
        { "1+1+0", WS_COLON_ASK, 250, { 125, 125, 0 } },
    };

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        struct ws_dilution dilution = read_ok(row[i].text, row[i].colon);
        double ml[WS_PARTS] = { -1, -1, -1, -1 }, sum = 0;

        assert_int_equal(ws_dilution_split(&dilution, row[i].total, ml, NULL), WS_OK);
        for (int k = 0; k < WS_PARTS; k++) {
            ws_assert_near(ml[k], row[i].ml[k], 1e-9);
            sum += ml[k];
        }
        ws_assert_near(sum, row[i].total, 1e-9);
    }
}

/* Method: totals and parts that no tank can have. */
static void split_refuses(void **state)
{
    static const double bad_total[] = { 0, -1, NAN, INFINITY, -INFINITY };
    const struct ws_dilution good = { { 1, 1 }, 2 };
    const struct ws_dilution bad[] = { { { 0 }, 0 },          { { 1, 1 }, -1 },
                                       { { 1, 1, 1, 1 }, 5 }, { { 0, 0 }, 2 },
                                       { { -1, 2 }, 2 },      { { NAN, 2 }, 2 },
                                       { { INFINITY, 2 }, 2 } };
    double ml[WS_PARTS];
    struct ws_message why;

    (void)state;
    for (size_t i = 0; i < COUNT(bad_total); i++)
        assert_int_equal(ws_dilution_split(&good, bad_total[i], ml, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "total"));
    for (size_t i = 0; i < COUNT(bad); i++)
        assert_int_equal(ws_dilution_split(&bad[i], 300, ml, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "dilution"));
}

/* Method: two rolls in 580 ml at 1+3 are 72.5 ml of stock each; 100 are wanted. Three ways out,
 * with the numbers worked by hand. */
static void offers_three_ways_out(void **state)
{
    const struct ws_dilution dilution = { { 1, 3 }, 2 };
    struct ws_dilution_offer offer[3];
    char text[32];

    (void)state;
    assert_int_equal(ws_dilution_offers(&dilution, 580, 2, 100, offer), 3);
    assert_int_equal(offer[0].kind, WS_OFFER_STRONGER);
    ws_dilution_print(&offer[0].dilution, text, sizeof text);
    assert_string_equal(text, "1+1");
    assert_int_equal(offer[0].rolls, 2);
    ws_assert_near(offer[0].fill_ml, 580, 0);
    ws_assert_near(offer[0].stock_ml, 290, 1e-9);
    ws_assert_near(offer[0].water_ml, 290, 1e-9);
    ws_assert_near(offer[0].stock_per_roll_ml, 145, 1e-9);

    assert_int_equal(offer[1].kind, WS_OFFER_FEWER);
    assert_int_equal(offer[1].rolls, 1);
    ws_assert_near(offer[1].fill_ml, 580, 0);
    ws_assert_near(offer[1].stock_ml, 145, 1e-9);
    ws_assert_near(offer[1].water_ml, 435, 1e-9);
    ws_assert_near(offer[1].stock_per_roll_ml, 145, 1e-9);

    assert_int_equal(offer[2].kind, WS_OFFER_LARGER_FILL);
    assert_int_equal(offer[2].rolls, 2);
    ws_assert_near(offer[2].fill_ml, 800, 0);
    ws_assert_near(offer[2].stock_ml, 200, 1e-9);
    ws_assert_near(offer[2].water_ml, 600, 1e-9);
    ws_assert_near(offer[2].stock_per_roll_ml, 100, 1e-9);
}

/* Method: the edges of each offer: just enough, two stock parts, undiluted, half rolls, nonsense.
 */
static void offers_only_what_helps(void **state)
{
    const struct ws_dilution one_three = { { 1, 3 }, 2 }, ab = { { 1, 1, 100 }, 3 };
    const struct ws_dilution stock = { { 1 }, 1 }, none = { .parts = 0 }, thin = { { 1, 100 }, 2 };
    struct ws_dilution_offer offer[3];

    (void)state;
    /* Exactly enough is enough, also when the division leaves a rounding behind. */
    assert_int_equal(ws_dilution_offers(&one_three, 800, 2, 100, offer), 0);
    assert_int_equal(ws_dilution_offers(&thin, 505, 1, 5, offer), 0);
    assert_int_equal(ws_dilution_offers(&thin, 1010, 3, 10.0 / 3, offer), 0);
    /* A and B: no stronger dilution. 1010 ml hold 19.8 ml, 102 parts of which 2 are stock. */
    assert_int_equal(ws_dilution_offers(&ab, 1010, 3, 10, offer), 2);
    assert_int_equal(offer[0].kind, WS_OFFER_FEWER);
    assert_int_equal(offer[0].rolls, 1);
    assert_int_equal(offer[1].kind, WS_OFFER_LARGER_FILL);
    ws_assert_near(offer[1].fill_ml, 1530, 0);
    /* Undiluted stock can't be made stronger; 300 ml are one roll's 300. */
    assert_int_equal(ws_dilution_offers(&stock, 300, 2, 300, offer), 2);
    assert_int_equal(offer[0].kind, WS_OFFER_FEWER);
    ws_assert_near(offer[0].water_ml, 0, 1e-9);
    ws_assert_near(offer[1].fill_ml, 600, 0);
    /* The stronger one may be undiluted. */
    assert_int_equal(ws_dilution_offers(&one_three, 300, 1, 300, offer), 2);
    assert_int_equal(offer[0].kind, WS_OFFER_STRONGER);
    assert_int_equal(offer[0].dilution.parts, 1);
    /* One roll can't become fewer; more stock than the tank holds needs a larger one. */
    assert_int_equal(ws_dilution_offers(&one_three, 300, 1, 400, offer), 1);
    assert_int_equal(offer[0].kind, WS_OFFER_LARGER_FILL);
    ws_assert_near(offer[0].fill_ml, 1600, 0);
    /* One roll and a half: one is fewer; the fill is rounded up to 10 ml. 4 * 150.3 = 601.2. */
    assert_int_equal(ws_dilution_offers(&one_three, 580, 1.5, 100.2, offer), 3);
    assert_int_equal(offer[1].rolls, 1);
    assert_int_equal(offer[2].rolls, 2);
    ws_assert_near(offer[2].fill_ml, 610, 0);
    ws_assert_near(offer[2].stock_per_roll_ml, 610.0 / 4 / 1.5, 1e-9);
    /* Exact quotients stay exact though a double's are not: 9.6 ml are three times 3.2, and three
     * times 10 ml of 1.5 parts in 12.5 are 250 ml, not 260. */
    assert_int_equal(ws_dilution_offers(&(struct ws_dilution){ { 1, 24 }, 2 }, 240, 4, 3.2, offer),
                     3);
    assert_int_equal(offer[1].rolls, 3);
    assert_int_equal(ws_dilution_offers(&(struct ws_dilution){ { 1.5, 11 }, 2 }, 200, 3, 10, offer),
                     3);
    ws_assert_near(offer[2].fill_ml, 250, 0);
    /* Nonsense offers nothing. */
    assert_int_equal(ws_dilution_offers(&none, 580, 2, 100, offer), 0);
    assert_int_equal(ws_dilution_offers(&one_three, 0, 2, 100, offer), 0);
    assert_int_equal(ws_dilution_offers(&one_three, NAN, 2, 100, offer), 0);
    assert_int_equal(ws_dilution_offers(&one_three, 580, 0, 100, offer), 0);
    assert_int_equal(ws_dilution_offers(&one_three, 580, INFINITY, 100, offer), 0);
    assert_int_equal(ws_dilution_offers(&one_three, 580, 2, 0, offer), 0);
    assert_int_equal(ws_dilution_offers(&one_three, 580, 2, -5, offer), 0);
    assert_int_equal(ws_dilution_offers(&one_three, 580, 2, INFINITY, offer), 0);
}

/* Method: over a grid of fills, dilutions, rolls and minima, every offer keeps its promise, and the
 * stronger dilution is the weakest one and the fill the least that do. */
static void offers_keep_their_promise(void **state)
{
    int seen[3] = { 0, 0, 0 };

    (void)state;
    for (int n = 1; n <= 100; n += 3)
        for (int fill = 240; fill <= 2000; fill += 110)
            for (int half_rolls = 1; half_rolls <= 8; half_rolls++)
                for (int least = 3; least <= 120; least += 13) {
                    const struct ws_dilution dilution = { { 1, n }, 2 };
                    double rolls = half_rolls / 2.0, each = fill / (1.0 + n) / rolls;
                    struct ws_dilution_offer offer[3];
                    int offers = ws_dilution_offers(&dilution, fill, rolls, least, offer);

                    assert_int_equal(offers > 0, each < least - 1e-6);
                    for (int i = 0; i < offers; i++) {
                        const struct ws_dilution_offer *o = &offer[i];

                        seen[o->kind]++;
                        assert_true(o->stock_per_roll_ml >= least - 1e-6);
                        ws_assert_near(o->stock_ml + o->water_ml, o->fill_ml, 1e-9);
                        if (o->kind == WS_OFFER_STRONGER) {
                            double weaker = o->dilution.parts == 1 ? 1 : o->dilution.part[1] + 1;

                            assert_true(o->dilution.parts == 1 || o->dilution.part[1] < n);
                            assert_true(fill / (1 + weaker) / rolls < least);
                        } else if (o->kind == WS_OFFER_LARGER_FILL) {
                            assert_true(o->fill_ml > fill);
                            assert_true((o->fill_ml - 10) / (1 + n) / rolls < least);
                            ws_assert_near(fmod(o->fill_ml, 10), 0, 0);
                        } else {
                            assert_true(o->rolls < rolls);
                            assert_true(o->stock_ml / (o->rolls + 1) < least);
                        }
                    }
                }
    for (int i = 0; i < 3; i++)
        assert_true(seen[i] > 100);
}

/* Method: 1+300 in 500 ml by hand (1.66 ml: 10 + 90, take 16.6); the limits; the stock in what is
 * taken is the stock that was wanted. */
static void premixes_a_few_millilitres(void **state)
{
    struct ws_predilution mix = { -1, -1, -1 };

    (void)state;
    assert_true(ws_dilution_premix(500.0 / 301, 500, &mix));
    ws_assert_near(mix.stock_ml, 10, 0);
    ws_assert_near(mix.water_ml, 90, 0);
    ws_assert_near(mix.take_ml, 16.611, 0.001);
    assert_true(ws_dilution_premix(0.499, 500, &mix));
    ws_assert_near(mix.water_ml, 990, 0);
    ws_assert_near(mix.take_ml, 49.9, 1e-9);
    assert_true(ws_dilution_premix(0.5, 500, &mix));
    ws_assert_near(mix.water_ml, 90, 0);
    ws_assert_near(mix.take_ml, 5, 1e-9);
    for (double ml = 0.01; ml < 5; ml += 0.01) {
        assert_true(ws_dilution_premix(ml, 1000, &mix));
        ws_assert_near(mix.take_ml * mix.stock_ml / (mix.stock_ml + mix.water_ml), ml, 1e-12);
    }

    mix = (struct ws_predilution){ -1, -1, -1 };
    assert_false(ws_dilution_premix(5, 500, &mix));
    assert_false(ws_dilution_premix(150, 300, &mix));
    assert_false(ws_dilution_premix(4, 39, &mix)); /* 40 ml would be taken */
    assert_true(ws_dilution_premix(4, 40, &mix));
    mix = (struct ws_predilution){ -1, -1, -1 };
    assert_false(ws_dilution_premix(0, 500, &mix));
    assert_false(ws_dilution_premix(-1, 500, &mix));
    assert_false(ws_dilution_premix(NAN, 500, &mix));
    assert_false(ws_dilution_premix(1, NAN, &mix));
    ws_assert_near(mix.take_ml, -1, 0);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_prints_and_round_trips),
        cmocka_unit_test(refuses),
        cmocka_unit_test(a_bare_colon_is_asked_about),
        cmocka_unit_test(none_and_too_small_a_buffer_print),
        cmocka_unit_test(splits),
        cmocka_unit_test(split_refuses),
        cmocka_unit_test(offers_three_ways_out),
        cmocka_unit_test(offers_only_what_helps),
        cmocka_unit_test(offers_keep_their_promise),
        cmocka_unit_test(premixes_a_few_millilitres),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
