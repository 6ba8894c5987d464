/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Sink at every size a window can have, in every state, with and without UTF-8.
 *
 * Method: the run is drawn at sizes from 1x1 up, panels too; the sanitizers watch. What is promised
 * for a size is looked for in the cells: a clock and one word down to 16x4. */
#include <stdlib.h>

#include "aid.h"
#include "aid_run.h"
#include "wetside/console/draw.h"
#include "wetside/console/terminal.h"

#include "../../src/console/sink.h"

enum { STATES = 9 };

static const char *const words[STATES] = { "READY?",  "GET READY", "POUR IN",  "AGITATE", "REST",
                                           "AGITATE", "GET READY", "POUR OUT", "POUR OUT" };

static void make_state(struct aid_run *run, int state)
{
    static const int64_t clock_ms[STATES] = { 0,      -18000, -9000,  62500, 85000,
                                              547000, 556000, 561000, 575000 };

    aid_run_film(run);
    aid_run_hand(run, 2000);
    aid_run_hand(run, 9000);
    aid_run_hand(run, 120000);
    if (state == 0)
        return;
    aid_run_hand(run, 128000);
    aid_run_to(run, 148000 + clock_ms[state]);
}

static void at_every_size(const char *locale)
{
    static struct aid_run run;

    for (int state = 0; state < STATES; state++) {
        make_state(&run, state);
        aid_screen(locale, "xterm", 24, 80);
        for (int lines = 1; lines <= 50; lines += lines < 26 ? 1 : 8) {
            for (int columns = 1; columns <= 260; columns += columns < 45 ? 3 : 37) {
                char *cells;

                ws_terminal_pretend(lines, columns);
                cells = aid_run_cells(&run);
                assert_non_null(cells);
                free(cells);
            }
        }
    }
}

static void never_crashes(void **state)
{
    (void)state;
    at_every_size("C.UTF-8");
    at_every_size("C");
}

/* At 16x4 the word stands in plain letters and the clock below it. */
static void clock_and_word_at_least(void **state)
{
    static struct aid_run run;

    (void)state;
    for (int i = 0; i < STATES; i++) {
        char *cells;
        int rows = 0;

        make_state(&run, i);
        aid_screen("C", "xterm", 4, 16);
        cells = aid_run_cells(&run);
        for (char *at = cells; *at != '\0'; at++)
            if (*at == '#')
                *at = ' '; /* inverse blanks of the band */
        assert_non_null(strstr(cells, words[i]));
        for (char *line = strtok(cells, "\n"); line != NULL; line = strtok(NULL, "\n"))
            rows += strspn(line, " ") < strlen(line);
        assert_true(rows >= 2);
        free(cells);
    }
}

static void panels_fit(void **state)
{
    static struct aid_run run;
    struct sink sink;

    (void)state;
    make_state(&run, 3);
    aid_screen("C.UTF-8", "xterm", 24, 80);
    for (int panel = SINK_PANEL_KEYS; panel <= SINK_PANEL_ROOMS; panel++) {
        for (int lines = 1; lines <= 30; lines += 2) {
            for (int columns = 1; columns <= 100; columns += 9) {
                sink_begin(&sink);
                sink.panel = (enum sink_panel)panel;
                ws_terminal_pretend(lines, columns);
                erase();
                sink_panel_draw(stdscr, lines / 2, lines - lines / 2, &sink);
                wnoutrefresh(stdscr);
                ws_terminal_flush();
            }
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(never_crashes),
        cmocka_unit_test(clock_and_word_at_least),
        cmocka_unit_test(panels_fit),
    };
    int failed = cmocka_run_group_tests_name("any size", tests, NULL, NULL);

    ws_terminal_stop();
    return failed;
}
