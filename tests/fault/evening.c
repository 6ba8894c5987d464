/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A small darkroom as books to start from. */
#include "evening.h"

#include <dirent.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../../src/book/migrate.h"
#include "../../src/book/sql.h"
#include "../book/book_aid.h"
#include "own.h"
#include "state.h"
#include "wetside/book/data.h"
#include "wetside/calc/units.h"

struct evening_things evening;

/* The files of each start: the book and, where it was not closed, its log. */
static struct {
    unsigned char *book, *log;
    long book_size, log_size; /* -1: there is none */
} starts[EVENING_STARTS];

/* ---- folders --------------------------------------------------------------------------------- */

static void name_file(char *to, size_t size, const char *where, const char *file)
{
    int length =
        snprintf(to, size, "%s/%s%s%s", aid_folder(), where, file[0] != '\0' ? "/" : "", file);

    assert_true(length > 0 && (size_t)length < size);
}

const char *evening_path(const char *where)
{
    return evening_file(where, "book.db");
}

const char *evening_file(const char *where, const char *name)
{
    static char path[8][320];
    static int next;
    char *to = path[next++ % 8];

    name_file(to, sizeof path[0], where, name);
    return to;
}

/* Calls `one` for each file in the folder. */
static void each_file(const char *where, void (*one)(const char *path, const char *name, void *arg),
                      void *arg)
{
    char folder[320], path[640];
    struct dirent *entry;
    DIR *in;

    name_file(folder, sizeof folder, where, "");
    in = opendir(folder);
    assert_non_null(in);
    while ((entry = readdir(in)) != NULL) {
        if (entry->d_name[0] == '.')
            continue;
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        one(path, entry->d_name, arg);
    }
    closedir(in);
}

static void remove_one(const char *path, const char *name, void *arg)
{
    (void)name;
    (void)arg;
    assert_int_equal(unlink(path), 0);
}

void evening_empty(const char *where)
{
    char folder[320];

    name_file(folder, sizeof folder, where, "");
    mkdir(folder, 0700);
    each_file(where, remove_one, NULL);
}

static void copy_one(const char *path, const char *name, void *arg)
{
    unsigned char *bytes;
    char to[320];
    long size;

    if (strstr(name, "-shm") != NULL) /* made anew by whoever opens first */
        return;
    bytes = aid_bytes(path, &size);
    name_file(to, sizeof to, arg, name);
    aid_write(to, bytes, (size_t)size);
    free(bytes);
}

void evening_copy(const char *from, const char *to)
{
    char where[64];

    evening_empty(to);
    snprintf(where, sizeof where, "%s", to);
    each_file(from, copy_one, where);
}

struct counting {
    const char *begin;
    int n;
};

static void count_one(const char *path, const char *name, void *arg)
{
    struct counting *counting = arg;

    (void)path;
    counting->n += strncmp(name, counting->begin, strlen(counting->begin)) == 0;
}

int evening_files(const char *where, const char *begin)
{
    struct counting counting = { begin, 0 };

    each_file(where, count_one, &counting);
    return counting.n;
}

void evening_begin(enum evening_start start, const char *where)
{
    char path[320];

    own_random(2); /* the same ids each time: the same bytes each time */
    evening_empty(where);
    if (starts[start].book_size >= 0) {
        name_file(path, sizeof path, where, "book.db");
        aid_write(path, starts[start].book, (size_t)starts[start].book_size);
    }
    if (starts[start].log_size >= 0) {
        name_file(path, sizeof path, where, "book.db-wal");
        aid_write(path, starts[start].log, (size_t)starts[start].log_size);
    }
}

/* ---- the books ------------------------------------------------------------------------------- */

/* What lies in the folder is a start. */
static void take_start(enum evening_start start, const char *where)
{
    char path[320];

    name_file(path, sizeof path, where, "book.db");
    starts[start].book = aid_bytes(path, &starts[start].book_size);
    name_file(path, sizeof path, where, "book.db-wal");
    starts[start].log = aid_bytes(path, &starts[start].log_size);
}

/* A book of the first schema, its rows written behind the program's back: what the program itself
 * writes fits the newest schema only. */
static void make_old(void)
{
    static const struct ws_migration first[] = { WS_MIGRATION(1,
                                                              (const char *)ws_data_schema_1_sql) };
    struct ws_book *book = NULL;

    evening_empty("make");
    aid_ok(ws_book_open_steps(evening_path("make"), WS_BOOK_WRITE, first, 1, &book, aid_why()));
    aid_ok(ws_sql_script(book,
                         "WITH RECURSIVE n (n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM n"
                         " WHERE n < 300) INSERT INTO film (id, name)"
                         " SELECT randomblob(16), 'invented ' || n FROM n;"
                         "INSERT INTO setting VALUES ('voice', 'en')",
                         aid_why()));
    ws_book_close(book);
    take_start(EVENING_OLD, "make");
}

static void add_process(struct ws_book *book)
{
    struct ws_process *process = &evening.process;
    struct ws_bath *bath = &process->bath[0];

    memset(process, 0, sizeof *process);
    ws_text_copy(process->name, sizeof process->name, "test process");
    ws_text_copy(process->film, sizeof process->film, "Tarn 125");
    process->baths = 2;
    ws_bath_default(WS_BATH_DEVELOPER, bath);
    bath->dilution = (struct ws_dilution){ { 1, 1 }, 2 };
    bath->want_c = 20;
    bath->points = 2;
    bath->point[0] = (struct ws_point){ 20, 570000, 15000 };
    bath->point[1] = (struct ws_point){ 24, 390000, 15000 };
    ws_bath_default(WS_BATH_FIXER, &process->bath[1]);
    process->bath[1].time_ms = 300000;
    aid_ok(ws_process_keep(book, process, 2000, aid_why()));
}

static void add_runs(struct ws_book *book)
{
    struct ws_plan *plan = &evening.open_plan;
    struct ws_stamp stamp = aid_stamp(10000);

    aid_plan(plan, &evening.stock, &evening.fixer);
    aid_place(plan, &evening.roll[0]);
    plan->bath[1].afterwards = WS_TO_BOTTLE;
    aid_ok(ws_run_keep(book, plan, &stamp, &evening.closed_run, aid_why()));
    aid_hands(book, evening.closed_run, plan, INT64_MAX - 1);
    stamp = aid_stamp(900000);
    aid_ok(ws_run_close(book, evening.closed_run, NULL, &stamp, aid_why()));
    aid_ok(ws_verdict_add(book, evening.roll[0].row, WS_VERDICT_THIN, "a little thin", 950000,
                          aid_why()));
    aid_ok(ws_roll_correct(book, evening.roll[0].row, "wish", "N-1", "said so", 955000, aid_why()));

    aid_plan(plan, &evening.stock, &evening.fixer);
    aid_place(plan, &evening.roll[1]);
    plan->bath[1].afterwards = WS_TO_BOTTLE;
    stamp = aid_stamp(1000000);
    aid_ok(ws_run_keep(book, plan, &stamp, &evening.open_run, aid_why()));
    evening.last = aid_hands(book, evening.open_run, plan, 100000);

    aid_plan(&evening.next_plan, &evening.stock, &evening.fixer);
    aid_place(&evening.next_plan, &evening.roll[2]);
}

static void make_book(void)
{
    struct ws_tank tank = {
        .name = "A", .reels = 2, .least_135_ml = 300, .least_120_ml = 500, .most_ml = 600
    };
    struct ws_book *book;

    evening_empty("make");
    book = aid_open(evening_path("make"), WS_BOOK_WRITE);
    ws_book_close(book);
    take_start(EVENING_BLANK, "make");
    book = aid_open(evening_path("make"), WS_BOOK_WRITE);
    aid_ok(ws_tank_keep(book, &tank, aid_why()));
    aid_ok(ws_film_add(book, "Osprey 200", aid_why()));
    for (int i = 0; i < 4; i++) {
        char number[WS_NUMBER];

        snprintf(number, sizeof number, "2026-%04d", 143 + i);
        evening.roll[i] = aid_roll(book, number, i < 2 ? "Tarn 125" : "Halden 400");
    }
    evening.stock = aid_batch(book, "MQB-014", 1740);
    evening.fixer = aid_batch(book, "F-009", 1000);
    add_process(book);
    add_runs(book);
    aid_ok(ws_setting_set(book, "voice", "en", aid_why()));
    ws_book_close(book);
    take_start(EVENING_BOOK, "make");
}

/* Left open by a program that was killed: the log has what the book has not. */
static void make_logged(void)
{
    struct ws_book *book = aid_open(evening_path("make"), WS_BOOK_WRITE);

    aid_ok(ws_setting_set(book, "voice", "de", aid_why()));
    aid_ok(ws_film_add(book, "Corvex Pan 100", aid_why()));
    evening_copy("make", "copy");
    ws_book_close(book);
    take_start(EVENING_LOGGED, "copy");
    assert_true(starts[EVENING_LOGGED].log_size > 0);
}

void evening_make(void)
{
    static unsigned char nothing[1];

    evening_clear();
    own_random(1);
    starts[EVENING_NOTHING].book_size = -1;
    starts[EVENING_NOTHING].log_size = -1;
    starts[EVENING_EMPTY_FILE].book = malloc(sizeof nothing);
    starts[EVENING_EMPTY_FILE].book_size = 0;
    starts[EVENING_EMPTY_FILE].log_size = -1;
    make_old();
    make_book();
    make_logged();
}

void evening_clear(void)
{
    for (int i = 0; i < EVENING_STARTS; i++) {
        free(starts[i].book);
        free(starts[i].log);
    }
    memset(starts, 0, sizeof starts);
    state_forget();
}
