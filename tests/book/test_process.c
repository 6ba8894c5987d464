/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Processes in the book: versions, names, and the list. */
#include "book_aid.h"

#include "wetside/calc/units.h"

static struct ws_book *book;
static struct ws_process process, found;

static int begin(void **state)
{
    if (aid_begin(state) != 0)
        return -1;
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    return 0;
}

static int end(void **state)
{
    int sound = aid_sound(book);

    return aid_end(state) != 0 || sound != 0 ? -1 : 0;
}

static void make(const char *name, int64_t time_ms)
{
    memset(&process, 0, sizeof process);
    ws_text_copy(process.name, sizeof process.name, name);
    ws_text_copy(process.film, sizeof process.film, "Tarn 125");
    process.baths = 2;
    ws_bath_default(WS_BATH_PRESOAK, &process.bath[0]);
    process.bath[0].time_ms = 60000;
    ws_bath_default(WS_BATH_DEVELOPER, &process.bath[1]);
    ws_text_copy(process.bath[1].name, WS_NAME, "MQB");
    process.bath[1].dilution = (struct ws_dilution){ { 1, 1 }, 2 };
    process.bath[1].points = 1;
    process.bath[1].point[0] = (struct ws_point){ 20, time_ms, 0 };
}

static int64_t rows(const char *where)
{
    char statement[200];

    snprintf(statement, sizeof statement, "SELECT count(*) FROM process WHERE %s", where);
    return aid_number(aid_path("book.db"), statement);
}

/* Method: the same process twice, then with another time, then with the first one again. Each
 * change is a version more; what is found is the current one. */
static void test_versions(void **state)
{
    struct ws_id first;

    (void)state;
    make("p", 570000);
    aid_ok(ws_process_keep(book, &process, 1000, aid_why()));
    first = process.id;
    assert_false(ws_id_none(&first));
    make("P", 570000);
    ws_text_copy(process.name, sizeof process.name, "p");
    aid_ok(ws_process_keep(book, &process, 2000, aid_why()));
    assert_true(ws_id_equal(&process.id, &first));
    assert_int_equal(rows("1"), 1);

    process.bath[1].point[0].time_ms = 480000; /* under the id of the first version */
    aid_ok(ws_process_keep(book, &process, 3000, aid_why()));
    assert_false(ws_id_equal(&process.id, &first));
    assert_int_equal(rows("1"), 2);
    assert_int_equal(rows("current = 1 AND version = 2 AND kept_ms = 3000"), 1);
    aid_ok(ws_process_find(book, "p", &found, aid_why()));
    assert_int_equal(found.bath[1].point[0].time_ms, 480000);
    assert_true(ws_id_equal(&found.id, &process.id));

    make("p", 570000);
    aid_ok(ws_process_keep(book, &process, 4000, aid_why()));
    assert_int_equal(rows("1"), 3);
    assert_int_equal(aid_number(aid_path("book.db"), "SELECT count(*) FROM process_point"), 3);
}

/* Method: processes that can't be run or kept. */
static void test_refusals(void **state)
{
    (void)state;
    make("", 570000);
    aid_is(ws_process_keep(book, &process, 1, aid_why()), WS_BAD_INPUT);
    make("p", -5);
    aid_is(ws_process_keep(book, &process, 1, aid_why()), WS_BAD_PLAN);
    aid_says("baths[1]");
    make("p", 570000);
    process.baths = 0;
    aid_is(ws_process_keep(book, &process, 1, aid_why()), WS_BAD_PLAN);
    make("p", 570000);
    process.bath[0].name[0] = '\x1B';
    aid_is(ws_process_keep(book, &process, 1, aid_why()), WS_BAD_INPUT);
    assert_int_equal(rows("1"), 0);
    aid_is(ws_process_find(book, "p", &found, aid_why()), WS_NOT_FOUND);
    aid_says("there is none yet");
}

/* Method: three processes, of which two were used; the latest used is first, a new version keeps
 * what is known of the use, and a name nearly right says which are near. */
static void test_the_list(void **state)
{
    static const char *const names[] = { "Tarn in MQB", "Halden in MQB", "Osprey stand" };
    static struct ws_plan plan;
    struct ws_process_line line[4];
    int n;

    (void)state;
    for (int i = 0; i < 3; i++) {
        make(names[i], 570000);
        aid_ok(ws_process_keep(book, &process, 1, aid_why()));
    }
    for (int i = 0; i < 3; i++) {
        struct ws_stamp stamp = aid_stamp(1000 * (3 - i));
        int64_t row;

        aid_plan(&plan, NULL, NULL);
        ws_text_copy(plan.process, sizeof plan.process, names[i == 2 ? 0 : i]);
        aid_ok(ws_run_keep(book, &plan, &stamp, &row, aid_why()));
    }
    make(names[0], 480000);
    aid_ok(ws_process_keep(book, &process, 9, aid_why()));
    aid_ok(ws_process_list(book, line, 4, &n));
    assert_int_equal(n, 3);
    assert_string_equal(line[0].name, "Tarn in MQB");
    assert_int_equal(line[0].runs, 2);
    assert_int_equal(line[0].used_ms, 3000);
    assert_int_equal(line[0].time_ms, 480000);
    ws_assert_near(line[0].c, 20, 0);
    assert_string_equal(line[0].developer, "MQB");
    assert_string_equal(line[0].dilution, "1+1");
    assert_string_equal(line[0].film, "Tarn 125");
    assert_string_equal(line[1].name, "Halden in MQB");
    assert_int_equal(line[2].used_ms, 0);
    assert_int_equal(line[2].runs, 0);
    aid_ok(ws_process_list(book, line, 2, &n));
    assert_int_equal(n, 2);
    aid_is(ws_process_find(book, "Osprey stnd", &found, aid_why()), WS_NOT_FOUND);
    aid_says("the nearest is Osprey stand");
    aid_ok(ws_process_find(book, "osprey STAND", &found, aid_why()));
    assert_int_equal(aid_number(aid_path("book.db"),
                                "SELECT count(*) FROM run JOIN process ON process.process ="
                                " run.process_row WHERE process.version = 1"),
                     3);
}

/* Method: a bath's kind is changed behind the book's back to one this program does not know. */
static void test_a_spoiled_process(void **state)
{
    (void)state;
    make("p", 570000);
    aid_ok(ws_process_keep(book, &process, 1, aid_why()));
    ws_book_close(book);
    aid_execute(aid_path("book.db"), "UPDATE process_bath SET kind = 'soup' WHERE bath = 0");
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    aid_is(ws_process_find(book, "p", &found, aid_why()), WS_DAMAGED);
    aid_says("baths[0].kind");
    aid_spoiled("process p: can't be used: baths[0].kind");
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_versions),
        TEST(test_refusals),
        TEST(test_the_list),
        TEST(test_a_spoiled_process),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
