/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names: what can't be seen or steers a terminal is no name of anything. */
#include "book_aid.h"

#include "wetside/calc/units.h"

static struct ws_book *book;

static int begin(void **state)
{
    if (aid_begin(state) != 0)
        return -1;
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    return 0;
}

static int end(void **state)
{
    ws_book_close(book);
    return aid_end(state);
}

static enum ws_status film(const char *name, struct ws_message *why)
{
    return ws_film_add(book, name, why);
}

static enum ws_status roll(const char *name, struct ws_message *why)
{
    struct ws_roll is = { .film = "Tarn 125" };

    ws_text_copy(is.number, sizeof is.number, name);
    return ws_roll_add(book, &is, why);
}

static enum ws_status batch(const char *name, struct ws_message *why)
{
    struct ws_batch is = { .what = "stop", .use = WS_BATH_STOP, .volume_ml = 500 };

    ws_text_copy(is.number, sizeof is.number, name);
    return ws_batch_add(book, &is, 1, why);
}

static enum ws_status content(const char *name, struct ws_message *why)
{
    struct ws_batch is = { .number = "MQB-014", .use = WS_BATH_STOP, .volume_ml = 500 };

    ws_text_copy(is.what, sizeof is.what, name);
    return ws_batch_add(book, &is, 1, why);
}

static enum ws_status tank(const char *name, struct ws_message *why)
{
    struct ws_tank is = { .reels = 2 };

    ws_text_copy(is.name, sizeof is.name, name);
    return ws_tank_keep(book, &is, why);
}

static enum ws_status process(const char *name, struct ws_message *why)
{
    struct ws_process is = { .baths = 1 };

    ws_bath_default(WS_BATH_WASH, &is.bath[0]);
    is.bath[0].time_ms = 60000;
    ws_text_copy(is.name, sizeof is.name, name);
    return ws_process_keep(book, &is, 1, why);
}

static enum ws_status process_file(const char *name, struct ws_message *why)
{
    struct ws_process is;
    char text[300];

    snprintf(text, sizeof text,
             "{\"wetside\": \"process\", \"format\": 1, \"name\": \"%s\", \"baths\": [{\"kind\": "
             "\"wash\", \"time\": \"1:00\"}]}",
             name);
    return ws_process_from_json(text, strlen(text), &is, why);
}

static const struct {
    enum ws_status (*keep)(const char *name, struct ws_message *why);
    const char *field;
} things[] = {
    { film, "film: " }, { roll, "number: " },  { batch, "number: " },      { content, "what: " },
    { tank, "name: " }, { process, "name: " }, { process_file, "name: " },
};

/* Method: names that nobody could tell from an empty one, and controls, given to everything that
 * has a name. Each is refused with a line that begins with the field and holds nothing that steers.
 */
static void test_what_cant_be_seen_is_no_name(void **state)
{
    static const char *const names[] = {
        " ",
        "\xC2\xA0",                  /* no-break space */
        "\xE2\x80\x8B",              /* zero-width space */
        " \xE2\x80\x8D\xE3\x80\x80", /* joiner, ideographic space */
        "\xEF\xBB\xBF",              /* byte order mark */
        "\xE2\xA0\x80",              /* the empty Braille pattern */
        "\xE3\x85\xA4",              /* Hangul filler */
        "\xCC\x81\xCC\x82",          /* marks without a letter */
        "\xC2\x9B[31m",              /* a control that begins a terminal's sequence */
        "a\x1B[2J",
    };

    (void)state;
    for (size_t t = 0; t < sizeof things / sizeof things[0]; t++)
        for (size_t n = 0; n < sizeof names / sizeof names[0]; n++) {
            if (strchr(names[n], '\x1B') != NULL && things[t].keep == process_file)
                continue; /* that is no JSON */
            aid_is(things[t].keep(names[n], aid_why()), WS_BAD_INPUT);
            if (strncmp(aid_message.text, things[t].field, strlen(things[t].field)) != 0)
                fail_msg("\"%s\" does not begin with \"%s\"", aid_message.text, things[t].field);
            for (const char *at = aid_message.text; *at != '\0'; at++)
                assert_true((unsigned char)*at >= 0x20 && (unsigned char)*at < 0x7F);
        }
}

/* Method: the same things under names that can be seen, some only just. */
static void test_what_can_be_seen_is_a_name(void **state)
{
    static const char *const names[] = { ".", "\xC3\xBC", "\xE6\x97\xA5", "Tarn\xC2\xA0x",
                                         "e\xCC\x81" };

    (void)state;
    for (size_t n = 0; n < sizeof names / sizeof names[0]; n++)
        for (size_t t = 0; t < sizeof things / sizeof things[0]; t++)
            if (things[t].keep != content || n == 0)
                aid_ok(things[t].keep(names[n], aid_why()));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_what_cant_be_seen_is_no_name),
        TEST(test_what_can_be_seen_is_a_name),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
