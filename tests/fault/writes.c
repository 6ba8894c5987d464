/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every transaction that writes. Each can be asked again after it failed, with the same values. */
#include <math.h>

#include "../book/book_aid.h"
#include "evening.h"
#include "wetside/book/backup.h"
#include "wetside/book/check.h"
#include "wetside/book/demo.h"
#include "wetside/book/events_file.h"
#include "wetside/calc/units.h"

/* ---- the book itself ------------------------------------------------------------------------- */

static enum ws_status open_to_write(struct doing *doing)
{
    return ws_book_open(doing->path, WS_BOOK_WRITE, &doing->book, &doing->why);
}

/* What was not copied back into the book is done at the close; it can't fail in words. */
static enum ws_status close_it(struct doing *doing)
{
    ws_book_close(doing->book);
    doing->book = NULL;
    return WS_OK;
}

/* Beside the book, so that what is left behind is seen. */
static enum ws_status back_up(struct doing *doing)
{
    struct ws_backup how = { .replace = true };
    int64_t bytes;

    return ws_book_backup(doing->book, evening_file("live", "copy.db"), &how, &bytes, &doing->why);
}

static enum ws_status check(struct doing *doing)
{
    return ws_book_check(doing->book, &doing->why);
}

static void count_fault(void *self, const struct ws_fault *fault)
{
    int *faults = self;

    (void)fault;
    (*faults)++;
}

/* Of a sound book nothing is told, however little of it can be read. */
static enum ws_status look_through(struct doing *doing)
{
    struct ws_book_seen seen;
    int faults = 0;
    enum ws_status status = ws_book_faults(doing->book, count_fault, &faults, &seen, &doing->why);

    if (status == WS_OK)
        doing_say(doing, "%d faults, %lld runs, %lld events", faults, (long long)seen.runs,
                  (long long)seen.events);
    else if (faults > 0)
        return ws_fail(&doing->why, WS_DAMAGED, "%d faults told of a sound book", faults);
    return status;
}

static enum ws_status set_new(struct doing *doing)
{
    return ws_setting_set(doing->book, "flash", "on", &doing->why);
}

static enum ws_status set_again(struct doing *doing)
{
    return ws_setting_set(doing->book, "voice", "off", &doing->why);
}

static enum ws_status fill_demo(struct doing *doing)
{
    return ws_demo_fill(doing->book, INT64_C(1772900000000), &doing->why);
}

/* ---- films and rolls ------------------------------------------------------------------------- */

static enum ws_status add_film(struct doing *doing)
{
    return ws_film_add(doing->book, "Corvex Pan 100", &doing->why);
}

static enum ws_status add_roll(struct doing *doing)
{
    /* One id for each time it is asked: that makes asking again safe. */
    struct ws_roll roll = { .id = { { 4, 7 } }, .format = WS_FORMAT_120, .ei = 100 };

    ws_text_copy(roll.number, sizeof roll.number, "2026-0200");
    ws_text_copy(roll.film, sizeof roll.film, "Corvex Pan 100");
    ws_text_copy(roll.subject, sizeof roll.subject, "the harbour at noon");
    return ws_roll_add(doing->book, &roll, &doing->why);
}

static enum ws_status correct_film(struct doing *doing)
{
    return ws_roll_correct(doing->book, evening.roll[0].row, "film", "Corvex Pan 100",
                           "misread the sleeve", 960000, &doing->why);
}

static enum ws_status correct_format(struct doing *doing)
{
    return ws_roll_correct(doing->book, evening.roll[0].row, "format", "135-24", "a short one",
                           960000, &doing->why);
}

static enum ws_status add_verdict(struct doing *doing)
{
    return ws_verdict_add(doing->book, evening.roll[0].row, WS_VERDICT_GOOD,
                          "prints well after all", 970000, &doing->why);
}

/* ---- processes and tanks --------------------------------------------------------------------- */

static enum ws_status keep_process(struct doing *doing)
{
    struct ws_process process = evening.process;

    process.id = (struct ws_id){ { 0 } };
    ws_text_copy(process.name, sizeof process.name, "another process");
    return ws_process_keep(doing->book, &process, 980000, &doing->why);
}

static enum ws_status keep_version(struct doing *doing)
{
    struct ws_process process = evening.process;

    process.bath[0].point[0].time_ms += 30000;
    return ws_process_keep(doing->book, &process, 980000, &doing->why);
}

/* As a file is taken in: read, then kept. */
static enum ws_status import_process(struct doing *doing)
{
    static const char text[] =
        "{ \"wetside\": \"process\", \"format\": 1, \"name\": \"from a file\","
        " \"film\": \"Halden 400\", \"note\": \"two points\", \"baths\": ["
        " { \"kind\": \"developer\", \"name\": \"MQB\", \"dilution\": \"1+1\","
        "   \"temperature\": \"20C\", \"points\": ["
        "     { \"at\": \"20C\", \"time\": \"9:30\", \"step\": \"15s\" },"
        "     { \"at\": \"24C\", \"time\": \"6:30\" } ],"
        "   \"agitation\": { \"pattern\": \"cycles\", \"first\": \"30s\","
        "     \"every\": \"1:00\", \"length\": \"10s\", \"inversions\": 4 } },"
        " { \"kind\": \"fixer\", \"time\": \"5:00\" } ] }";
    static struct ws_process process;
    enum ws_status status;

    status = ws_process_from_json(text, sizeof text - 1, &process, &doing->why);
    return status == WS_OK ? ws_process_keep(doing->book, &process, 985000, &doing->why) : status;
}

static enum ws_status keep_tank(struct doing *doing)
{
    struct ws_tank tank = { .name = "B", .reels = 5, .least_135_ml = 250 };

    return ws_tank_keep(doing->book, &tank, &doing->why);
}

static enum ws_status change_tank(struct doing *doing)
{
    struct ws_tank tank = { .name = "A", .reels = 3, .least_135_ml = 290, .most_ml = 900 };

    return ws_tank_keep(doing->book, &tank, &doing->why);
}

/* ---- batches --------------------------------------------------------------------------------- */

static enum ws_status add_batch(struct doing *doing)
{
    struct ws_batch batch = {
        .id = { { 9, 1 } }, .kind = WS_BATCH_CONCENTRATE, .use = WS_BATH_DEVELOPER, .volume_ml = 500
    };

    ws_text_copy(batch.number, sizeof batch.number, "C-003");
    ws_text_copy(batch.what, sizeof batch.what, "a bought concentrate");
    return ws_batch_add(doing->book, &batch, 990000, &doing->why);
}

static enum ws_status count_stock(struct doing *doing)
{
    return ws_batch_stock_take(doing->book, evening.stock.row, 1200, "counted", 991000,
                               &doing->why);
}

static enum ws_status discard(struct doing *doing)
{
    return ws_batch_discard(doing->book, evening.fixer.row, 100, "waste can", 992000, &doing->why);
}

static enum ws_status set_colon(struct doing *doing)
{
    return ws_batch_set_colon(doing->book, evening.stock.row, WS_COLON_PLUS, &doing->why);
}

static enum ws_status set_least(struct doing *doing)
{
    return ws_batch_set_least(doing->book, evening.stock.row, 125, &doing->why);
}

/* ---- runs ------------------------------------------------------------------------------------ */

static enum ws_status keep_run(struct doing *doing)
{
    struct ws_stamp stamp = aid_stamp(2000000);
    int64_t row;

    return ws_run_keep(doing->book, &evening.next_plan, &stamp, &row, &doing->why);
}

/* Three at once, as they gather while the disk is slow. */
static void gather_rows(struct ws_journal_row row[3])
{
    for (int i = 0; i < 3; i++)
        row[i] = (struct ws_journal_row){ .run = evening.open_run,
                                          .stamp = aid_stamp(1110000 + i),
                                          .epoch = 1,
                                          .event = { .kind = WS_EVENT_READING,
                                                     .at_ms = 110000 + i,
                                                     .sequence = evening.last + 1 + (uint32_t)i,
                                                     .bath = -1,
                                                     .value_c = 20.25 } };
}

static enum ws_status journal(struct doing *doing)
{
    struct ws_journal_row row[3];

    gather_rows(row);
    return ws_run_journal(doing->book, row, 3, &doing->why);
}

/* Likewise from a file. */
static enum ws_status take_events(struct doing *doing)
{
    struct ws_journal_row row[3];
    struct ws_events_taken taken;

    gather_rows(row);
    return ws_events_take(doing->book, &evening.open_plan.id, row, 3, &taken, &doing->why);
}

/* Without the book: what it did not take. */
static enum ws_status write_events(struct doing *doing)
{
    struct ws_journal_row row[3];

    gather_rows(row);
    return ws_events_write(evening_file("live", "copy.json"), &evening.open_plan.id, row, 3,
                           &doing->why);
}

static enum ws_status own_after(struct doing *doing)
{
    return ws_run_own_after(doing->book, evening.open_run, 1, &doing->why);
}

static enum ws_status own_run(struct doing *doing)
{
    int64_t epoch;

    return ws_run_own(doing->book, evening.open_run, &epoch, &doing->why);
}

static enum ws_status close_run(struct doing *doing)
{
    struct ws_stamp stamp = aid_stamp(1300000);

    return ws_run_close(doing->book, evening.open_run, "the lid came off", &stamp, &doing->why);
}

static enum ws_status correct_place(struct doing *doing)
{
    return ws_run_correct_roll(doing->book, evening.closed_run, evening.roll[0].row,
                               evening.roll[3].row, "the sleeves were mixed up", 993000,
                               &doing->why);
}

/* In an order in which they can also be done one after the other to the same book. */
const struct transaction evening_writes[] = {
    { "ws_book_open", "a new book", EVENING_NOTHING, open_to_write, true, false },
    { "ws_book_open", "an empty file", EVENING_EMPTY_FILE, open_to_write, true, false },
    { "ws_book_open", "an older book", EVENING_OLD, open_to_write, true, false },
    { "ws_book_open", "a closed book", EVENING_BOOK, open_to_write, true, false },
    { "ws_book_open", "a book not closed", EVENING_LOGGED, open_to_write, true, false },
    { "ws_setting_set", "new", EVENING_BOOK, set_new, false, false },
    { "ws_setting_set", "known", EVENING_BOOK, set_again, false, false },
    { "ws_film_add", "new", EVENING_BOOK, add_film, false, false },
    { "ws_roll_add", "of a new film", EVENING_BOOK, add_roll, false, false },
    { "ws_roll_correct", "film", EVENING_BOOK, correct_film, false, false },
    { "ws_roll_correct", "format", EVENING_BOOK, correct_format, false, false },
    { "ws_verdict_add", "a second", EVENING_BOOK, add_verdict, false, false },
    { "ws_process_keep", "new", EVENING_BOOK, keep_process, false, false },
    { "ws_process_keep", "a later version", EVENING_BOOK, keep_version, false, false },
    { "ws_process_keep", "from a file", EVENING_BOOK, import_process, false, false },
    { "ws_tank_keep", "new", EVENING_BOOK, keep_tank, false, false },
    { "ws_tank_keep", "changed", EVENING_BOOK, change_tank, false, false },
    { "ws_batch_add", "new", EVENING_BOOK, add_batch, false, false },
    { "ws_batch_stock_take", "less", EVENING_BOOK, count_stock, false, false },
    { "ws_batch_discard", "some", EVENING_BOOK, discard, false, false },
    { "ws_batch_set_colon", "plus", EVENING_BOOK, set_colon, false, false },
    { "ws_batch_set_least", "known", EVENING_BOOK, set_least, false, false },
    { "ws_run_keep", "new", EVENING_BOOK, keep_run, false, false },
    { "ws_run_journal", "three rows", EVENING_BOOK, journal, false, false },
    { "ws_run_journal", "with a log", EVENING_LOGGED, journal, false, false },
    { "ws_events_take", "three rows", EVENING_LOGGED, take_events, false, false },
    { "ws_events_write", "three rows", EVENING_BOOK, write_events, false, false },
    { "ws_run_own_after", "the first", EVENING_BOOK, own_after, false, false },
    { "ws_run_close", "given up", EVENING_BOOK, close_run, false, false },
    { "ws_run_own", "another owner", EVENING_BOOK, own_run, false, false },
    { "ws_run_correct_roll", "another roll", EVENING_BOOK, correct_place, false, false },
    { "ws_book_backup", "a new one", EVENING_LOGGED, back_up, false, false },
    { "ws_book_faults", "none", EVENING_BOOK, look_through, false, false },
    { "ws_book_check", "sound", EVENING_BOOK, check, false, false },
    { "ws_demo_fill", "a new book", EVENING_BLANK, fill_demo, false, false },
    { "ws_book_close", "with a log", EVENING_LOGGED, close_it, false, false },
    { NULL, NULL, EVENING_NOTHING, NULL, false, false },
};
