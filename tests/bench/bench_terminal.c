/* SPDX-License-Identifier: GPL-3.0-or-later */
/* At rest in a run: bytes to the terminal, wake-ups, and share of a core.
 *
 * Method: a child runs the drive and the console as the program does, in a pty of 80x24, on a
 * rehearsal whose developer rests for half an hour; the parent types the hand key, waits until the
 * run rests, and then counts for 60 seconds (or as many as its argument says): what it reads from
 * the pty, the voluntary context switches of all the child's threads, and the time they were on a
 * core (schedstat). No cue falls into that stretch or within 5 seconds of it. */
#include <dirent.h>
#include <errno.h>
#include <locale.h>
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "wetside/console/room.h"
#include "wetside/drive/drive.h"

/* DESIGN's promises. */
#define BYTES_MOST   300.0
#define WAKES_MOST   12.0
#define PERCENT_MOST 0.5

enum { SETTLE_MS = 12000, START_MS = 1500 };

static void make_plan(struct ws_plan *plan)
{
    struct ws_bath *bath = &plan->bath[0];

    ws_plan_default(plan);
    strcpy(plan->tank, "tank A");
    plan->fill_ml = 500;
    plan->places = 1;
    strcpy(plan->place[0].number, "2026-0143");
    strcpy(plan->place[0].film, "Tarn 125");
    plan->place[0].rolls = 1;
    plan->place[0].reel = 1;
    ws_bath_default(WS_BATH_DEVELOPER, bath);
    bath->time_ms = 1800000;
    bath->longest_ms = bath->time_ms;
    bath->count_in_ms = 1000;
    bath->pour_in_ms = 1000;
    bath->agitation = (struct ws_agitation){ .rhythm = WS_STAND, .first_ms = 2000 };
    bath->parts = 1;
    bath->part[0].water = true;
    bath->part[0].ml = 500;
    plan->baths = 1;
}

static int child(void)
{
    static struct ws_plan plan;
    struct ws_clock clock;
    struct ws_drive_options options = { .clock = &clock, .take_signals = true };
    struct ws_console_options console = { .clock = &clock };
    struct ws_message why = { "" };
    struct ws_drive *drive;
    int tank, ended_by;

    if (setlocale(LC_CTYPE, "C.UTF-8") == NULL)
        setlocale(LC_CTYPE, "");
    setenv("TERM", "xterm-256color", 0);
    make_plan(&plan);
    ws_clock_real(&clock);
    if (ws_drive_start(&options, &drive, &why) != WS_OK ||
        ws_drive_begin(drive, &plan, true, &tank, &why) != WS_OK) {
        fprintf(stderr, "%s\n", why.text);
        return 1;
    }
    console.drive = drive;
    ws_console_run(&console, &ended_by, &why);
    ws_drive_stop(drive, NULL);
    return 0;
}

/* ---- looking at the child ---- */

struct use {
    long long wakes, core_ns;
    int threads;
};

static void use_of_thread(pid_t pid, const char *thread, struct use *use)
{
    char path[300], line[256];
    long long number;
    FILE *file;

    snprintf(path, sizeof path, "/proc/%d/task/%.40s/status", (int)pid, thread);
    file = fopen(path, "r");
    while (file != NULL && fgets(line, sizeof line, file) != NULL)
        if (sscanf(line, "voluntary_ctxt_switches: %lld", &number) == 1)
            use->wakes += number;
    if (file != NULL)
        fclose(file);
    snprintf(path, sizeof path, "/proc/%d/task/%.40s/schedstat", (int)pid, thread);
    file = fopen(path, "r");
    if (file != NULL && fscanf(file, "%lld", &number) == 1)
        use->core_ns += number;
    if (file != NULL)
        fclose(file);
    use->threads++;
}

static struct use use_of(pid_t pid)
{
    struct use use = { 0, 0, 0 };
    char path[64];
    DIR *folder;

    snprintf(path, sizeof path, "/proc/%d/task", (int)pid);
    folder = opendir(path);
    for (struct dirent *entry; folder != NULL && (entry = readdir(folder)) != NULL;)
        if (entry->d_name[0] != '.')
            use_of_thread(pid, entry->d_name, &use);
    if (folder != NULL)
        closedir(folder);
    return use;
}

static long long now_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (long long)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* Reads for so long; gives how many bytes came. */
static long long read_for(int fd, long long ms)
{
    long long end_ms = now_ms() + ms, bytes = 0, left_ms;
    char buffer[4096];

    while ((left_ms = end_ms - now_ms()) > 0) {
        struct pollfd ready = { .fd = fd, .events = POLLIN };
        ssize_t got;

        if (poll(&ready, 1, (int)left_ms) != 1)
            continue;
        got = read(fd, buffer, sizeof buffer);
        if (got <= 0)
            return -1;
        bytes += got;
    }
    return bytes;
}

static bool report(const char *what, double is, double most, const char *unit)
{
    printf("  %-26s %8.2f %-12s at most %g\n", what, is, unit, most);
    return is <= most;
}

int main(int argc, char **argv)
{
    int seconds = argc > 1 ? atoi(argv[1]) : 60, master, status;
    struct winsize size = { .ws_row = 24, .ws_col = 80 };
    struct use before, after;
    long long bytes;
    bool kept;
    pid_t pid;

    if (seconds < 1)
        seconds = 1;
    pid = forkpty(&master, NULL, NULL, &size);
    if (pid < 0) {
        perror("forkpty");
        return 1;
    }
    if (pid == 0)
        _exit(child());
    read_for(master, START_MS);
    if (write(master, " ", 1) != 1)
        return 1;
    read_for(master, SETTLE_MS);
    before = use_of(pid);
    bytes = read_for(master, seconds * 1000LL);
    after = use_of(pid);
    kill(pid, SIGTERM);
    read_for(master, 500);
    close(master);
    waitpid(pid, &status, 0);
    if (bytes < 0 || after.threads == 0) {
        printf("at rest in a run: the child ended early\n");
        return 1;
    }
    printf("at rest in a run, 80x24, %d s, %d threads\n", seconds, after.threads);
    kept = report("terminal", (double)bytes / seconds, BYTES_MOST, "bytes/s");
    kept = report("wake-ups", (double)(after.wakes - before.wakes) / seconds, WAKES_MOST, "/s") &&
           kept;
    kept = report("core", (double)(after.core_ns - before.core_ns) / seconds / 1e7, PERCENT_MOST,
                  "%") &&
           kept;
    return kept ? 0 : 1;
}
