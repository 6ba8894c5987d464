/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Events of a run that the book did not take, offered as a file elsewhere while there is still a
 * screen to offer them on. */
#include <ctype.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "wetside/book/events_file.h"
#include "wetside/console/ask.h"
#include "wetside/port/paths.h"

#include "layers.h"
#include "recover.h"

enum { ROLLS_IN_NAME = 3, NAMES_TRIED = 100 };

/* What is offered. */
struct offer {
    struct ws_console *console;
    int tank;
    const struct ws_plan *plan;
    int64_t run;
    int rows;
    uint32_t last; /* sequence of the last event that is in a file */
    bool written, taken;
    char notice[WS_MESSAGE_BYTES]; /* the drive's, on why they are not kept */
    char path[PATH_MAX];
};

/* ---- what there is ---- */

/* The events that are not in the book, nor in a file of this offer. The rows are the caller's. */
static enum ws_status read_rows(struct offer *offer, struct ws_journal_row **row,
                                struct ws_message *why)
{
    const struct ws_plan *plan;
    enum ws_status status =
        ws_drive_unwritten(offer->console->drive, offer->tank, row, &offer->rows, &plan, why);

    if (status != WS_OK)
        return status;
    if (offer->rows > 0 && plan == NULL) {
        offer->rows = 0; /* of no run that was at this sink: nothing can be said of them */
        return WS_OK;
    }
    if (offer->rows > 0) {
        offer->plan = plan;
        offer->run = (*row)[0].run;
    }
    offer->taken = offer->rows == 0;
    return WS_OK;
}

static bool look_for_rows(struct offer *offer)
{
    struct ws_journal_row *row = NULL;
    bool any = read_rows(offer, &row, NULL) == WS_OK && offer->rows > 0 &&
               row[offer->rows - 1].event.sequence > offer->last;

    free(row);
    return any;
}

static bool is_open(const struct ws_console *console, int64_t run)
{
    for (int i = 0; console->have_frame && i < console->frame.tanks; i++)
        if (console->frame.tank[i].plan != NULL && !console->frame.tank[i].session.closed &&
            console->frame.tank[i].run == run)
            return true;
    return false;
}

/* ---- the name that is proposed ---- */

/* Only what is a name's in any file system. */
static void add_part(char *name, size_t size, const char *part)
{
    size_t used = strlen(name);

    if (used + 1 < size)
        name[used++] = '-';
    for (; *part != '\0' && used + 1 < size; part++)
        name[used++] = isalnum((unsigned char)*part) || *part == '.' || *part == '_' ? *part : '-';
    name[used] = '\0';
}

static void propose(const struct ws_plan *plan, const char *book, char *path, size_t size)
{
    char folder[WS_FIELD_BYTES / 2], name[128] = "wetside-events";

    for (int i = 0; i < plan->places && i < ROLLS_IN_NAME; i++)
        add_part(name, sizeof name, plan->place[i].number);
    if (plan->places == 0 && plan->tank[0] != '\0')
        add_part(name, sizeof name, plan->tank);
    ws_path_elsewhere(book != NULL ? book : ".", folder, sizeof folder);
    for (int i = 1; i < NAMES_TRIED; i++) {
        if (i == 1)
            snprintf(path, size, "%s/%s.json", folder, name);
        else
            snprintf(path, size, "%s/%s-%d.json", folder, name, i);
        if (access(path, F_OK) != 0)
            return;
    }
}

/* ---- the page ---- */

/* `~/` is a shell's, but a hand types it here as well. */
static enum ws_status full_path(const char *typed, char path[PATH_MAX], struct ws_message *why)
{
    const char *home = getenv("HOME");
    int length;

    if (strncmp(typed, "~/", 2) == 0 && home != NULL)
        length = snprintf(path, PATH_MAX, "%s%s", home, typed + 1);
    else
        length = snprintf(path, PATH_MAX, "%s", typed);
    return length < PATH_MAX ? WS_OK : ws_fail(why, WS_BAD_INPUT, "the path is too long");
}

static enum ws_status write_file(void *self, const struct ws_field *field, int *at,
                                 struct ws_message *why)
{
    struct offer *offer = self;
    struct ws_journal_row *row = NULL;
    enum ws_status status = full_path(field[0].text, offer->path, why);

    *at = 0;
    if (status == WS_OK)
        status = read_rows(offer, &row, why);
    if (status == WS_OK && offer->rows > 0) {
        status = ws_events_write(offer->path, &offer->plan->id, row, offer->rows, why);
        offer->written = status == WS_OK;
        if (offer->written)
            offer->last = row[offer->rows - 1].event.sequence;
    }
    free(row);
    return status;
}

static void tell(void *self, const struct ws_field *field, int at, struct ws_notes *notes)
{
    struct offer *offer = self;
    char *notice = offer->console->frame.notice;

    (void)field;
    (void)at;
    /* The whole of it here, and not a part of it below. */
    if (notice[0] != '\0')
        ws_text_copy(offer->notice, sizeof offer->notice, notice);
    notice[0] = '\0';
    if (offer->notice[0] != '\0')
        ws_note(notes, false, "%s", offer->notice);
    ws_note(notes, false, "Back into the book with: wetside events --take FILE");
    if (is_open(offer->console, offer->run))
        ws_note(notes, true, "This run is open: first that, and only then start wetside again.");
}

static void name_of(const struct offer *offer, char *text, size_t size)
{
    const struct ws_plan *plan = offer->plan;

    snprintf(text, size, "%.60s%s%.60s", plan->tank,
             plan->tank[0] != '\0' && plan->places > 0 ? ", " : "",
             plan->places > 0 ? plan->place[0].number : "");
}

static enum ws_answer ask_path(struct offer *offer, struct ws_field *field)
{
    char title[WS_MESSAGE_BYTES], name[160];
    struct ws_ask page = { .room = &ws_room_sink,
                           .what = "not kept",
                           .title = title,
                           .about = "The book did not take them. A file on another disk keeps them "
                                    "until it does; where the book can be written again in the "
                                    "meantime, enter says so.",
                           .field = field,
                           .fields = 1,
                           .accept = write_file,
                           .look = tell,
                           .self = offer };

    name_of(offer, name, sizeof name);
    snprintf(title, sizeof title, "NOT KEPT: %d event%s of %s. Into which file?", offer->rows,
             offer->rows == 1 ? "" : "s", name);
    return ws_ask(offer->console, &page);
}

/* Both are answered by a letter, and say what is lost. */
static bool refused_twice(struct offer *offer)
{
    char question[WS_MESSAGE_BYTES];
    struct ws_console *console = offer->console;

    snprintf(question, sizeof question, "LEAVE WITHOUT A FILE? %d event%s would be lost.",
             offer->rows, offer->rows == 1 ? "" : "s");
    if (!ws_console_ask(console, question))
        return false;
    return ws_console_ask(console, "LOST FOR GOOD: nothing can bring them back. Still leave?");
}

static void note_saved(const struct offer *offer)
{
    struct ws_message *saved = offer->console->saved;
    size_t used;

    ws_console_say(offer->console, "written: %s", offer->path);
    if (saved == NULL)
        return;
    used = strlen(saved->text);
    snprintf(saved->text + used, sizeof saved->text - used, "%s%s", used > 0 ? ", " : "",
             offer->path);
}

/* Until it is written, taken by the book after all, put off, or refused. */
static void offer_one(struct offer *offer, bool leaving)
{
    struct ws_field field[1] = { { .label = "file", .needed = true } };
    struct ws_console *console = offer->console;

    propose(offer->plan, console->book_path, field[0].text, sizeof field[0].text);
    while (look_for_rows(offer) && !ws_console_leaving(console)) {
        enum ws_answer answer = ask_path(offer, field);

        if (answer == WS_ANSWER_LEAVE)
            return;
        if (answer == WS_ANSWER_NEXT && offer->written) {
            note_saved(offer);
            offer->written = false;
            propose(offer->plan, console->book_path, field[0].text, sizeof field[0].text);
        } else if (answer == WS_ANSWER_BACK && (!leaving || refused_twice(offer))) {
            return;
        }
    }
    if (offer->taken)
        ws_console_say(console, "kept after all: the book took them");
}

/* On leaving all, else those of runs that are over and were not offered yet. */
static bool is_due(const struct offer *offer, bool leaving)
{
    const struct ws_console *console = offer->console;

    return leaving ||
           (console->offered[offer->tank] != offer->run && !is_open(console, offer->run));
}

void unwritten_offer(struct ws_console *console, bool leaving)
{
    enum ws_room_number was = console->at, go = console->go;
    bool quit = console->quit;

    /* Film in a tank comes first. */
    if (!leaving && ws_console_run_open(console))
        return;
    /* A signal waits for no answer, and where nothing can be seen nothing is asked. */
    if (console->drive == NULL || console->book_path == NULL || console->demo || console->black ||
        ws_terminal_dropped() || (console->have_frame && console->frame.signal != 0))
        return;
    console->quit = false;
    for (int i = 0; i < WS_TANKS && !ws_terminal_dropped(); i++) {
        struct offer offer = { .console = console, .tank = i };

        if (!look_for_rows(&offer) || !is_due(&offer, leaving))
            continue;
        console->offered[i] = offer.run;
        console->at = WS_ROOM_NONE; /* a run that goes on is seen above it */
        console->go = WS_ROOM_NONE;
        console->wants_frames = true;
        offer_one(&offer, leaving);
        console->wants_frames = false;
    }
    console->at = was;
    if (console->go == WS_ROOM_NONE)
        console->go = go;
    console->quit = console->quit || quit;
}

void ws_console_save_unwritten(struct ws_drive *drive, const char *book_path)
{
    for (int i = 0; i < WS_TANKS; i++) {
        struct ws_journal_row *row = NULL;
        const struct ws_plan *plan;
        char path[WS_FIELD_BYTES];
        int rows;

        if (ws_drive_unwritten(drive, i, &row, &rows, &plan, NULL) == WS_OK && rows > 0 &&
            plan != NULL) {
            propose(plan, book_path, path, sizeof path);
            (void)ws_events_write(path, &plan->id, row, rows, NULL);
        }
        free(row);
    }
}
