/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pages of runs that are in a book. Method: the invented darkroom of the demo; a run of it is
 * repeated as a person would, with nothing or some things changed, or is corrected afterwards, and
 * the page of its roll is read. */
#include "../aid.h"

#include <stdlib.h>
#include <unistd.h>

#include "wetside/book/demo.h"
#include "wetside/drive/choice.h"
#include "wetside/drive/page.h"

static const int64_t now_ms = INT64_C(1773525600000); /* 2026-03-14 22:00 UTC */

struct place {
    char folder[64], path[96];
    struct ws_book *book;
    struct ws_run_line run; /* of the demo, one roll, with cycles in its developer */
    struct ws_choice choice;
    struct ws_setup setup;
    struct ws_plan plan;
    struct ws_page_roll page;
    char text[16384];
};

/* The latest run of one roll that is developed with agitation cycles. */
static void find_run(struct place *place)
{
    struct ws_run_line run[16];
    struct ws_message why;
    int n;

    assert_int_equal(ws_run_list(place->book, true, 0, run, 16, &n), WS_OK);
    for (int i = 0; i < n && place->run.row == 0; i++) {
        assert_int_equal(ws_run_plan(place->book, run[i].row, &place->plan, &why), WS_OK);
        for (int k = 0; k < place->plan.baths; k++)
            if (place->plan.places == 1 && place->plan.bath[k].kind == WS_BATH_DEVELOPER &&
                place->plan.bath[k].agitation.rhythm == WS_CYCLES)
                place->run = run[i];
    }
    assert_true(place->run.row != 0);
}

/* Enough in every bottle for run after run. */
static void fill_bottles(struct ws_book *book)
{
    struct ws_batch batch[16];
    struct ws_message why = { "" };
    int n;

    assert_int_equal(ws_batch_list(book, WS_BATH_KINDS, batch, 16, &n), WS_OK);
    for (int i = 0; i < n; i++)
        assert_int_equal(ws_batch_stock_take(book, batch[i].row, 50000, "a cask", now_ms, &why),
                         WS_OK);
}

static int open_book(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    struct ws_message why;

    *state = place;
    setenv("TZ", "UTC", 1);
    strcpy(place->folder, "/tmp/wetside-page-XXXXXX");
    if (mkdtemp(place->folder) == NULL)
        return -1;
    snprintf(place->path, sizeof place->path, "%s/book.db", place->folder);
    if (ws_book_open(place->path, WS_BOOK_WRITE, &place->book, &why) != WS_OK ||
        ws_demo_fill(place->book, now_ms, &why) != WS_OK)
        return -1;
    fill_bottles(place->book);
    find_run(place);
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

/* Begins what was chosen; gives the row of its first roll. */
static int64_t begin(struct place *place)
{
    struct ws_stamp stamp = { .wall_ns = now_ms * 1000000 };
    struct ws_message why = { "" };
    int64_t run;

    memset(&stamp.boot, 7, sizeof stamp.boot);
    assert_int_equal(ws_choice_keep(place->book, &place->choice, now_ms, &why), WS_OK);
    assert_int_equal(
        ws_choice_plan(&place->choice, now_ms, &place->setup, &place->plan, NULL, &why), WS_OK);
    if (ws_run_keep(place->book, &place->plan, &stamp, &run, &why) != WS_OK)
        fail_msg("%s", why.text);
    return place->choice.roll[0].row;
}

static void gather(void *self, const char *line)
{
    struct place *place = self;
    size_t length = strlen(place->text);

    snprintf(place->text + length, sizeof place->text - length, "%s\n", line);
}

static const char *page_of(struct place *place, int64_t roll)
{
    struct ws_message why = { "" };

    place->text[0] = '\0';
    if (ws_page_read_roll(place->book, roll, 0, &place->page, &why) != WS_OK)
        fail_msg("%s", why.text);
    ws_page_roll_write(&place->page, WS_CELSIUS, gather, place);
    return place->text;
}

static int count(const char *text, const char *what)
{
    int n = 0;

    for (const char *at = strstr(text, what); at != NULL; at = strstr(at + 1, what))
        n++;
    return n;
}

static void has(const char *text, const char *what)
{
    if (strstr(text, what) == NULL)
        fail_msg("no '%s' in\n%s", what, text);
}

/* Method: the run of the demo's own page says nothing of a run that is repeated; repeated as it
 * was, the page names it and that nothing was changed. */
static void a_repeated_run_is_named(void **state)
{
    struct place *place = *state;
    struct ws_message why = { "" };
    const char *text;
    char line[256];

    assert_int_equal(ws_choice_repeat(place->book, place->run.row, &place->choice, &why), WS_OK);
    text = page_of(place, begin(place));
    snprintf(line, sizeof line, ": %s\n  nothing was changed\n", place->run.rolls);
    has(text, "repeats the run of ");
    has(text, line);
    assert_int_equal(count(text, "changed:"), 0);
    assert_int_equal(ws_choice_repeat(place->book, place->run.row, &place->choice, &why), WS_OK);
    memset(&place->choice.repeats, 0, sizeof place->choice.repeats);
    assert_int_equal(count(page_of(place, begin(place)), "repeats"), 0);
}

/* Method: of the demo's stock Q, time, agitation, temperature, dilution and worker are changed,
 * each alone: the page has one line, and with the temperature one more for the time that follows
 * from it. */
static void every_change_is_said(void **state)
{
    static const char *const says[] = {
        "  changed: Q: time 10:17, was ",    "  changed: Q: agitation ",
        "  changed: Q: at 23.0 C, was ",     "  changed: Q: dilution 1+3, was ",
        "  changed: by the other one, was ",
    };
    static const int lines[] = { 1, 1, 2, 1, 1 };
    struct place *place = *state;
    struct ws_message why = { "" };

    for (int i = 0; i < 5; i++) {
        struct ws_choice *choice = &place->choice;
        int developer;
        const char *text;

        assert_int_equal(ws_choice_repeat(place->book, place->run.row, choice, &why), WS_OK);
        developer = ws_choice_developer(choice);
        if (i == 0)
            assert_int_equal(ws_choice_set_time(choice, 617000, &why), WS_OK);
        else if (i == 1)
            choice->process.bath[developer].agitation.every_ms += 30000;
        else if (i == 2)
            choice->bath_c[developer] = 23;
        else if (i == 3)
            assert_int_equal(ws_dilution_read("1+3", WS_COLON_ASK, &choice->dilution, &why), WS_OK);
        else
            strcpy(choice->who, "the other one");
        text = page_of(place, begin(place));
        has(text, says[i]);
        if (count(text, "changed:") != lines[i])
            fail_msg("%d lines were expected in\n%s", lines[i], text);
    }
}

/* Method: the sleeve shows that another roll was in the tank. Its page has the reel, although the
 * frozen plan names the other; that one's page is of a roll that is not developed. */
static void a_corrected_roll_has_its_reel(void **state)
{
    struct place *place = *state;
    struct ws_roll_line waiting;
    struct ws_roll was;
    struct ws_message why = { "" };
    int n;

    assert_int_equal(ws_roll_find(place->book, place->run.rolls, &was, &why), WS_OK);
    page_of(place, was.row);
    assert_int_equal(place->page.reel, 1);
    assert_int_equal(ws_roll_queue(place->book, &waiting, 1, &n), WS_OK);
    assert_int_equal(n, 1);
    assert_int_equal(ws_run_correct_roll(place->book, place->run.row, was.row, waiting.row,
                                         "the sleeve says so", now_ms, &why),
                     WS_OK);
    has(page_of(place, waiting.row), "on reel 1, counted from the bottom");
    has(page_of(place, was.row), "not developed yet");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_repeated_run_is_named, open_book, close_book),
        cmocka_unit_test_setup_teardown(every_change_is_said, open_book, close_book),
        cmocka_unit_test_setup_teardown(a_corrected_roll_has_its_reel, open_book, close_book),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
