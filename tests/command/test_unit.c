/* SPDX-License-Identifier: GPL-3.0-or-later */
/* In which unit a bare number is read, and temperatures are printed. Method: books in a folder of
 * this test's own, set to Fahrenheit, to Celsius, to what is none, and no book at all; what a verb
 * makes of 68 or 20 says in which unit it was read. */
#include "../aid.h"
#include "ran.h"

#include <stdlib.h>
#include <sys/stat.h>

#include "wetside/book/book.h"
#include "wetside/book/demo.h"

static char fahrenheit[256], celsius[256], broken[256], none[256];

static int make_book(const char *name, const char *setting, char *path, size_t size)
{
    struct ws_book *book = NULL;
    struct ws_message why = { "" };

    snprintf(path, size, "%s", ran_path(name));
    if (ws_book_open(path, WS_BOOK_WRITE, &book, &why) != WS_OK ||
        ws_demo_fill(book, INT64_C(1773500000000), &why) != WS_OK ||
        ws_setting_set(book, "temperatures", setting, &why) != WS_OK) {
        print_error("%s\n", why.text);
        return 1;
    }
    ws_book_close(book);
    return 0;
}

static int begin(void **state)
{
    (void)state;
    snprintf(none, sizeof none, "%s", ran_path("none.db"));
    return make_book("f.db", "fahrenheit", fahrenheit, sizeof fahrenheit) ||
           make_book("c.db", "celsius", celsius, sizeof celsius) ||
           make_book("b.db", "kelvin", broken, sizeof broken);
}

static int end(void **state)
{
    (void)state;
    ran_folder_remove();
    return 0;
}

static void assert_says(struct ran said, const char *part)
{
    if (said.status != 0 || strstr(said.out, part) == NULL)
        print_error("%d: %s%s\nwanted: %s\n", said.status, said.out, said.err, part);
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, part));
    ran_free(&said);
}

static void a_bare_number_is_read_as_the_book_is_set(void **state)
{
    struct stat file;

    (void)state;
    assert_says(ran("--book", fahrenheit, "time", "--point", "68=6:30", "--at", "68"), "at 68.0 F");
    assert_says(ran("--book", celsius, "time", "--point", "20=6:30", "--at", "20"), "at 20.0 C");
    assert_says(ran("--book", broken, "time", "--point", "20=6:30", "--at", "20"), "at 20.0 C");
    assert_says(ran("--book", none, "time", "--point", "20=6:30", "--at", "20"), "at 20.0 C");
    /* Asking does not begin a book. */
    assert_int_equal(stat(none, &file), -1);
    /* 70 C is no bath. */
    ran_refused(2, WORDS("--book", celsius, "time", "--point", "20=6:30", "--at", "70"), "--at",
                "outside", "70F would be 21.1 C");
}

static void what_is_given_goes_before_what_is_set(void **state)
{
    (void)state;
    assert_says(
        ran("--book", fahrenheit, "time", "--point", "20=6:30", "--at", "20", "--unit", "C"),
        "at 20.0 C");
    assert_says(ran("--book", celsius, "time", "--unit", "F", "--point", "68=6:30", "--at", "68"),
                "at 68.0 F");
    assert_says(ran("--book", fahrenheit, "time", "--point", "20C=6:30", "--at", "20C"),
                "at 68.0 F");
}

/* JSON is the same whatever the book is set to. */
static void json_is_in_celsius(void **state)
{
    json_t *answer =
        ran_json("--book", fahrenheit, "time", "--point", "68=6:30", "--at", "68", "--json");

    (void)state;
    ws_assert_near(json_number_value(json_object_get(answer, "at_c")), 20, 1e-9);
    json_decref(answer);
}

static void verbs_print_as_the_book_is_set(void **state)
{
    json_t *list = ran_json("--book", celsius, "process", "list", "--json");
    json_t *rolls = ran_json("--book", celsius, "rolls", "--json");
    const char *process = json_string_value(json_object_get(json_array_get(list, 0), "name"));
    const char *roll = NULL;
    size_t i;
    json_t *line;

    (void)state;
    json_array_foreach(rolls, i,
                       line) if (roll == NULL && json_is_string(json_object_get(line, "developed")))
        roll = json_string_value(json_object_get(line, "number"));
    assert_non_null(process);
    assert_non_null(roll);
    assert_says(ran("--book", celsius, "process", "list"), " C ");
    assert_says(ran("--book", fahrenheit, "process", "list"), " F ");
    assert_says(ran("--book", fahrenheit, "process", "list", "--unit", "C"), " C ");
    assert_says(ran("--book", celsius, "process", "show", process), " C\n");
    assert_says(ran("--book", fahrenheit, "process", "show", process), " F\n");
    assert_says(ran("--book", celsius, "roll", roll), " C");
    assert_says(ran("--book", fahrenheit, "roll", roll), " F");
    assert_says(ran("--book", fahrenheit, "rehearse", "--process", process, "--at", "68"),
                "pour in");
    ran_refused(2, WORDS("--book", celsius, "rehearse", "--process", process, "--at", "68"), "--at",
                "outside");
    json_decref(list);
    json_decref(rolls);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bare_number_is_read_as_the_book_is_set),
        cmocka_unit_test(what_is_given_goes_before_what_is_set),
        cmocka_unit_test(json_is_in_celsius),
        cmocka_unit_test(verbs_print_as_the_book_is_set),
    };

    return cmocka_run_group_tests_name("the unit of temperatures", tests, begin, end);
}
