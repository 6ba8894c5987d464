/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is chosen once and remembered: as text and back, in the book, and in a run's plan. */
#include "aid.h"

#include <stdlib.h>
#include <unistd.h>

#include "wetside/drive/settings.h"

struct place {
    char folder[64], path[96];
    struct ws_book *book;
};

static int open_book(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    struct ws_message why;

    strcpy(place->folder, "/tmp/wetside-settings-XXXXXX");
    if (mkdtemp(place->folder) == NULL)
        return -1;
    snprintf(place->path, sizeof place->path, "%s/book.db", place->folder);
    if (ws_book_open(place->path, WS_BOOK_WRITE, &place->book, &why) != WS_OK)
        return -1;
    *state = place;
    return 0;
}

static int close_book(void **state)
{
    static const char *const tail[] = { "", "-wal", "-shm" };
    struct place *place = *state;
    char path[128];

    ws_book_close(place->book);
    for (int i = 0; i < 3; i++) {
        snprintf(path, sizeof path, "%s%s", place->path, tail[i]);
        unlink(path);
    }
    rmdir(place->folder);
    free(place);
    return 0;
}

static void put(struct place *place, const char *key, const char *value)
{
    struct ws_message why = { "" };

    assert_int_equal(ws_setting_set(place->book, key, value, &why), WS_OK);
}

static void assert_same(const struct ws_settings *a, const struct ws_settings *b)
{
    char left[WS_SETTING_BYTES], right[WS_SETTING_BYTES];

    for (int i = 0; i < WS_SETTINGS; i++) {
        ws_setting_print(a, (enum ws_setting)i, left, sizeof left);
        ws_setting_print(b, (enum ws_setting)i, right, sizeof right);
        assert_string_equal(left, right);
    }
}

/* Every setting away from its default. */
static void choose_all(struct ws_settings *out)
{
    ws_settings_default(out);
    out->scale = WS_FAHRENHEIT;
    out->hands = 3;
    strcpy(out->hand[0], "F5");
    strcpy(out->hand[1], "b");
    strcpy(out->hand[2], "Page-Down");
    out->volume_percent = 0;
    out->speech = WS_SPEAKS_MINUTES;
    strcpy(out->language, "de_CH.UTF-8");
    out->count_in_ms = 30000;
    out->get_ready_ms = 5000;
    out->flash = false;
}

/* ---- as text ---- */

/* Method: what a new book gives is what the program is described to do without a choice. */
static void defaults(void **state)
{
    struct ws_settings settings;

    (void)state;
    ws_settings_default(&settings);
    assert_int_equal(settings.scale, WS_CELSIUS);
    assert_int_equal(settings.hands, 0);
    assert_int_equal(settings.volume_percent, 70);
    assert_int_equal(settings.speech, WS_SPEAKS_CUES);
    assert_string_equal(settings.language, "");
    assert_int_equal(settings.count_in_ms, 5000);
    assert_int_equal(settings.get_ready_ms, 15000);
    assert_true(settings.flash);
}

/* Method: all settings away from their defaults, each printed and read into the defaults. */
static void each_as_text_and_back(void **state)
{
    struct ws_settings chosen, read;
    char text[WS_SETTING_BYTES];
    struct ws_message why;

    (void)state;
    choose_all(&chosen);
    ws_settings_default(&read);
    for (int i = 0; i < WS_SETTINGS; i++) {
        ws_setting_print(&chosen, (enum ws_setting)i, text, sizeof text);
        assert_int_equal(ws_setting_read((enum ws_setting)i, text, &read, &why), WS_OK);
    }
    assert_same(&chosen, &read);
}

/* Method: texts that are wrong in one way each; none of them changes anything, each gets one line
 * that begins with the setting's name. */
static void wrong_text_is_refused(void **state)
{
    static const struct {
        enum ws_setting which;
        const char *text;
    } wrong[] = {
        { WS_SETTING_SCALE, "" },
        { WS_SETTING_SCALE, "kelvin" },
        { WS_SETTING_SCALE, "Celsius" },
        { WS_SETTING_HAND, "a b c d" },
        { WS_SETTING_HAND, "a a" },
        { WS_SETTING_HAND, "a\tb" },
        { WS_SETTING_HAND, "\x7F" },
        { WS_SETTING_HAND, "a-name-longer-than-any-key-has" },
        { WS_SETTING_VOLUME, "-1" },
        { WS_SETTING_VOLUME, "101" },
        { WS_SETTING_VOLUME, "7.5" },
        { WS_SETTING_VOLUME, "loud" },
        { WS_SETTING_VOLUME, "" },
        { WS_SETTING_VOLUME, "1e400" },
        { WS_SETTING_SPEECH, "on" },
        { WS_SETTING_LANGUAGE, "d" },
        { WS_SETTING_LANGUAGE, "german" },
        { WS_SETTING_LANGUAGE, "../de" },
        { WS_SETTING_LANGUAGE, "de/x" },
        { WS_SETTING_LANGUAGE, "de_\xC3\xA4" },
        { WS_SETTING_LANGUAGE, "de_DE.something-long" },
        { WS_SETTING_COUNT_IN, "31" },
        { WS_SETTING_COUNT_IN, "5 s" },
        { WS_SETTING_GET_READY, "4" },
        { WS_SETTING_GET_READY, "61" },
        { WS_SETTING_FLASH, "yes" },
    };

    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        const char *name = ws_setting_name(wrong[i].which);
        struct ws_settings settings, before;
        struct ws_message why = { "" };

        choose_all(&settings);
        before = settings;
        assert_int_equal(ws_setting_read(wrong[i].which, wrong[i].text, &settings, &why),
                         WS_BAD_INPUT);
        assert_same(&settings, &before);
        assert_memory_equal(why.text, name, strlen(name));
        assert_null(strchr(why.text, '\n'));
    }
}

/* ---- the book ---- */

/* Method: kept one by one; after each the book gives that one, and those kept before it, and no
 * other. */
static void kept_one_by_one(void **state)
{
    struct place *place = *state;
    struct ws_settings chosen, now, want;
    char text[WS_SETTING_BYTES];
    struct ws_message why = { "" };

    choose_all(&chosen);
    ws_settings_default(&want);
    for (int i = 0; i < WS_SETTINGS; i++) {
        assert_int_equal(ws_settings_keep(place->book, &chosen, (enum ws_setting)i, &why), WS_OK);
        ws_setting_print(&chosen, (enum ws_setting)i, text, sizeof text);
        assert_int_equal(ws_setting_read((enum ws_setting)i, text, &want, &why), WS_OK);
        assert_int_equal(ws_settings_load(place->book, &now, &why), WS_OK);
        assert_same(&now, &want);
    }
}

/* Method: an empty book, a book with settings of another program version, and none at all. */
static void what_is_not_there_or_not_known(void **state)
{
    struct place *place = *state;
    struct ws_settings usual, now;
    struct ws_message why = { "" };

    ws_settings_default(&usual);
    assert_int_equal(ws_settings_load(place->book, &now, &why), WS_OK);
    assert_same(&now, &usual);
    put(place, "of_a_later_version", "\x01\xFF");
    assert_int_equal(ws_settings_load(place->book, &now, &why), WS_OK);
    assert_same(&now, &usual);
    assert_int_equal(ws_settings_load(NULL, &now, &why), WS_OK);
    assert_same(&now, &usual);
    assert_string_equal(why.text, "");
    assert_int_equal(ws_settings_keep(NULL, &usual, WS_SETTING_FLASH, &why), WS_NOT_FOUND);
}

/* Method: two broken values among sound ones; the broken ones fall back, the sound ones hold, one
 * line tells of the first and counts the others. A value that is far too long is not cut to one
 * that is right. */
static void broken_values_fall_back(void **state)
{
    struct place *place = *state;
    struct ws_settings now;
    struct ws_message why = { "" };
    char longer[400];

    put(place, "temperatures", "fahrenheit");
    put(place, "volume", "loud");
    assert_int_equal(ws_settings_load(place->book, &now, &why), WS_BAD_INPUT);
    assert_string_equal(why.text, "Setting volume: \"loud\" is none: a whole number from 0 to 100; "
                                  "the usual one holds");
    memset(longer, ' ', sizeof longer);
    memcpy(longer, "9", 1);
    strcpy(longer + sizeof longer - 3, "x");
    put(place, "count_in", longer);
    put(place, "hand_keys", "F5 F5");
    put(place, "flash", "off");
    assert_int_equal(ws_settings_load(place->book, &now, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "hand_keys"));
    assert_non_null(strstr(why.text, "(and 2 more)"));
    assert_int_equal(now.scale, WS_FAHRENHEIT);
    assert_int_equal(now.volume_percent, 70);
    assert_int_equal(now.count_in_ms, 5000);
    assert_int_equal(now.hands, 0);
    assert_false(now.flash);
}

/* ---- the run ---- */

/* Method: a plan of two developers, one of whose process states a count-in of its own. */
static void leads_go_into_the_plan(void **state)
{
    struct ws_settings settings;
    struct ws_plan *plan = calloc(1, sizeof *plan);

    (void)state;
    ws_plan_default(plan);
    plan->baths = 3;
    ws_bath_default(WS_BATH_DEVELOPER, &plan->bath[0]);
    ws_bath_default(WS_BATH_DEVELOPER, &plan->bath[1]);
    ws_bath_default(WS_BATH_STOP, &plan->bath[2]);
    plan->bath[1].count_in_ms = 8000;
    ws_settings_default(&settings);
    settings.count_in_ms = 0;
    settings.get_ready_ms = 20000;
    ws_settings_lead(&settings, plan);
    assert_int_equal(plan->ready_lead_ms, 20000);
    assert_int_equal(plan->bath[0].count_in_ms, 0);
    assert_int_equal(plan->bath[1].count_in_ms, 8000);
    assert_int_equal(plan->bath[2].count_in_ms, 0);
    free(plan);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(defaults),
        cmocka_unit_test(each_as_text_and_back),
        cmocka_unit_test(wrong_text_is_refused),
        cmocka_unit_test_setup_teardown(kept_one_by_one, open_book, close_book),
        cmocka_unit_test_setup_teardown(what_is_not_there_or_not_known, open_book, close_book),
        cmocka_unit_test_setup_teardown(broken_values_fall_back, open_book, close_book),
        cmocka_unit_test(leads_go_into_the_plan),
    };

    return cmocka_run_group_tests_name("settings", tests, NULL, NULL);
}
