/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of the book share. */
#include "book_aid.h"

#include <dirent.h>
#include <ftw.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "wetside/calc/units.h"

static char folder[256];
struct ws_message aid_message;

/* ---- the folder ------------------------------------------------------------------------------ */

int aid_begin(void **state)
{
    const char *where = getenv("TMPDIR");

    (void)state;
    snprintf(folder, sizeof folder, "%s/wetside-book-XXXXXX", where == NULL ? "/tmp" : where);
    return mkdtemp(folder) == NULL ? -1 : 0;
}

static int take_away(const char *path, const struct stat *is, int flag, struct FTW *at)
{
    (void)is;
    (void)flag;
    (void)at;
    return remove(path);
}

static int open_up(const char *path, const struct stat *is, int flag, struct FTW *at)
{
    (void)at;
    if (flag == FTW_D)
        chmod(path, is->st_mode | 0700);
    return 0;
}

int aid_end(void **state)
{
    (void)state;
    nftw(folder, open_up, 8, FTW_PHYS);
    return nftw(folder, take_away, 8, FTW_DEPTH | FTW_PHYS);
}

const char *aid_folder(void)
{
    return folder;
}

const char *aid_path(const char *name)
{
    static char path[4][512];
    static int next;
    char *to = path[next++ % 4];

    snprintf(to, sizeof path[0], "%s/%s", folder, name);
    return to;
}

/* ---- expectations ---------------------------------------------------------------------------- */

struct ws_message *aid_why(void)
{
    aid_message.text[0] = '\0';
    return &aid_message;
}

void aid_expect_at(enum ws_status got, enum ws_status want, const char *what, const char *file,
                   int line)
{
    if (got == want)
        return;
    print_error("%s gives %d, wanted %d: %s\n", what, (int)got, (int)want, aid_message.text);
    _fail(file, line);
}

void aid_says_at(const char *part, const char *file, int line)
{
    if (strstr(aid_message.text, part) != NULL)
        return;
    print_error("\"%s\" does not say \"%s\"\n", aid_message.text, part);
    _fail(file, line);
}

struct ws_book *aid_open(const char *path, enum ws_book_mode mode)
{
    struct ws_book *book = NULL;

    aid_ok(ws_book_open(path, mode, &book, aid_why()));
    return book;
}

static const char *spoiled;

void aid_spoiled(const char *fault)
{
    spoiled = fault;
}

int aid_sound(struct ws_book *book)
{
    enum ws_status status = ws_book_check(book, aid_why());
    bool as_said = spoiled == NULL
                       ? status == WS_OK
                       : status == WS_DAMAGED && strstr(aid_message.text, spoiled) != NULL;

    if (!as_said)
        print_error("the book: %s; expected: %s\n", status == WS_OK ? "sound" : aid_message.text,
                    spoiled == NULL ? "sound" : spoiled);
    spoiled = NULL;
    ws_book_close(book);
    return as_said ? 0 : -1;
}

/* ---- files ----------------------------------------------------------------------------------- */

unsigned char *aid_bytes(const char *path, long *size)
{
    FILE *file = fopen(path, "rb");
    unsigned char *bytes;

    *size = -1;
    if (file == NULL)
        return NULL;
    fseek(file, 0, SEEK_END);
    *size = ftell(file);
    rewind(file);
    bytes = malloc((size_t)*size + 1);
    assert_non_null(bytes);
    assert_int_equal(fread(bytes, 1, (size_t)*size, file), *size);
    fclose(file);
    return bytes;
}

void aid_unchanged(const char *path, const unsigned char *before, long size)
{
    long is_size;
    unsigned char *is = aid_bytes(path, &is_size);

    assert_int_equal(is_size, size);
    if (size > 0)
        assert_memory_equal(is, before, (size_t)size);
    free(is);
}

void aid_write(const char *path, const void *bytes, size_t size)
{
    FILE *file = fopen(path, "wb");

    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, size, file), size);
    assert_int_equal(fclose(file), 0);
}

int aid_files(void)
{
    DIR *in = opendir(folder);
    int files = 0;

    assert_non_null(in);
    for (struct dirent *entry; (entry = readdir(in)) != NULL;)
        files += entry->d_name[0] != '.';
    closedir(in);
    return files;
}

bool aid_exists(const char *path)
{
    return access(path, F_OK) == 0;
}

int64_t aid_number(const char *path, const char *statement)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *select = NULL;
    int64_t number;

    assert_int_equal(sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE, NULL), SQLITE_OK);
    if (sqlite3_prepare_v2(db, statement, -1, &select, NULL) != SQLITE_OK)
        fail_msg("%s: %s", statement, sqlite3_errmsg(db));
    assert_int_equal(sqlite3_step(select), SQLITE_ROW);
    number = sqlite3_column_int64(select, 0);
    sqlite3_finalize(select);
    sqlite3_close(db);
    return number;
}

void aid_execute(const char *path, const char *statement)
{
    sqlite3 *db = NULL;

    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    if (sqlite3_exec(db, statement, NULL, NULL, NULL) != SQLITE_OK)
        fail_msg("%s: %s", statement, sqlite3_errmsg(db));
    sqlite3_close(db);
}

/* ---- made-up things -------------------------------------------------------------------------- */

struct ws_roll aid_roll(struct ws_book *book, const char *number, const char *film)
{
    struct ws_roll roll = { .format = WS_FORMAT_135_36 };

    ws_text_copy(roll.number, sizeof roll.number, number);
    ws_text_copy(roll.film, sizeof roll.film, film);
    aid_ok(ws_roll_add(book, &roll, aid_why()));
    return roll;
}

struct ws_batch aid_batch(struct ws_book *book, const char *number, double volume_ml)
{
    struct ws_batch batch = { .kind = WS_BATCH_STOCK,
                              .use = WS_BATH_DEVELOPER,
                              .what = "MQB stock",
                              .volume_ml = volume_ml };

    ws_text_copy(batch.number, sizeof batch.number, number);
    aid_ok(ws_batch_add(book, &batch, 1000, aid_why()));
    return batch;
}

struct ws_stamp aid_stamp(int64_t wall_ms)
{
    struct ws_stamp stamp = { .boot_ns = wall_ms * 1000000, .wall_ns = wall_ms * 1000000 };

    stamp.boot.byte[0] = 7;
    return stamp;
}

static void add_part(struct ws_bath *bath, const struct ws_batch *batch, const char *name,
                     double ml, bool water)
{
    struct ws_part *part = &bath->part[bath->parts++];

    ws_text_copy(part->name, sizeof part->name, batch != NULL ? batch->number : name);
    if (batch != NULL)
        part->batch = batch->id;
    part->ml = ml;
    part->water = water;
}

void aid_plan(struct ws_plan *plan, const struct ws_batch *batch, const struct ws_batch *fixer)
{
    ws_plan_default(plan);
    ws_id_make(&plan->id);
    ws_text_copy(plan->process, sizeof plan->process, "test process");
    ws_text_copy(plan->tank, sizeof plan->tank, "A");
    plan->fill_ml = 300;
    plan->baths = 2;
    ws_bath_default(WS_BATH_DEVELOPER, &plan->bath[0]);
    plan->bath[0].time_ms = 120000;
    plan->bath[0].dilution = (struct ws_dilution){ { 1, 1 }, 2 };
    add_part(&plan->bath[0], batch, "bought developer", 150, false);
    add_part(&plan->bath[0], NULL, "water", 150, true);
    ws_bath_default(WS_BATH_FIXER, &plan->bath[1]);
    plan->bath[1].time_ms = 60000;
    add_part(&plan->bath[1], fixer, "bought fixer", 300, false);
}

void aid_place(struct ws_plan *plan, const struct ws_roll *roll)
{
    struct ws_place *place = &plan->place[plan->places++];

    place->roll = roll->id;
    place->reel = plan->places;
    place->rolls = ws_format_rolls(roll->format);
    ws_text_copy(place->number, sizeof place->number, roll->number);
    ws_text_copy(place->film, sizeof place->film, roll->film);
}

/* Journals an event at its moment on the clocks of the run's first. */
static void journal_event(struct ws_book *book, int64_t run, const struct ws_event *event)
{
    struct ws_journal_row row;
    int n;

    aid_ok(ws_run_events(book, run, 1, &row, 1, &n));
    assert_int_equal(n, 1);
    row.event = *event;
    row.stamp.boot_ns += event->at_ms * 1000000;
    row.stamp.wall_ns += event->at_ms * 1000000;
    aid_ok(ws_run_journal(book, &row, 1, aid_why()));
}

uint32_t aid_hands(struct ws_book *book, int64_t run, const struct ws_plan *plan, int64_t until_ms)
{
    struct ws_session *session = malloc(sizeof *session);
    struct ws_event event = { .kind = WS_EVENT_BEGIN, .sequence = 1, .bath = -1 };
    struct ws_cue cue[64];
    uint32_t last = 1;
    int n;

    assert_non_null(session);
    aid_ok(ws_session_begin(session, plan, aid_why()));
    aid_ok(ws_session_take(session, plan, &event, cue, 64, &n));
    for (;;) {
        int64_t at_ms = ws_session_answer_ms(session, plan);
        int64_t next_ms = ws_session_next_ms(session, plan);
        bool press = at_ms != WS_NEVER && at_ms <= next_ms;
        enum ws_status status;

        if (!press)
            at_ms = next_ms;
        if (at_ms == WS_NEVER || at_ms > until_ms)
            break;
        event = (struct ws_event){ .at_ms = at_ms,
                                   .kind = press ? WS_EVENT_HAND : WS_EVENT_TICK,
                                   .sequence = press ? last + 1 : 0,
                                   .bath = -1 };
        do
            status = ws_session_take(session, plan, &event, cue, 64, &n);
        while (status == WS_MORE);
        if (!press || status == WS_IGNORED)
            continue;
        aid_ok(status);
        last++;
        journal_event(book, run, &event);
    }
    if (session->stage == WS_STAGE_OVER) {
        event = (struct ws_event){
            .at_ms = session->now_ms, .kind = WS_EVENT_CLOSE, .sequence = ++last, .bath = -1
        };
        journal_event(book, run, &event);
    }
    free(session);
    return last;
}

uint64_t aid_random(uint64_t *seed)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return *seed;
}
