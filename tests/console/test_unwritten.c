/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the book did not take is offered as a file elsewhere, and comes back from it.
 *
 * Method: a run is driven by a person in a script; in the middle of it the book is moved away, so
 * that nothing is kept any more; presses go on. At the end of the run, or on leaving, the page is
 * there. The file is then taken into the book, which has been put back, and the journal must be
 * whole. */
#include "aid.h"

#include <locale.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "aid_darkroom.h"
#include "aid_run.h"
#include "wetside/book/events_file.h"
#include "wetside/console/script.h"
#include "wetside/drive/headless.h"

#define MIN INT64_C(60000)

static char home[96], file[160];

/* ---- the run and its book ---- */

static void move_book(struct aid_darkroom *room, bool away)
{
    char other[128];

    snprintf(other, sizeof other, "%s.away", room->path);
    assert_int_equal(away ? rename(room->path, other) : rename(other, room->path), 0);
}

static void shoot(void *self, const char *name, const char *cells)
{
    struct aid_darkroom *room = self;

    if (strcmp(name, "do:book away") == 0)
        move_book(room, true);
    else if (strcmp(name, "do:book back") == 0)
        move_book(room, false);
    else
        room->used += (size_t)sprintf(room->shots + room->used, "==== %s\n%s", name, cells);
}

static struct ws_message saved;

static void play(struct aid_darkroom *room, int columns, int lines, const char *text)
{
    struct ws_script script = { .text = text, .clock = &room->clock, .shot = shoot, .self = room };
    struct ws_message why = { "" };
    int signal;
    struct ws_console_options console = { .clock = &room->clock,
                                          .drive = room->drive,
                                          .book_path = room->path,
                                          .script = &script,
                                          .saved = &saved,
                                          .terminal_type = "xterm",
                                          .headless = true,
                                          .lines = lines,
                                          .columns = columns };

    assert_non_null(setlocale(LC_ALL, "C.UTF-8"));
    saved.text[0] = '\0';
    assert_int_equal(ws_console_run(&console, &signal, &why), WS_OK);
    assert_string_equal(script.fault, "");
}

/* A run of two short baths, at the sink. */
static void begin(struct aid_darkroom *room)
{
    static struct ws_plan plan;
    struct ws_message why = { "" };
    int tank;

    aid_darkroom_open(room, AID_EMPTY);
    snprintf(home, sizeof home, "%s/home", room->folder);
    assert_int_equal(mkdir(home, 0700), 0);
    assert_int_equal(setenv("HOME", home, 1), 0);
    ws_plan_default(&plan);
    ws_id_make(&plan.id);
    strcpy(plan.tank, "tank A");
    plan.fill_ml = 300;
    aid_run_bath(&plan, WS_BATH_DEVELOPER, 2 * MIN);
    aid_run_bath(&plan, WS_BATH_FIXER, 2 * MIN);
    if (ws_drive_begin(room->drive, &plan, false, &tank, &why) != WS_OK)
        fail_msg("%s", why.text);
}

/* The program ends on a book that takes nothing, and says so. */
static void end(struct aid_darkroom *room, int events)
{
    struct ws_message why = { "" };
    char count[24];

    assert_int_equal(ws_drive_stop(room->drive, &why), WS_IO);
    room->drive = NULL;
    snprintf(count, sizeof count, "%d event", events);
    assert_non_null(strstr(why.text, count));
    assert_non_null(strstr(why.text, "NOT KEPT"));
}

static char *text_of(const char *path, size_t *length)
{
    static char text[1 << 16];
    FILE *from = fopen(path, "r");

    assert_non_null(from);
    *length = fread(text, 1, sizeof text - 1, from);
    fclose(from);
    return text;
}

/* Takes the file into the book that was put back; how many events were new. */
static int take_back(struct aid_darkroom *room, const char *path, bool *closed)
{
    struct ws_events_taken taken;
    struct ws_journal_row *row = NULL;
    struct ws_message why = { "" };
    struct ws_book *book = NULL;
    struct ws_id plan;
    size_t length;
    char *text = text_of(path, &length);
    int rows;

    assert_int_equal(ws_events_from_json(text, length, &plan, &row, &rows, &why), WS_OK);
    assert_int_equal(ws_book_open(room->path, WS_BOOK_WRITE, &book, &why), WS_OK);
    if (ws_events_take(book, &plan, row, rows, &taken, &why) != WS_OK)
        fail_msg("%s", why.text);
    ws_book_close(book);
    free(row);
    *closed = taken.closed;
    return taken.added;
}

static int tidy(void **state)
{
    struct aid_darkroom *room = *state;
    char command[256];

    if (room->folder[0] != '\0') {
        snprintf(command, sizeof command, "rm -rf '%s/home' '%s.away'", room->folder, room->path);
        if (system(command) != 0)
            return -1;
    }
    return aid_darkroom_end(state);
}

/* ---- on leaving ---- */

#define PRESS "<+1s> "
#define QUIT  "q<+500ms><+600ms>y<+500ms>"
/* Into the developer, and out of it while the book is away: two events that are not kept. */
#define IN_FIXER                                                                                   \
    "<until bath 1 of 2>" PRESS "<until POUR IN developer at 0><+25s>"                             \
    "<until of 2:00><until kept><shot do:book away><+1:50><until space: empty>" PRESS              \
    "<until bath 2 of 2><until NOT KEPT YET: 1 event>" PRESS "<until NOT KEPT YET: 2 events>"

/* Method: the program is left in the fixer. The page says how many events are not kept and why; a
 * file that is there already, and a folder that is none, are refused in a line; the next name is
 * taken. The file has what the book lacks, and the line at the end can say where it is. */
static void offered_on_leaving(void **state)
{
    struct aid_darkroom *room = *state;
    char script[1024];
    bool closed;
    FILE *other;

    begin(room);
    snprintf(file, sizeof file, "%s/mine.json", home);
    other = fopen(file, "w");
    assert_non_null(other);
    fclose(other);
    snprintf(script, sizeof script,
             IN_FIXER "<+1s>" QUIT "<until Into which file><shot first><^u>%s<enter>"
                      "<until is there already><^u>%s/none/x<enter><until can't be made>"
                      "<^u>~/kept.json<enter>",
             file, home);
    play(room, 80, 24, script);
    snprintf(file, sizeof file, "%s/kept.json", home);
    assert_string_equal(saved.text, file);
    assert_true(aid_darkroom_saw(room, "NOT KEPT: 2 events of tank A. Into which file?"));
    end(room, 2);
    move_book(room, false);
    assert_int_equal(take_back(room, file, &closed), 2);
    assert_false(closed);
    assert_int_equal(take_back(room, file, &closed), 0);
    unlink(file);
    aid_darkroom_start(room);
}

/* Method: left without a file: Esc asks once, and any other key leads back; twice yes leaves. Small
 * windows are drawn as well. */
static void refused_twice_in_words(void **state)
{
    struct aid_darkroom *room = *state;

    begin(room);
    play(room, 80, 24,
         IN_FIXER "<+1s>" QUIT "<until Into which file><until POUR IN 0:13><^u>~/kept.json<shot "
                               "80x24><size 40x12><shot 40x12><size 16x4>"
                  "<shot 16x4><size 80x24><esc><until LEAVE WITHOUT A FILE>n"
                  "<until Into which file><esc><until LEAVE WITHOUT A FILE>y"
                  "<until LOST FOR GOOD>n<until Into which file><esc>"
                  "<until LEAVE WITHOUT A FILE>y<until LOST FOR GOOD>y");
    aid_darkroom_compare(room, "unwritten");
    assert_string_equal(saved.text, "");
    end(room, 2);
    move_book(room, false);
    aid_darkroom_start(room);
}

/* Method: the book is put back while the page is open: Enter says that they are kept after all, and
 * no file is made. */
static void kept_after_all(void **state)
{
    struct aid_darkroom *room = *state;

    begin(room);
    play(room, 80, 24, IN_FIXER "<+1s>" QUIT "<until Into which file><shot do:book back><enter>");
    assert_string_equal(saved.text, "");
    aid_darkroom_stop(room);
    aid_darkroom_start(room);
}

/* ---- at the end of a run ---- */

/* Method: the run comes to its end while the book is away. Its events are offered before the Log is
 * shown, put off by Esc, not offered again in the next room, and asked for again on leaving. The
 * file has the whole of the rest: with it the run is closed in the book. */
static void offered_at_the_end_of_a_run(void **state)
{
    struct aid_darkroom *room = *state;
    char script[1024];
    bool closed;

    begin(room);
    snprintf(script, sizeof script,
             IN_FIXER "<+2:10><until space: empty>" PRESS
                      "<until Hang the film><until 3 events><+1s><enter><+500ms>"
                      "<until Into which file><shot at the end><esc><until enter: go on><+1s>5"
                      "<until No roll is><+1s>1<until enter: go on><+1s>q<until Into which file>"
                      "<enter>");
    play(room, 80, 24, script);
    assert_true(saved.text[0] != '\0');
    strcpy(file, saved.text);
    end(room, 4);
    move_book(room, false);
    take_back(room, file, &closed);
    assert_true(closed);
    unlink(file);
    aid_darkroom_start(room);
}

/* Method: as after the terminal was lost: nobody can be asked any more. The file is where it would
 * have been proposed, once; while the book takes all there is none. */
static void written_where_nobody_can_be_asked(void **state)
{
    struct aid_darkroom *room = *state;
    char again[200];
    bool closed;

    begin(room);
    snprintf(file, sizeof file, "%s/wetside-events-tank-A.json", home);
    snprintf(again, sizeof again, "%s/wetside-events-tank-A-2.json", home);
    ws_console_save_unwritten(room->drive, room->path);
    assert_int_equal(access(file, F_OK), -1);
    play(room, 80, 24,
         IN_FIXER "<+1s>" QUIT "<until Into which file><esc><until LEAVE>y<until LOST>y");
    ws_console_save_unwritten(room->drive, room->path);
    end(room, 2);
    move_book(room, false);
    assert_int_equal(take_back(room, file, &closed), 2);
    assert_int_equal(access(again, F_OK), -1);
    unlink(file);
    aid_darkroom_start(room);
}

int main(void)
{
#define TEST(test) cmocka_unit_test_setup_teardown(test, aid_darkroom_begin, tidy)
    const struct CMUnitTest tests[] = {
        TEST(offered_on_leaving),
        TEST(refused_twice_in_words),
        TEST(kept_after_all),
        TEST(offered_at_the_end_of_a_run),
        TEST(written_where_nobody_can_be_asked),
    };

    return cmocka_run_group_tests_name("unwritten", tests, NULL, NULL);
}
