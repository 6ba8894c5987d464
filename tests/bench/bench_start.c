/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From start to the first screen, with 100,000 rolls in the book, beside a minimal ncurses and
 * SQLite program that opens the same book, asks it for one row and shows it.
 *
 * Method: both are started in a pty of their own, in turns; the time runs from the fork until the
 * first words of the screen have been read. The minimal program is compiled here (CC, else cc), so
 * that it is linked with nothing else. Promise: the ratio of the medians is at most 1.5.
 *
 * Usage: bench_start [BOOK]. A BOOK that is there is used, one that is not is made and kept. */
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "many_rolls.h"

enum { ROLLS = 100000, ROUNDS = 31, PATIENCE_MS = 20000 };

#define MOST_TIMES 1.5

static const char minimal_source[] =
    "#include <curses.h>\n"
    "#include <locale.h>\n"
    "#include <sqlite3.h>\n"
    "int main(int n, char **given)\n"
    "{\n"
    "    sqlite3 *db;\n"
    "    sqlite3_stmt *row;\n"
    "    if (n < 2 || sqlite3_open_v2(given[1], &db, SQLITE_OPEN_READWRITE, NULL) != SQLITE_OK)\n"
    "        return 1;\n"
    "    sqlite3_prepare_v2(db, \"SELECT number FROM roll ORDER BY roll DESC LIMIT 1\", -1, &row,\n"
    "                       NULL);\n"
    "    if (sqlite3_step(row) != SQLITE_ROW)\n"
    "        return 1;\n"
    "    setlocale(LC_CTYPE, \"\");\n"
    "    initscr();\n"
    "    raw();\n"
    "    noecho();\n"
    "    mvprintw(0, 0, \"Roll %s\", (const char *)sqlite3_column_text(row, 0));\n"
    "    refresh();\n"
    "    getch();\n"
    "    endwin();\n"
    "    sqlite3_finalize(row);\n"
    "    sqlite3_close(db);\n"
    "    return 0;\n"
    "}\n";

static double now_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

static bool compile_minimal(const char *folder, char *program, size_t size)
{
    const char *cc = getenv("CC");
    char source[128], command[512];
    FILE *file;

    snprintf(source, sizeof source, "%s/minimal.c", folder);
    snprintf(program, size, "%s/minimal", folder);
    file = fopen(source, "w");
    if (file == NULL)
        return false;
    fputs(minimal_source, file);
    fclose(file);
    snprintf(command, sizeof command,
             "%s -O2 -D_GNU_SOURCE -o %s %s $(${PKG_CONFIG:-pkg-config} --cflags --libs ncursesw "
             "sqlite3)",
             cc != NULL ? cc : "cc", program, source);
    return system(command) == 0;
}

/* Starts the program in a pty; gives the milliseconds until one of `first` has come, negative when
 * none did. */
static double start_ms(char *const arguments[], const char *const first[2])
{
    struct winsize size = { .ws_row = 24, .ws_col = 80 };
    double from = now_ms(), took = -1;
    char seen[1 << 16];
    size_t length = 0;
    int master, status;
    pid_t pid = forkpty(&master, NULL, NULL, &size);

    if (pid < 0)
        return -1;
    if (pid == 0) {
        execv(arguments[0], arguments);
        _exit(127);
    }
    while (took < 0 && length < sizeof seen) {
        struct pollfd ready = { .fd = master, .events = POLLIN };
        ssize_t got;

        if (poll(&ready, 1, PATIENCE_MS) != 1)
            break;
        got = read(master, seen + length, sizeof seen - length);
        if (got <= 0)
            break;
        length += (size_t)got;
        for (int i = 0; i < 2 && took < 0; i++)
            if (memmem(seen, length, first[i], strlen(first[i])) != NULL)
                took = now_ms() - from;
    }
    kill(pid, SIGTERM);
    for (struct pollfd rest = { .fd = master, .events = POLLIN };
         poll(&rest, 1, PATIENCE_MS) == 1 && read(master, seen, sizeof seen) > 0;)
        continue;
    close(master);
    waitpid(pid, &status, 0);
    return took;
}

static int by_size(const void *a, const void *b)
{
    double one = *(const double *)a, two = *(const double *)b;

    return (one > two) - (one < two);
}

static int measure(char *wetside, char *minimal, char *book)
{
    static const char *const ours_first[2] = { "Sink", "verdict" };
    static const char *const floor_first[2] = { "Roll ", "Roll " };
    char option[] = "--book";
    char *const ours_run[] = { wetside, option, book, NULL };
    char *const floor_run[] = { minimal, book, NULL };
    double ours[ROUNDS], least[ROUNDS], times;

    for (int i = -1; i < ROUNDS; i++) {
        double a = start_ms(floor_run, floor_first), b = start_ms(ours_run, ours_first);

        if (a < 0 || b < 0) {
            printf("start: a program showed no screen\n");
            return 1;
        }
        if (i < 0)
            continue; /* the first round fills the caches of the disk */
        least[i] = a;
        ours[i] = b;
    }
    qsort(ours, ROUNDS, sizeof *ours, by_size);
    qsort(least, ROUNDS, sizeof *least, by_size);
    times = ours[ROUNDS / 2] / least[ROUNDS / 2];
    printf("start to first screen, %d rolls: %.1f ms, minimal program %.1f ms, %.2f times (at most "
           "%.1f)\n",
           ROLLS, ours[ROUNDS / 2], least[ROUNDS / 2], times, MOST_TIMES);
    return times > MOST_TIMES;
}

int main(int argc, char **argv)
{
    char folder[] = "/tmp/wetside-start-XXXXXX", own[64], minimal[64], wetside[512], *slash;
    char *book = argc > 1 ? argv[1] : own;
    int status = 1;

    if (mkdtemp(folder) == NULL)
        return 1;
    snprintf(own, sizeof own, "%s/book.db", folder);
    /* The program lies beside the folder of the tests: B/wetside and B/tests/bench/bench_start. */
    snprintf(wetside, sizeof wetside, "%s", argv[0]);
    for (int i = 0; i < 3; i++)
        if ((slash = strrchr(wetside, '/')) != NULL)
            *slash = '\0';
    snprintf(wetside + strlen(wetside), sizeof wetside - strlen(wetside), "/wetside");
    setenv("TERM", "xterm-256color", 1);
    setenv("LC_ALL", "C.UTF-8", 1);
    if (!compile_minimal(folder, minimal, sizeof minimal))
        printf("start: the minimal program could not be compiled\n");
    else if (access(book, F_OK) == 0 || many_rolls_make(book, ROLLS))
        status = measure(wetside, minimal, book);
    unlink(minimal);
    unlink(own);
    snprintf(own, sizeof own, "%s/minimal.c", folder);
    unlink(own);
    snprintf(own, sizeof own, "%s/book.db-wal", folder);
    unlink(own);
    snprintf(own, sizeof own, "%s/book.db-shm", folder);
    unlink(own);
    rmdir(folder);
    return status;
}
