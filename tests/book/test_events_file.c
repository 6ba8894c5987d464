/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The events file: what is written reads back to the bit, and what is no such file is refused by
 * its place. */
#include "book_aid.h"

#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "wetside/book/events_file.h"

enum { ROWS = 5 };

/* Every kind of field at its ends: a temperature that decimal digits do not give exactly, none at
 * all, the largest numbers. */
static void make_rows(struct ws_id *plan, struct ws_journal_row row[ROWS])
{
    static const enum ws_event_kind kinds[ROWS] = { WS_EVENT_BEGIN, WS_EVENT_HAND, WS_EVENT_READING,
                                                    WS_EVENT_END_SET, WS_EVENT_CLOSE };

    memset(row, 0, ROWS * sizeof *row);
    ws_id_make(plan);
    for (int i = 0; i < ROWS; i++) {
        row[i].event = (struct ws_event){ .at_ms = i * INT64_C(61234),
                                          .sequence = (uint32_t)i + 1,
                                          .kind = kinds[i],
                                          .cause = (enum ws_cause)(i % 4),
                                          .bath = i - 1,
                                          .value_c = NAN };
        row[i].stamp = aid_stamp(INT64_C(1773500000000) + i);
        row[i].epoch = 1 + i / 3;
    }
    row[1].event.of = UINT32_MAX;
    row[2].event.value_c = 20.1 + 1e-14;
    row[3].event.value_ms = INT64_MIN;
    row[2].event.value_ms = INT64_MAX;
    row[3].event.estimated = true;
    row[4].event.sequence = UINT32_MAX;
    row[4].stamp.boot_ns = (INT64_C(1) << 62);
    row[4].stamp.wall_ns = -(INT64_C(1) << 62);
}

static void assert_same(const struct ws_journal_row *is, const struct ws_journal_row *was, int rows)
{
    for (int i = 0; i < rows; i++) {
        const struct ws_event *a = &is[i].event, *b = &was[i].event;

        assert_int_equal(is[i].run, 0);
        assert_int_equal(is[i].epoch, was[i].epoch);
        assert_int_equal(a->sequence, b->sequence);
        assert_int_equal(a->kind, b->kind);
        assert_int_equal(a->cause, b->cause);
        assert_int_equal(a->at_ms, b->at_ms);
        assert_int_equal(a->of, b->of);
        assert_int_equal(a->bath, b->bath);
        assert_int_equal(a->value_ms, b->value_ms);
        assert_int_equal(a->estimated, b->estimated);
        assert_true(a->value_c == b->value_c || (isnan(a->value_c) && isnan(b->value_c)));
        assert_memory_equal(&is[i].stamp.boot, &was[i].stamp.boot, 16);
        assert_int_equal(is[i].stamp.boot_ns, was[i].stamp.boot_ns);
        assert_int_equal(is[i].stamp.wall_ns, was[i].stamp.wall_ns);
    }
}

/* Method: rows with every field at its ends are written and read back, and are the same to the bit;
 * the file is for its owner alone. */
static void reads_back_what_it_wrote(void **state)
{
    struct ws_journal_row row[ROWS], *read = NULL;
    struct ws_id plan, id;
    const char *path = aid_path("run.json");
    unsigned char *text;
    struct stat is;
    long size;
    int rows;

    (void)state;
    make_rows(&plan, row);
    aid_ok(ws_events_write(path, &plan, row, ROWS, aid_why()));
    assert_int_equal(stat(path, &is), 0);
    assert_int_equal(is.st_mode & 07777, 0600);
    text = aid_bytes(path, &size);
    aid_ok(ws_events_from_json((const char *)text, (size_t)size, &id, &read, &rows, aid_why()));
    assert_memory_equal(&id, &plan, sizeof id);
    assert_int_equal(rows, ROWS);
    assert_same(read, row, ROWS);
    free(read);
    free(text);
}

/* Method: a file, a folder, and a link to nowhere stand at the path; each is as it was after the
 * refusal. A folder that is not there and one that can't be written are said in a line, and no half
 * a file is left. */
static void overwrites_nothing(void **state)
{
    struct ws_journal_row row[ROWS];
    struct ws_id plan;
    int files;

    (void)state;
    make_rows(&plan, row);
    aid_write(aid_path("run.json"), "mine", 4);
    assert_int_equal(mkdir(aid_path("folder"), 0700), 0);
    assert_int_equal(symlink("nowhere", aid_path("link")), 0);
    files = aid_files();
    aid_is(ws_events_write(aid_path("run.json"), &plan, row, ROWS, aid_why()), WS_EXISTS);
    aid_says("run.json: is there already, and was left as it is");
    aid_unchanged(aid_path("run.json"), (const unsigned char *)"mine", 4);
    aid_is(ws_events_write(aid_path("folder"), &plan, row, ROWS, aid_why()), WS_EXISTS);
    aid_is(ws_events_write(aid_path("link"), &plan, row, ROWS, aid_why()), WS_EXISTS);
    aid_is(ws_events_write(aid_path("none/run.json"), &plan, row, ROWS, aid_why()), WS_IO);
    aid_says("can't be made");
    aid_is(ws_events_write("", &plan, row, ROWS, aid_why()), WS_BAD_INPUT);
    aid_is(ws_events_write("/dev/full/x", &plan, row, ROWS, aid_why()), WS_IO);
    assert_int_equal(aid_files(), files);
    assert_false(aid_exists(aid_path("nowhere")));
}

/* Method: what is no event of a journal is not written, and no file is begun. */
static void writes_only_events(void **state)
{
    struct ws_journal_row row[ROWS];
    struct ws_id plan, none = { { 0 } };

    (void)state;
    make_rows(&plan, row);
    aid_is(ws_events_write(aid_path("a"), &none, row, ROWS, aid_why()), WS_BAD_EVENT);
    aid_is(ws_events_write(aid_path("a"), &plan, row, 0, aid_why()), WS_BAD_EVENT);
    row[1].event.kind = WS_EVENT_TICK;
    aid_is(ws_events_write(aid_path("a"), &plan, row, ROWS, aid_why()), WS_BAD_EVENT);
    row[1].event.kind = (enum ws_event_kind)99;
    aid_is(ws_events_write(aid_path("a"), &plan, row, ROWS, aid_why()), WS_BAD_EVENT);
    row[1].event.kind = WS_EVENT_HAND;
    row[1].event.cause = (enum ws_cause)9;
    aid_is(ws_events_write(aid_path("a"), &plan, row, ROWS, aid_why()), WS_BAD_EVENT);
    row[1].event.cause = WS_BY_HAND;
    row[1].event.value_c = (double)INFINITY;
    aid_is(ws_events_write(aid_path("a"), &plan, row, ROWS, aid_why()), WS_BAD_EVENT);
    row[1].event.value_c = 20;
    row[2].event.sequence = 2;
    aid_is(ws_events_write(aid_path("a"), &plan, row, ROWS, aid_why()), WS_BAD_EVENT);
    aid_says("event 2");
    assert_int_equal(aid_files(), 0);
}

#define ROW                                                                                        \
    "{\"sequence\":1,\"epoch\":1,\"kind\":\"begin\",\"at_ms\":0,\"of\":0,\"cause\":\"hand\","      \
    "\"bath\":-1,\"value_ms\":0,\"value_c\":null,\"estimated\":false,"                             \
    "\"boot\":\"07000000000000000000000000000000\",\"boot_ns\":5,\"wall_ns\":6}"
#define ROW2                                                                                       \
    "{\"sequence\":2,\"epoch\":2,\"kind\":\"hand\",\"at_ms\":10,\"of\":0,\"cause\":\"hand\","      \
    "\"bath\":-1,\"value_ms\":0,\"value_c\":20.5,\"estimated\":true,"                              \
    "\"boot\":\"07000000000000000000000000000000\",\"boot_ns\":15,\"wall_ns\":16}"
#define FILE_OF(rows)                                                                              \
    "{\"wetside\": \"events\", \"format\": 1, \"run\": \"0102030405060708090a0b0c0d0e0f10\", "     \
    "\"events\": [" rows "]}"

/* One file with `was` replaced by `is`; refused with a line that holds `says`. */
static void refused_at(const char *was, const char *is, const char *says, int line)
{
    static const char good[] = FILE_OF(ROW ",\n" ROW2);
    const char *at = strstr(good, was);
    struct ws_journal_row *row = NULL;
    struct ws_id plan;
    char text[4096];
    int rows = 0, length;

    if (at == NULL)
        _fail(__FILE__, line);
    length = snprintf(text, sizeof text, "%.*s%s%s", (int)(at - good), good, is, at + strlen(was));
    aid_expect_at(ws_events_from_json(text, (size_t)length, &plan, &row, &rows, aid_why()),
                  WS_BAD_INPUT, is, __FILE__, line);
    assert_null(row);
    aid_says_at(says, __FILE__, line);
}
#define REFUSED(was, is, says) refused_at(was, is, says, __LINE__)

/* Method: one file that is right, each of its members in turn missing, of another kind, out of its
 * bounds or unknown; each refusal names the member by its path, or the line. */
static void refuses_by_place(void **state)
{
    (void)state;
    REFUSED("\"wetside\": \"events\"", "\"x\": 1", "no events file");
    REFUSED("\"wetside\": \"events\"", "\"wetside\": \"process\"", "no events file");
    REFUSED("\"format\": 1", "\"format\": 2", "newer");
    REFUSED("\"format\": 1, ", "", "format: must be");
    REFUSED("\"format\": 1", "\"format\": \"1\"", "format: must be");
    REFUSED("\"run\": \"01", "\"run\": \"x1", "run: must be 32");
    REFUSED("\"run\": \"0102030405060708090a0b0c0d0e0f10\"",
            "\"run\": \"00000000000000000000000000000000\"", "run: names no run");
    REFUSED("\"run\": \"0102030405060708090a0b0c0d0e0f10\", ", "", "run: is missing");
    REFUSED("\"run\"", "\"mine\": 1, \"run\"", "mine: no such field");
    REFUSED("\"events\": [", "\"events\": 5, \"x\": [", "no such field");
    REFUSED("[{", "[[{", "line");
    REFUSED("\"estimated\":true", "\"estimated\":1", "events[1].estimated: must be true or false");
    REFUSED(",\n{\"sequence\":2", ",\n7,{\"sequence\":2", "events[1]: must be an object");
    REFUSED("\"sequence\":2", "\"sequence\":1", "events[1].sequence: is not above");
    REFUSED("\"sequence\":1,", "\"sequence\":0,", "events[0].sequence: 0 is not from 1");
    REFUSED("\"sequence\":1,", "\"sequence\":4294967296,", "events[0].sequence");
    REFUSED("\"sequence\":1,", "\"sequence\":1.0,", "events[0].sequence: must be a whole");
    REFUSED("\"sequence\":1,", "", "events[0].sequence: is missing");
    REFUSED("\"sequence\":1,", "\"sequence\":1,\"sequence\":1,", "twice");
    REFUSED("\"sequence\":1,", "\"sequence\":99999999999999999999,", "line 1");
    REFUSED("\"sequence\":2", "\"weight\":1,\"sequence\":2", "events[1].weight: no such field");
    REFUSED("\"hand\",\"at_ms\":10", "\"tick\",\"at_ms\":10", "events[1].kind: \"tick\"");
    REFUSED("\"hand\",\"at_ms\":10", "7,\"at_ms\":10", "events[1].kind: must be one of");
    REFUSED("\"at_ms\":0,", "\"at_ms\":11,", "events[1].at_ms: is before");
    REFUSED("\"at_ms\":0,", "\"at_ms\":-1,", "events[0].at_ms: -1 is not from 0");
    REFUSED("\"at_ms\":10", "\"at_ms\":1125899906842625", "events[1].at_ms");
    REFUSED("\"of\":0", "\"of\":-1", "events[0].of");
    REFUSED("\"cause\":\"hand\"", "\"cause\":\"god\"", "events[0].cause: \"god\" is none of");
    REFUSED("\"bath\":-1", "\"bath\":28", "events[0].bath: 28 is not from -1 to 27");
    REFUSED("\"value_ms\":0", "\"value_ms\":0.5", "events[0].value_ms");
    REFUSED("\"value_c\":null", "\"value_c\":\"20C\"", "events[0].value_c");
    REFUSED("\"epoch\":1", "\"epoch\":3", "events[1].epoch: is below");
    REFUSED("\"epoch\":1", "\"epoch\":0", "events[0].epoch");
    REFUSED("\"boot\":\"07", "\"boot\":\"7", "events[0].boot: must be 32");
    REFUSED("\"boot_ns\":5", "\"boot_ns\":9223372036854775807", "events[0].boot_ns");
    REFUSED("\"wall_ns\":6}", "\"wall_ns\":6,}", "line 1");
    REFUSED(ROW2, "", "line 2");
}

/* Method: every length a file can be cut to is refused, and none of them is taken for a shorter
 * one. */
static void refuses_what_was_cut(void **state)
{
    static const char good[] = FILE_OF(ROW ",\n" ROW2);
    struct ws_journal_row *row = NULL;
    struct ws_id plan;
    int rows;

    (void)state;
    for (size_t length = 0; length < sizeof good - 1; length++) {
        char *cut = malloc(length + 1); /* so that a read past it is seen */

        memcpy(cut, good, length);
        cut[length] = '\0';
        aid_is(ws_events_from_json(cut, length, &plan, &row, &rows, aid_why()), WS_BAD_INPUT);
        assert_null(row);
        free(cut);
    }
    aid_ok(ws_events_from_json(good, sizeof good - 1, &plan, &row, &rows, aid_why()));
    assert_int_equal(rows, 2);
    free(row);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, aid_begin, aid_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(reads_back_what_it_wrote), TEST(overwrites_nothing),   TEST(writes_only_events),
        TEST(refuses_by_place),         TEST(refuses_what_was_cut),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
