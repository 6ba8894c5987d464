/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Sink in a real terminal: every size and every kind of terminal, in each main state.
 *
 * Method: this program runs itself once more within a tmux server of its own, on a terminal of a
 * size and a type, with a locale. There it draws a run at eight moments; after each it asks the
 * terminal where the cursor is, whose answer comes when all before it is on the screen, and waits
 * for a word to go on. The screen is then captured with its attributes and compared with one that
 * was looked at by eye (aid_capture.h). Besides: no colour but black, white and grey is ever on it,
 * and whatever the terminal can do, the text is the same. */
#include <errno.h>
#include <fcntl.h>
#include <locale.h>
#include <poll.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "aid.h"
#include "aid_capture.h"
#include "aid_pane.h"
#include "aid_run.h"
#include "wetside/console/terminal.h"

enum { PATIENCE_MS = 10000, PATH = 128, CAPTURE_BYTES = 1 << 20 };

/* ---- the moments ---- */

/* The film run with the developer's clock at clock_ms: first liquid at 133 s, full at 148 s. */
static void developer_at(struct aid_run *run, int64_t clock_ms)
{
    aid_run_film(run);
    aid_run_hand(run, 2000);
    aid_run_hand(run, 9000);
    aid_run_hand(run, 120000);
    aid_run_hand(run, 128000);
    aid_run_to(run, 148000 + clock_ms);
}

static void waiting(struct aid_run *run)
{
    aid_run_film(run);
    aid_run_hand(run, 2000);
    aid_run_hand(run, 9000);
    aid_run_hand(run, 120000);
    aid_run_to(run, 124000);
}

static void counting(struct aid_run *run)
{
    developer_at(run, -18000);
}

static void agitate(struct aid_run *run)
{
    developer_at(run, 65500); /* of 4 inversions, each 2.5 s from 1:00 on, the third */
}

static void rest(struct aid_run *run)
{
    developer_at(run, 65500);
    aid_run_hand(run, run->at_ms + 500);
    aid_run_to(run, run->at_ms + 10000);
}

static void get_ready(struct aid_run *run)
{
    developer_at(run, 555000);
}

static void pour_out(struct aid_run *run)
{
    developer_at(run, 560000);
}

static void overtime(struct aid_run *run)
{
    developer_at(run, 560000 + 12000);
}

static void done(struct aid_run *run)
{
    aid_run_stand(run);
    aid_run_hand(run, 1000);
    aid_run_hand(run, 3660000);
    aid_run_hand(run, 3670000);
    aid_run_hand(run, 3730000);
    aid_run_to(run, 3735000);
}

static const struct {
    const char *name;
    void (*make)(struct aid_run *run);
} moments[] = {
    { "waiting", waiting },   { "count-in", counting },   { "agitate 3 of 4", agitate },
    { "rest", rest },         { "get ready", get_ready }, { "pour out", pour_out },
    { "overtime", overtime }, { "done", done },
};
enum { MOMENTS = sizeof moments / sizeof *moments };

/* ---- within the terminal ---- */

/* Waits until the terminal has taken all that was written: it answers in order. */
static bool written(void)
{
    static const char ask[] = "\033[6n";
    char answer = '\0';

    if (write(STDOUT_FILENO, ask, sizeof ask - 1) != (ssize_t)(sizeof ask - 1))
        return false;
    while (answer != 'R') {
        struct pollfd fd = { .fd = STDIN_FILENO, .events = POLLIN };

        if (poll(&fd, 1, PATIENCE_MS) != 1 || read(STDIN_FILENO, &answer, 1) != 1)
            return false;
    }
    return true;
}

/* Draws each moment; says so through one pipe, and goes on at a word from the other. */
static int show(const char *say_path, const char *hear_path)
{
    static struct aid_run run;
    struct ws_terminal_options options = { .headless = false };
    struct ws_message why = { "" };
    int say = open(say_path, O_RDWR), hear = open(hear_path, O_RDWR);
    char word;

    setlocale(LC_ALL, "");
    if (say < 0 || hear < 0)
        return 1;
    if (ws_terminal_start(&options, &why) != WS_OK) {
        fprintf(stderr, "%s\n", why.text);
        return 1;
    }
    for (int i = 0; i < MOMENTS; i++) {
        moments[i].make(&run);
        free(aid_run_cells(&run));
        if (!written() || write(say, "s", 1) != 1 || read(hear, &word, 1) != 1)
            break;
    }
    ws_terminal_stop();
    return 0;
}

/* ---- the terminal ---- */

struct mode {
    const char *name;        /* of its capture */
    const char *environment; /* of the program within */
    int columns, lines;
    bool greys;  /* may have colours without hue */
    bool folded; /* rows that are alike stand in the capture once */
};

struct stage {
    char folder[PATH], say_path[PATH], hear_path[PATH];
    int say, hear;
    int servers; /* each mode has its own: the last may still be ending */
    char captured[CAPTURE_BYTES];
    struct aid_pane pane;
    struct aid_page text, looks; /* of all moments, for the capture files */
};

/* Runs tmux; what it prints is in `captured`. */
static bool tmux(struct stage *stage, const char *command)
{
    char line[PATH * 20];
    size_t got;
    FILE *pipe;

    snprintf(line, sizeof line, "env -u TMUX tmux -u -S '%s/tmux%d' -f '%s/conf' %s 2>&1",
             stage->folder, stage->servers, stage->folder, command);
    pipe = popen(line, "r");
    assert_non_null(pipe);
    got = fread(stage->captured, 1, sizeof stage->captured - 1, pipe);
    stage->captured[got] = '\0';
    return pclose(pipe) == 0;
}

static void put_file(const struct stage *stage, const char *name, const char *text)
{
    char path[2 * PATH];
    FILE *file;

    snprintf(path, sizeof path, "%s/%s", stage->folder, name);
    file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

/* A terminal of sixteen colours, and one without inverse video, are in few collections: they are
 * made of one that all have. */
static void make_terminals(const struct stage *stage)
{
    char command[512];

    put_file(stage, "made.ti",
             "wetside-16color|sixteen colours, use=xterm, colors#16, pairs#256,\n"
             "\tsetaf=\\E[%?%p1%{8}%<%t3%p1%d%e9%p1%{8}%-%d%;m,\n"
             "\tsetab=\\E[%?%p1%{8}%<%t4%p1%d%e10%p1%{8}%-%d%;m,\n"
             "wetside-plain|no inverse video, rev@, smso@, rmso@, sgr@, use=vt100,\n");
    snprintf(command, sizeof command, "tic -x -o '%s/terminfo' '%s/made.ti' 2>/dev/null",
             stage->folder, stage->folder);
    if (system(command) != 0)
        fail_msg("tic can't make terminals for this test");
}

static int set_stage(void **state)
{
    struct stage *stage = calloc(1, sizeof *stage);
    char folder[] = "/tmp/wetside-screens-XXXXXX";

    assert_non_null(stage);
    *state = stage;
    assert_non_null(mkdtemp(folder));
    snprintf(stage->folder, sizeof stage->folder, "%s", folder);
    snprintf(stage->say_path, sizeof stage->say_path, "%s/say", folder);
    snprintf(stage->hear_path, sizeof stage->hear_path, "%s/hear", folder);
    assert_int_equal(mkfifo(stage->say_path, 0600), 0);
    assert_int_equal(mkfifo(stage->hear_path, 0600), 0);
    stage->say = open(stage->say_path, O_RDWR);
    stage->hear = open(stage->hear_path, O_RDWR);
    put_file(stage, "conf", "set -g status off\nset -g remain-on-exit on\n");
    if (system("command -v tmux >/dev/null") != 0)
        fail_msg("tmux is missing: it is the terminal these tests look into");
    return 0;
}

static int strike_stage(void **state)
{
    struct stage *stage = *state;
    char command[2 * PATH];

    tmux(stage, "kill-server");
    close(stage->say);
    close(stage->hear);
    snprintf(command, sizeof command, "rm -rf '%s'", stage->folder);
    if (system(command) != 0)
        print_error("%s is left\n", stage->folder);
    free(stage);
    return 0;
}

static void raise_curtain(struct stage *stage, const struct mode *mode)
{
    char self[PATH * 4], command[PATH * 16];
    ssize_t length = readlink("/proc/self/exe", self, sizeof self - 1);

    assert_true(length > 0);
    self[length] = '\0';
    snprintf(command, sizeof command,
             "new-session -d -s screens -x %d -y %d \"exec env -u NO_COLOR LC_ALL=C.UTF-8 "
             "TERMINFO_DIRS='%s/terminfo:/etc/terminfo:/lib/terminfo:/usr/share/terminfo' %s '%s' "
             "--show '%s' '%s'\"",
             mode->columns, mode->lines, stage->folder, mode->environment, self, stage->say_path,
             stage->hear_path);
    if (!tmux(stage, command))
        fail_msg("%s", stage->captured);
}

/* Black, white, and the greys between them, of the fixed part of the palette. */
static bool is_grey(int colour)
{
    return colour == -1 || colour == 0 || colour == 7 || colour == 8 || colour == 15 ||
           colour == 16 || colour == 231 || (colour >= 232 && colour <= 255);
}

static void check_colours(const struct stage *stage, const struct mode *mode)
{
    for (int y = 0; y < mode->lines; y++) {
        for (int x = 0; x < mode->columns; x++) {
            const struct aid_cell *cell = &stage->pane.cell[y][x];
            bool plain = cell->colour == -1 && cell->ground == -1;

            if (!is_grey(cell->colour) || !is_grey(cell->ground) || (!plain && !mode->greys))
                fail_msg("%s: colour %d on %d at row %d, column %d", mode->name, cell->colour,
                         cell->ground, y, x);
        }
    }
}

/* ---- tests ---- */

/* Waits for the word that a moment is on the screen, and captures it. */
static void capture(struct stage *stage, const struct mode *mode, int moment)
{
    struct pollfd fd = { .fd = stage->say, .events = POLLIN };
    char word;

    if (poll(&fd, 1, PATIENCE_MS) != 1) {
        tmux(stage, "capture-pane -p -t screens");
        fail_msg("%s: %s was never drawn:\n%s", mode->name, moments[moment].name, stage->captured);
    }
    assert_int_equal(read(stage->say, &word, 1), 1);
    if (!tmux(stage, "capture-pane -e -N -p -t screens"))
        fail_msg("%s", stage->captured);
    assert_int_equal(write(stage->hear, "g", 1), 1);
    stage->pane.lines = mode->lines;
    stage->pane.columns = mode->columns;
    aid_pane_read(&stage->pane, stage->captured);
    check_colours(stage, mode);
}

static void play(struct stage *stage, const struct mode *mode)
{
    stage->text.used = stage->looks.used = 0;
    stage->servers++;
    raise_curtain(stage, mode);
    for (int i = 0; i < MOMENTS; i++) {
        capture(stage, mode, i);
        aid_page_add(&stage->text, "==== %s\n", moments[i].name);
        aid_page_add(&stage->looks, "==== %s\n", moments[i].name);
        aid_pane_text(&stage->pane, mode->folded, &stage->text);
        aid_pane_looks(&stage->pane, &stage->looks);
    }
    tmux(stage, "kill-server");
}

/* Method: six sizes, on the terminal most people have. */
static void every_size(void **state)
{
    static const struct mode sizes[] = {
        { "screens_16x4", "TERM=screen-256color", 16, 4, true, false },
        { "screens_24x8", "TERM=screen-256color", 24, 8, true, false },
        { "screens_40x12", "TERM=screen-256color", 40, 12, true, false },
        { "screens_80x24", "TERM=screen-256color", 80, 24, true, false },
        { "screens_120x40", "TERM=screen-256color", 120, 40, true, false },
        { "screens_300x100", "TERM=screen-256color", 300, 100, true, true },
    };
    struct stage *stage = *state;

    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        play(stage, &sizes[i]);
        aid_capture_compare(sizes[i].name, stage->text.bytes);
    }
}

/* Method: kinds of terminals with UTF-8, at home size. How each row looks is compared with what was
 * looked at by eye; the text must be that of the first. */
static void every_kind_of_terminal(void **state)
{
    static const struct mode modes[] = {
        { "looks_256", "TERM=screen-256color", 80, 24, true, false },
        { "looks_16", "TERM=wetside-16color", 80, 24, true, false },
        { "looks_8", "TERM=xterm", 80, 24, true, false },
        { "looks_linux", "TERM=linux", 80, 24, true, false },
        { "looks_vt220", "TERM=vt220", 80, 24, false, false },
        { "looks_vt100", "TERM=vt100", 80, 24, false, false },
        { "looks_no_color", "TERM=screen-256color NO_COLOR=1", 80, 24, false, false },
    };
    static char first[AID_PAGE_BYTES];
    struct stage *stage = *state;

    make_terminals(stage);
    for (size_t i = 0; i < sizeof modes / sizeof *modes; i++) {
        play(stage, &modes[i]);
        aid_capture_compare(modes[i].name, stage->looks.bytes);
        if (i == 0)
            strcpy(first, stage->text.bytes);
        assert_string_equal(stage->text.bytes, first);
    }
}

/* Method: without UTF-8: with colours, without, and without inverse video. The text is the same:
 * what is inverse is written as # in it. */
static void without_utf8(void **state)
{
    static const struct mode modes[] = {
        { "looks_ascii", "TERM=screen-256color LC_ALL=C", 80, 24, false, false },
        { "looks_ascii_vt100", "TERM=vt100 LC_ALL=C", 80, 24, false, false },
        { "looks_ascii_plain", "TERM=wetside-plain LC_ALL=C", 80, 24, false, false },
    };
    struct stage *stage = *state;

    make_terminals(stage);
    for (size_t i = 0; i < sizeof modes / sizeof *modes; i++) {
        play(stage, &modes[i]);
        aid_capture_compare(modes[i].name, stage->looks.bytes);
        aid_capture_compare("screens_80x24_ascii", stage->text.bytes);
    }
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(every_size, set_stage, strike_stage),
        cmocka_unit_test_setup_teardown(every_kind_of_terminal, set_stage, strike_stage),
        cmocka_unit_test_setup_teardown(without_utf8, set_stage, strike_stage),
    };

    if (argc == 4 && strcmp(argv[1], "--show") == 0)
        return show(argv[2], argv[3]);
    return cmocka_run_group_tests_name("the Sink in a real terminal", tests, NULL, NULL);
}
