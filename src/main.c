/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reads the command line and hands over: to a verb, or to the console. */
#include <fcntl.h>
#include <locale.h>
#include <signal.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "wetside/command/command.h"
#include "wetside/console/room.h"
#include "wetside/console/terminal.h"
#include "wetside/drive/drive.h"
#include "wetside/port/alsa.h"
#include "wetside/port/text.h"

/* A file that is there and empty is filled as one that is not. */
static bool would_begin(const char *book_path)
{
    struct stat file;

    return stat(book_path, &file) != 0 || file.st_size == 0;
}

/* The terminal is gone and a run is not: it goes on with sound alone. What is left of the terminal
 * is let go, so that nothing waits for it and it for nothing. */
static void go_on_alone(struct ws_drive *drive, const char *book_path, int *ended_by)
{
    struct ws_awake *awake = NULL;
    int null = open("/dev/null", O_RDWR), by = 0;

    for (int fd = 0; null >= 0 && fd <= 2; fd++)
        dup2(null, fd);
    if (null > 2)
        close(null);
    (void)ws_awake_begin(ws_awake_way(), &awake, NULL);
    ws_drive_alone(drive, &by);
    ws_awake_end(awake);
    ws_console_save_unwritten(drive, book_path);
    if (by != 0)
        *ended_by = by;
}

/* The console on its drive. The terminal is restored before the book is closed: what is still to be
 * written may take its time, and the person has the screen back meanwhile. */
static int open_console(const char *book_path, bool demo, struct ws_message *why)
{
    struct ws_clock clock;
    struct ws_drive *drive = NULL;
    static struct ws_alsa *alsa;
    struct ws_sound sound;
    struct ws_drive_options options = { .clock = &clock,
                                        .book_path = book_path,
                                        .mode = WS_BOOK_WRITE,
                                        .take_signals = true,
                                        .open_beside = true };
    struct ws_console_options console = {
        .clock = &clock, .book_path = book_path, .demo = demo, .awake = ws_awake_way()
    };
    int ended_by = 0;
    struct ws_message saved = { "" }, lost;
    enum ws_status status, unkept;

    /* Asked before the book is opened: without a terminal none is begun. */
    if (!isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO))
        return ws_status_exit(
            ws_fail(why, WS_IO,
                    "the console needs a terminal on its input and output; wetside help lists what "
                    "goes without"));
    /* An old book is opened while the terminal starts; a new one waits until it is known to. */
    if (would_begin(book_path)) {
        status = ws_terminal_check(NULL, why);
        if (status != WS_OK)
            return ws_status_exit(status);
    }
    ws_clock_real(&clock);
    /* Kept to the end: a device that hangs may hold it longer than the drive lives. One that can't
     * be had says so where it is opened. */
    (void)ws_alsa_new(NULL, &alsa, &sound, NULL);
    options.sound = &sound;
    options.speech = true;
    status = ws_drive_start(&options, &drive, why);
    if (status != WS_OK)
        return ws_status_exit(status);
    console.drive = drive;
    console.saved = &saved;
    status = ws_console_run(&console, &ended_by, why);
    /* A demo's book is thrown away: nothing of it is worth going on. */
    if (status == WS_OK && !demo && ended_by == SIGHUP && ws_drive_has_run(drive))
        go_on_alone(drive, book_path, &ended_by);
    unkept = ws_drive_stop(drive, &lost);
    if (status == WS_OK && unkept != WS_OK)
        return ws_status_exit(ws_fail(why, unkept, "%.*s%s%s", (int)sizeof lost.text / 2, lost.text,
                                      saved.text[0] != '\0' ? "; in a file: " : "", saved.text));
    if (ended_by != 0)
        return 128 + ended_by;
    return ws_status_exit(status);
}

/* The runs that another process drives, on a drive that has no book: it reads signals and sizes. */
static int open_watch(const char *book_path, enum ws_scale scale, struct ws_message *why)
{
    struct ws_clock clock;
    struct ws_drive *drive = NULL;
    struct ws_drive_options options = { .clock = &clock, .take_signals = true };
    struct ws_console_options console = {
        .clock = &clock, .book_path = book_path, .watch = true, .scale = scale
    };
    int ended_by = 0;
    enum ws_status status;

    if (!isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO))
        return ws_status_exit(
            ws_fail(why, WS_IO, "to watch a run takes a terminal on the input and output"));
    ws_clock_real(&clock);
    status = ws_drive_start(&options, &drive, why);
    if (status != WS_OK)
        return ws_status_exit(status);
    console.drive = drive;
    status = ws_console_run(&console, &ended_by, why);
    ws_drive_stop(drive, NULL);
    return ended_by != 0 ? 128 + ended_by : ws_status_exit(status);
}

/* Of the three streams those that came closed are held by what they can't do anything with: the
 * next file opened would else take their place, the book among them, and get what was to be said.
 */
static void hold_streams(void)
{
    for (int fd = 0; fd <= 2; fd++)
        if (fcntl(fd, F_GETFD) < 0)
            (void)!open("/dev/null", fd == 0 ? O_WRONLY : O_RDONLY);
}

int main(int argc, char **argv)
{
    static const struct ws_command_hooks hooks = { .console = open_console, .watch = open_watch };

    hold_streams();
    /* Only what text is made of; numbers are read and written the same in every locale. */
    setlocale(LC_CTYPE, "");
    /* The terminal is of this thread, and the voice's library switches the shared one. */
    ws_text_own_locale();
    return ws_command_main(argc, argv, stdout, stderr, &hooks);
}
