/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A book for the real program to be run on. */
#include "book.h"

#include <ftw.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#include "aid.h"
#include "wetside/book/demo.h"
#include "wetside/book/run.h"
#include "wetside/port/clock.h"

static int remove_one(const char *name, const struct stat *file, int kind, struct FTW *at)
{
    (void)file;
    (void)kind;
    (void)at;
    return remove(name);
}

void folder_make(char folder[FOLDER_BYTES], char path[BOOK_BYTES])
{
    strcpy(folder, "/tmp/wetside-terminal-XXXXXX");
    assert_non_null(mkdtemp(folder));
    snprintf(path, BOOK_BYTES, "%s/book.db", folder);
}

void folder_remove(char folder[FOLDER_BYTES])
{
    if (folder[0] != '\0')
        nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    folder[0] = '\0';
}

struct ws_book *book_of_the_demo(const char *path)
{
    struct ws_book *book = NULL;
    struct ws_message why = { "" };

    if (ws_book_open(path, WS_BOOK_WRITE, &book, &why) != WS_OK ||
        ws_demo_fill(book, (int64_t)time(NULL) * 1000, &why) != WS_OK)
        fail_msg("%s", why.text);
    return book;
}

void book_leave_open(struct ws_book *book, const char *tank, bool open_film, int ago_s)
{
    static struct ws_plan plan;
    struct ws_run_line line;
    struct ws_clock clock;
    struct ws_stamp stamp;
    struct ws_message why = { "" };
    int n = 0;
    int64_t row;

    if (ws_run_list(book, true, 0, &line, 1, &n) != WS_OK || n != 1 ||
        ws_run_plan(book, line.row, &plan, &why) != WS_OK)
        fail_msg("the demo has no run: %s", why.text);
    ws_id_make(&plan.id);
    memset(&plan.repeats, 0, sizeof plan.repeats);
    strcpy(plan.tank, tank);
    plan.places = 0;
    for (int i = 0; i < plan.baths; i++) {
        struct ws_bath *bath = &plan.bath[i];

        bath->parts = 1;
        bath->dilution.parts = 0;
        bath->part[0] = (struct ws_part){ .name = "water", .ml = plan.fill_ml, .water = true };
        bath->open_film = open_film;
    }
    ws_clock_real(&clock);
    ws_clock_stamp(&clock, &stamp);
    stamp.boot_ns -= ago_s * INT64_C(1000000000);
    stamp.wall_ns -= ago_s * INT64_C(1000000000);
    if (ws_run_keep(book, &plan, &stamp, &row, &why) != WS_OK)
        fail_msg("%s", why.text);
}
