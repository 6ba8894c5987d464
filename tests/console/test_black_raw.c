/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Black, byte by byte: all that is sent to a terminal between lights out and lights on.
 *
 * Method: a child runs the console in a pty of its own, with a script and a clock that is stepped;
 * the parent keeps every byte, and answers marks, so that the child goes on when all is read. Marks
 * written past ncurses tell where black begins and ends. Between them come random keys, cues,
 * notices, a device that vanishes (so that bells are asked for), resizes, a stop and its end. What
 * is left when the terminal's own sequences are taken out must be blanks, without a BEL; and the
 * cursor is never shown. In the light the same bells do ring. */
#include <errno.h>
#include <locale.h>
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <unistd.h>
#include <utmp.h>

#include "aid.h"
#include "aid_darkroom.h"
#include "aid_device.h"
#include "aid_run.h"
#include "aid_scripts.h"
#include "wetside/console/script.h"
#include "wetside/drive/headless.h"

enum { PATIENCE_MS = 30000, SEEN = 1 << 20, SCRIPT_BYTES = 1 << 15, KEYS = 200 };

#define BEGINS "<<black>>"
#define ENDS   "<<light>>"
#define SHELL  "<<shell>>\033[?25h"
#define READ   "<<read>>"

/* ---- the child: a darkroom in a terminal ---- */

static void mark(const char *text)
{
    if (write(STDOUT_FILENO, text, strlen(text)) != (ssize_t)strlen(text))
        _exit(90);
}

/* Goes on when the parent has read all up to here: what is not read in time a console throws away
 * at its end, and rings no bell into. */
static void await_reader(void)
{
    struct pollfd fd = { .fd = STDIN_FILENO, .events = POLLIN };
    char answer;

    mark(READ);
    if (poll(&fd, 1, PATIENCE_MS) != 1 || read(STDIN_FILENO, &answer, 1) != 1)
        _exit(94);
}

/* Until the drive has a frame for the screen, which the console takes after this. */
static void await_frame(const struct aid_darkroom *room)
{
    struct pollfd fd = { .fd = ws_drive_screen_fd(room->drive), .events = POLLIN };

    if (poll(&fd, 1, PATIENCE_MS) != 1)
        _exit(91);
}

/* Another size, of which the drive is told by a signal, as ever. */
static void resize(const struct aid_darkroom *room, unsigned short rows, unsigned short columns)
{
    struct winsize size = { .ws_row = rows, .ws_col = columns };

    ioctl(STDOUT_FILENO, TIOCSWINSZ, &size);
    await_frame(room);
}

static void shoot(void *self, const char *name, const char *cells)
{
    struct aid_darkroom *room = self;

    (void)cells;
    ws_drive_settle(room->drive, WS_SETTLE_SOUND);
    ws_drive_settle(room->drive, WS_SETTLE_SOUND);
    if (strcmp(name, "begins") == 0)
        mark(BEGINS);
    else if (strcmp(name, "ends") == 0)
        mark(ENDS);
    else if (strcmp(name, "small") == 0)
        resize(room, 12, 40);
    else if (strcmp(name, "tiny") == 0)
        resize(room, 1, 1);
    else if (strcmp(name, "large") == 0)
        resize(room, 50, 120);
    else if (strcmp(name, "usual") == 0)
        resize(room, 24, 80);
    else if (strcmp(name, "notice") == 0)
        kill(getpid(), SIGTSTP); /* which is answered by one */
    else if (strcmp(name, "resumed") == 0) {
        mark(SHELL); /* which showed its cursor */
        kill(getpid(), SIGCONT);
        await_frame(room);
    }
    await_reader();
}

static void begin(struct aid_darkroom *room)
{
    static struct ws_plan plan;
    struct ws_message why = { "" };
    int tank;

    ws_plan_default(&plan);
    strcpy(plan.tank, "tank A");
    plan.fill_ml = 300;
    plan.id.byte[0] = 1;
    for (int i = 0; i < 2; i++) {
        struct ws_bath *bath =
            aid_run_bath(&plan, i == 0 ? WS_BATH_DEVELOPER : WS_BATH_STOP, 120000);

        bath->longest_ms = 240000;
        bath->open_film = true;
        bath->agitation = (struct ws_agitation){
            .rhythm = WS_CYCLES, .first_ms = 10000, .every_ms = 30000, .length_ms = 10000
        };
    }
    if (ws_drive_begin(room->drive, &plan, false, &tank, &why) != WS_OK)
        _exit(92);
}

static void run_console(struct aid_darkroom *room, const char *type, const char *text)
{
    struct ws_script script = { .text = text, .clock = &room->clock, .shot = shoot, .self = room };
    struct ws_console_options options = { .drive = room->drive,
                                          .clock = &room->clock,
                                          .book_path = room->path,
                                          .script = &script,
                                          .terminal_type = type };
    struct ws_message why = { "" };
    int ended_by;

    if (ws_console_run(&options, &ended_by, &why) != WS_OK || script.fault[0] != '\0') {
        fprintf(stderr, "%s %s\n", why.text, script.fault);
        _exit(93);
    }
}

static uint64_t random_next(uint64_t *seed)
{
    uint64_t z = *seed += UINT64_C(0x9E3779B97F4A7C15);

    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

/* A palm's keys, and then others one by one; Esc among the first alone, where it is not alone. */
static size_t add_keys(char *script, size_t size, uint64_t seed)
{
    static const char *const named[] = { "<enter>", "<tab>", "<back>", "<up>", "<pgdn>",
                                         "<f13>",   "<^c>",  "<^z>",   "<^s>", "<lt>" };
    size_t used = 0;

    for (int i = 0; i < KEYS + KEYS / 10; i++) {
        uint64_t n = random_next(&seed);
        const char *gap = i < KEYS ? "<+5ms>" : "<+1100ms>";

        if (n % 8 == 0 && i < KEYS)
            used += (size_t)snprintf(script + used, size - used, "<esc>%s", gap);
        else if (n % 4 == 0)
            used += (size_t)snprintf(script + used, size - used, "%s%s",
                                     named[n / 8 % (sizeof named / sizeof *named)], gap);
        else
            used += (size_t)snprintf(script + used, size - used, "%c%s",
                                     (char)('=' + n / 4 % ('~' - '=' + 1)), gap);
    }
    return used;
}

#define SECONDS                                                                                    \
    "<+1s><shot s><+1s><shot s><+1s><shot s><+1s><shot s><+1s><shot s><+1s><shot s><+1s><shot s>"  \
    "<+1s><shot s><+1s><shot s><+1s><shot s>"

static void go_dark_and_back(struct aid_darkroom *room, const char *type)
{
    static char script[SCRIPT_BYTES];
    size_t used;

    room->take_signals = true;
    room->sound = &aid_device_sound;
    aid_device_reset(&room->clock);
    aid_darkroom_open(room, AID_EMPTY);
    begin(room);
    atomic_store(&aid_device.gone_ns, ws_clock_boot_ns(&room->clock) + 60 * INT64_C(1000000000));
    used = (size_t)snprintf(script, sizeof script,
                            TO_BLACK "<shot begins><shot s><+1s> <shot small>" SECONDS
                                     "<shot notice>" SECONDS "<shot large>");
    used += add_keys(script + used, sizeof script - used, 2718);
    snprintf(script + used, sizeof script - used, "%s",
             SECONDS "<shot tiny>" SECONDS "<shot usual>" SECONDS
                     "<shot resumed>" SECONDS SECONDS SECONDS "<shot s><shot ends>" TO_LIGHT
                     "<until tank A>" SECONDS SECONDS SECONDS SECONDS
                     "<until space: empty><shot s>");
    run_console(room, type, script);
}

/* To black before no terminal at all, then a new start in this one. */
static void come_back(struct aid_darkroom *room, const char *type)
{
    room->take_signals = true;
    room->sound = &aid_ear;
    aid_darkroom_open(room, AID_EMPTY);
    begin(room);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24, TO_BLACK "<+1s> <+5s><black>");
    aid_darkroom_stop(room);
    aid_darkroom_start(room);
    mark(BEGINS);
    run_console(room, type,
                "<shot s><+1s><shot small><+1s>x<+1s><shot s><shot ends>" TO_LIGHT
                "<until tank><shot s>");
}

/* ---- the parent: every byte ---- */

static char seen[SEEN];
static size_t length;

static void read_all(int master, pid_t child)
{
    size_t answered = 0;
    int status;

    length = 0;
    for (;;) {
        struct pollfd fd = { .fd = master, .events = POLLIN };
        ssize_t got = 0;

        if (poll(&fd, 1, PATIENCE_MS) == 1)
            got = read(master, seen + length, sizeof seen - 1 - length);
        if (got <= 0)
            break;
        length += (size_t)got;
        for (const char *at;
             (at = memmem(seen + answered, length - answered, READ, strlen(READ))) != NULL;) {
            answered = (size_t)(at - seen) + strlen(READ);
            assert_int_equal(write(master, "x", 1), 1);
        }
    }
    seen[length] = '\0';
    kill(child, SIGKILL); /* had it ended by itself, this changes nothing */
    assert_int_equal(waitpid(child, &status, 0), child);
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0)
        fail_msg("the child ended with %x", (unsigned)status);
}

static void watch(void (*act)(struct aid_darkroom *room, const char *type), const char *type)
{
    struct winsize size = { .ws_row = 24, .ws_col = 80 };
    struct aid_darkroom *room = calloc(1, sizeof *room);
    int master, slave;
    pid_t child;

    assert_non_null(room);
    assert_int_equal(openpty(&master, &slave, NULL, NULL, &size), 0);
    fflush(NULL);
    child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        void *state = room;

        close(master);
        login_tty(slave);
        setlocale(LC_ALL, "C.UTF-8");
        act(room, type);
        aid_darkroom_end(&state);
        _exit(0);
    }
    close(slave);
    read_all(master, child);
    close(master);
    free(room);
}

/* What the terminal has been told by now. */
struct told {
    int black; /* the number of its black: 16 of 256 colours, which no theme changes, else 0 */
    bool dark_ground; /* what it erases and writes is black */
    bool cursor;
};

/* The numbers of a sequence that sets colours, up to its m. */
static void take_colours(const char *at, struct told *told)
{
    do {
        char *end;
        int number = (int)strtol(at, &end, 10), colour = -1;
        bool ground = number == 48;

        if (number == 38 || ground) {
            if (sscanf(end, ";5;%d", &colour) != 1)
                fail_msg("a colour told in a way of its own: %.20s", at);
            end += 3;
            strtol(end, &end, 10);
        } else if (number >= 40 && number <= 47) {
            ground = true;
            colour = number - 40;
        } else if (number == 0 || number == 49) {
            ground = true;
        }
        if (ground)
            told->dark_ground = colour == told->black;
        at = end + 1;
        if (*end != ';')
            break;
    } while (true);
}

/* A sequence that begins with CSI; gives its length. */
static size_t take_csi(const char *at, struct told *told)
{
    size_t end = 2 + strspn(at + 2, "0123456789;:?");
    bool hides = strncmp(at, "\033[?25l", 6) == 0;

    if (hides || strncmp(at, "\033[?25h", 6) == 0 || strncmp(at, "\033[?12;25h", 9) == 0)
        told->cursor = !hides;
    if (at[end] == 'm')
        take_colours(at + 2, told);
    return end + 1;
}

/* All between two places is blank; `colour`: and black, whatever the terminal's own ground is. */
static void expect_dark(const char *from, const char *to, struct told *told, bool colour)
{
    const char *at = from;

    while (at < to) {
        if (strncmp(at, "\033[", 2) == 0) {
            size_t n = take_csi(at, told);
            bool erases = strchr("JKX", at[n - 1]) != NULL;

            if (erases && colour && !told->dark_ground)
                fail_msg("erased to a ground that is not black, %d bytes in: %.40s",
                         (int)(at - from), at > from + 24 ? at - 24 : from);
            at += n;
        } else if (strncmp(at, SHELL, strlen(SHELL)) == 0) {
            told->cursor = true;
            at += strlen(SHELL);
        } else if (strncmp(at, READ, strlen(READ)) == 0) {
            at += strlen(READ);
        } else if (*at == '\033') {
            at += at[1] == '(' || at[1] == ')' ? 3 : 2;
        } else if (*at == ' ' || *at == '\r' || *at == '\n' || *at == '\b' || *at == '\t' ||
                   *at == '\017' /* letters, not drawn lines */) {
            if (*at == ' ' && colour && !told->dark_ground)
                fail_msg("a blank that is not black, %d bytes in", (int)(at - from));
            at++;
        } else {
            fail_msg("%02x, %d bytes into black: %.60s", (unsigned char)*at, (int)(at - from), at);
        }
    }
}

static const struct {
    const char *type;
    bool no_color, colour, hides;
    int black;
} types[] = {
    { "xterm-256color", false, true, true, 16 }, { "xterm", true, true, true, 0 },
    { "screen", false, true, true, 0 },          { "screen-256color", true, true, true, 16 },
    { "linux", false, true, true, 0 },           { "vt100", false, false, false, 0 },
};

static void nothing_but_black_is_sent(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof types / sizeof *types; i++) {
        struct told told = { .dark_ground = true, .black = types[i].black };
        const char *begins, *ends, *shell;

        if (types[i].no_color)
            setenv("NO_COLOR", "1", 1);
        watch(go_dark_and_back, types[i].type);
        unsetenv("NO_COLOR");
        begins = strstr(seen, BEGINS);
        ends = strstr(seen, ENDS);
        assert_non_null(begins);
        assert_non_null(ends);
        begins += strlen(BEGINS);
        expect_dark(begins, ends, &told, types[i].colour);
        if (types[i].hides)
            assert_false(told.cursor);
        /* What came was not nothing: after a resize all is sent anew. */
        assert_true(ends - begins > 20);
        shell = strstr(begins, SHELL);
        assert_non_null(shell);
        /* In the light the bell rings, which stands in for the device that went in the dark. */
        assert_non_null(memchr(ends, '\a', length - (size_t)(ends - seen)));
        assert_non_null(strstr(ends, "tank A"));
    }
}

static void a_run_left_in_the_dark_begins_so(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof types / sizeof *types; i++) {
        struct told told = { .cursor = true, .black = types[i].black };
        const char *begins, *ends;

        watch(come_back, types[i].type);
        begins = strstr(seen, BEGINS);
        ends = strstr(seen, ENDS);
        assert_non_null(begins);
        assert_non_null(ends);
        expect_dark(begins + strlen(BEGINS), ends, &told, types[i].colour);
        if (types[i].hides)
            assert_false(told.cursor);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_but_black_is_sent),
        cmocka_unit_test(a_run_left_in_the_dark_begins_so),
    };

    return cmocka_run_group_tests_name("black, byte by byte", tests, NULL, NULL);
}
