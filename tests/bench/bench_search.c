/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first page of a search in 100,000 rolls, beside the same query as the sqlite3 shell runs it:
 * prepared, stepped, every column taken as text, finalized, on a connection of its own. The two
 * take turns. Promise: at most 1.5 times the shell's, and under a frame of 33 ms.
 *
 * Usage: bench_search [BOOK]. A BOOK that is there is used, one that is not is made and kept. */
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "../../src/book/list.h"
#include "many_rolls.h"

enum { ROLLS = 100000, PAGE = 50, ROUNDS = 41 };

#define MOST_TIMES 1.5
#define FRAME_MS   33.0

static const char *const texts[] = {
    "",    "t",       "ta",        "tar",       "tarn",        "halden 400", "2",
    "20",  "2010",    "2010-0143", "1990-0001", "weir",        "weir good",  "m",
    "mqb", "mqb 001", "1+1",       "s s s",     "streak mill", "zzz",        "a b c d e",
};

static double now_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

static int by_size(const void *a, const void *b)
{
    double one = *(const double *)a, two = *(const double *)b;

    return (one > two) - (one < two);
}

/* As the shell does it; how many rows. */
static int shell_query(sqlite3 *db, const char *text)
{
    char query[1024];
    bool words = ws_search_query(text, query, sizeof query);
    sqlite3_stmt *select = NULL;
    int rows = 0, at = 1;

    if (sqlite3_prepare_v2(db, words ? ws_search_words : ws_search_all, -1, &select, NULL) !=
        SQLITE_OK)
        return -1;
    if (words)
        sqlite3_bind_text(select, at++, query, -1, SQLITE_TRANSIENT);
    sqlite3_bind_int(select, at++, PAGE);
    sqlite3_bind_int(select, at, 0);
    for (; sqlite3_step(select) == SQLITE_ROW; rows++)
        for (int i = 0; i < sqlite3_column_count(select); i++)
            sqlite3_column_text(select, i);
    sqlite3_finalize(select);
    return rows;
}

/* One text: false if a promise is broken. */
static bool measure(struct ws_book *book, sqlite3 *db, const char *text)
{
    static struct ws_roll_line line[PAGE];
    double ours[ROUNDS], shell[ROUNDS];
    int n = 0, rows = 0;
    bool kept;

    for (int i = 0; i < ROUNDS; i++) {
        double from = now_ms();

        if (ws_roll_search(book, text, 0, line, PAGE, &n) != WS_OK)
            return false;
        ours[i] = now_ms() - from;
        from = now_ms();
        rows = shell_query(db, text);
        shell[i] = now_ms() - from;
    }
    qsort(ours, ROUNDS, sizeof ours[0], by_size);
    qsort(shell, ROUNDS, sizeof shell[0], by_size);
    kept = n == rows && ours[ROUNDS / 2] <= MOST_TIMES * shell[ROUNDS / 2] &&
           ours[ROUNDS - 1] < FRAME_MS;
    printf("  %-14s %3d rows  ours %7.3f ms (worst %7.3f)  shell %7.3f ms  %5.2f times%s\n", text,
           n, ours[ROUNDS / 2], ours[ROUNDS - 1], shell[ROUNDS / 2],
           ours[ROUNDS / 2] / shell[ROUNDS / 2], kept ? "" : "  BROKEN");
    return kept;
}

int main(int argc, char **argv)
{
    char own[] = "/tmp/wetside-bench-XXXXXX", path[64];
    const char *given = argc > 1 ? argv[1] : NULL;
    struct ws_message why = { "" };
    struct ws_book *book = NULL;
    sqlite3 *db = NULL;
    int broken = 0;
    double from = now_ms();

    if (given == NULL && mkdtemp(own) == NULL)
        return 1;
    snprintf(path, sizeof path, "%s/book.db", own);
    if ((given == NULL || access(given, F_OK) != 0) &&
        !many_rolls_make(given != NULL ? given : path, ROLLS))
        return 1;
    printf("search: first page of %d in %d rolls (book made in %.1f s); at most %.1f times the "
           "sqlite3 shell's, under %.0f ms\n",
           PAGE, ROLLS, (now_ms() - from) / 1e3, MOST_TIMES, FRAME_MS);
    if (ws_book_open(given != NULL ? given : path, WS_BOOK_WRITE, &book, &why) != WS_OK ||
        sqlite3_open_v2(given != NULL ? given : path, &db, SQLITE_OPEN_READONLY, NULL) !=
            SQLITE_OK) {
        fprintf(stderr, "%s\n", why.text);
        return 1;
    }
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        broken += !measure(book, db, texts[i]);
    sqlite3_close(db);
    ws_book_close(book);
    if (given == NULL) {
        unlink(path);
        rmdir(own);
    }
    printf("search: %d promises broken\n", broken);
    return broken != 0;
}
