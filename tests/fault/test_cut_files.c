/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The power goes while the program writes a file beside the book: a backup, one that takes the
 * place of an older one, events that the book did not take.
 *
 * Method: as in test_cut.c; the notes are also of what the program does without SQLite (own.c).
 * What was acknowledged is whole on every disk a cut leaves; the name of a backup is never that of
 * half a book. */
#include <stdlib.h>

#include "../book/book_aid.h"
#include "../book/fault_vfs.h"
#include "cut.h"
#include "evening.h"
#include "state.h"
#include "torture.h"
#include "wetside/book/backup.h"
#include "wetside/book/events_file.h"

enum { CUTS = 90, TORTURE_DRAWS = 6 };

/* What is acknowledged, one after the other. */
enum { NOTHING, FIRST_BACKUP, A_FILM, SECOND_BACKUP, EVENTS };

static char *first_state, *second_state;
static uint64_t seed;
static int cuts;

static const struct ws_journal_row a_row = {
    .epoch = 1,
    .stamp = { .boot = { { 7 } }, .boot_ns = 1, .wall_ns = 1 },
    .event = { .kind = WS_EVENT_READING, .at_ms = 1000, .sequence = 2, .bath = -1, .value_c = 20 }
};

static struct cut_notes *write_files(void)
{
    struct ws_backup how = { .replace = true };
    struct cut_notes *notes;
    struct ws_book *book;
    char folder[320];

    evening_begin(EVENING_LOGGED, "live");
    snprintf(folder, sizeof folder, "%s/live", aid_folder());
    cut_begin(folder);
    book = aid_open(evening_path("live"), WS_BOOK_WRITE);
    first_state = state_of(book);
    aid_ok(ws_book_backup(book, evening_file("live", "copy.db"), &how, NULL, aid_why()));
    cut_acknowledge();
    aid_ok(ws_film_add(book, "Osprey 200 again", aid_why()));
    cut_acknowledge();
    second_state = state_of(book);
    aid_ok(ws_book_backup(book, evening_file("live", "copy.db"), &how, NULL, aid_why()));
    cut_acknowledge();
    aid_ok(ws_events_write(evening_file("live", "events.json"), &evening.open_plan.id, &a_row, 1,
                           aid_why()));
    cut_acknowledge();
    notes = cut_end();
    ws_book_close(book);
    return notes;
}

static bool may_be_first(int acknowledged)
{
    return acknowledged < SECOND_BACKUP;
}

static bool may_be_second(int acknowledged)
{
    return acknowledged >= A_FILM;
}

static void judge_backup(const char *name, int acknowledged)
{
    char *state;

    if (!aid_exists(evening_file("dead", "copy.db"))) {
        if (acknowledged >= FIRST_BACKUP)
            torture_wrong(name, "an acknowledged backup is gone");
        return;
    }
    state = state_after_opening(evening_file("dead", "copy.db"), aid_why());
    if (state == NULL)
        torture_wrong(name, "the backup is not sound: %s", aid_message.text);
    else if (!(may_be_first(acknowledged) && strcmp(state, first_state) == 0) &&
             !(may_be_second(acknowledged) && strcmp(state, second_state) == 0))
        torture_wrong(
            name, "after %d acknowledgements another backup: %s", acknowledged,
            state_difference(state, may_be_first(acknowledged) ? first_state : second_state));
    free(state);
}

static void judge_events(const char *name, int acknowledged)
{
    struct ws_journal_row *row = NULL;
    unsigned char *bytes;
    struct ws_id plan;
    int rows = 0;
    long size;

    if (acknowledged < EVENTS)
        return;
    bytes = aid_bytes(evening_file("dead", "events.json"), &size);
    if (bytes == NULL || ws_events_from_json((const char *)bytes, (size_t)size, &plan, &row, &rows,
                                             aid_why()) != WS_OK)
        torture_wrong(name, "acknowledged events are gone");
    else if (rows != 1 || !ws_id_equal(&plan, &evening.open_plan.id))
        torture_wrong(name, "the events are others");
    free(row);
    free(bytes);
}

static void judge_book(const char *name, int acknowledged)
{
    char *state = state_after_opening(evening_path("dead"), aid_why());

    if (state == NULL)
        torture_wrong(name, "the book is not sound: %s", aid_message.text);
    else if (strcmp(state, second_state) != 0 &&
             (acknowledged >= A_FILM || strcmp(state, first_state) != 0))
        torture_wrong(name, "the book: %s", state_difference(state, second_state));
    free(state);
}

static void test_cuts(void **state)
{
    struct cut_notes *notes = write_files();
    int moments = cut_moments(notes);
    int times = torture_size(CUTS, moments * TORTURE_DRAWS);
    char folder[320];

    (void)state;
    snprintf(folder, sizeof folder, "%s/dead", aid_folder());
    for (int i = 0; i < times; i++) {
        /* The last moment among them, when all is acknowledged. */
        int moment = (int)((int64_t)(moments - 1) * i / (times - 1)), acknowledged;
        uint64_t chance = aid_random(&seed) % 1000000;
        enum cut_how how = (enum cut_how)(i % CUT_HOWS);
        char name[80];

        snprintf(name, sizeof name, "%d/%s %llu", moment, cut_how_name(how),
                 (unsigned long long)chance);
        if (!torture_wants(name))
            continue;
        evening_empty("dead");
        acknowledged = cut_make(notes, moment, how, chance, folder);
        judge_backup(name, acknowledged);
        judge_events(name, acknowledged);
        judge_book(name, acknowledged);
        cuts++;
    }
    free(first_state);
    free(second_state);
    cut_free(notes);
    assert_int_equal(torture_wrongs(), 0);
}

static int begin(void **state)
{
    if (aid_begin(state) != 0)
        return -1;
    fault_begin(); /* the real disk need not be waited for */
    evening_make();
    return 0;
}

static int end(void **state)
{
    evening_clear();
    fault_end();
    return aid_end(state);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_cuts, begin, end),
    };
    int failed;

    (void)argc;
    torture_begin(argv[0]);
    seed = torture_seed();
    failed = cmocka_run_group_tests(tests, NULL, NULL);
    torture_figure("%d power cuts while files are written beside the book", cuts);
    return failed;
}
