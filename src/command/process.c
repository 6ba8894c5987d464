/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside process: list, show, import, export. */
#include "wetside/command/call.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "wetside/book/json.h"
#include "wetside/book/process.h"
#include "wetside/drive/page.h"

const char ws_help_process[] =
    "usage: wetside process list [--unit C|F]\n"
    "       wetside process show NAME|FILE [--unit C|F]\n"
    "       wetside process import FILE ...\n"
    "       wetside process export NAME\n"
    "\n"
    "A process is what a run follows: developer, times, agitation, the baths after it. It is kept\n"
    "in the book, and carried in and out as a JSON file (man wetside-process). A process imported\n"
    "under a name that is taken becomes its newer version; runs made with the older keep theirs.\n"
    "\n"
    "  --unit C|F      temperatures of list and show in it (else as the book is set)\n"
    "  --json          list and show for a script (show as export does)\n"
    "\n"
    "example: wetside process export 'Tarn 125, evening' > tarn.json\n";

/* A line in a list that is longer than memory wants: it is read in one piece, in growing room. */
static enum ws_status read_list(struct ws_book *book, struct ws_process_line **list, int *n,
                                struct ws_message *why)
{
    for (int room = 64;; room *= 2) {
        struct ws_process_line *grown = realloc(*list, (size_t)room * sizeof **list);
        enum ws_status status;

        if (grown == NULL)
            return ws_fail(why, WS_NO_MEMORY, "no memory for the list of processes");
        *list = grown;
        status = ws_process_list(book, *list, room, n);
        if (status != WS_OK)
            return ws_fail(why, status, "the processes can't be read from the book");
        if (*n < room)
            return WS_OK;
    }
}

static json_t *answer_line(const struct ws_process_line *line)
{
    return json_pack("{s:o, s:o, s:o, s:s, s:o, s:o, s:i, s:o}", "name", ws_json_text(line->name),
                     "film", ws_json_text(line->film), "developer", ws_json_text(line->developer),
                     "dilution", line->dilution, "seconds", ws_json_seconds(line->time_ms), "at_c",
                     ws_json_number(line->c), "runs", line->runs, "last_used",
                     ws_json_moment(line->used_ms));
}

/* The name is what `show` and `export` want typed: its column is as wide as the longest. */
static int name_columns(const struct ws_process_line *list, int n)
{
    int most = 0;

    for (int i = 0; i < n; i++) {
        int wide = ws_page_characters(list[i].name);

        most = wide > most ? wide : most;
    }
    return most;
}

static void say_process_line(struct ws_call *call, const struct ws_process_line *line, int wide,
                             enum ws_scale scale)
{
    char text[WS_NAME * 4 + 160] = "", time[24], c[24];

    ws_time_print(line->time_ms, time, sizeof time);
    ws_temperature_print(line->c, scale, c, sizeof c);
    ws_page_column(text, sizeof text, line->name, wide);
    ws_page_column(text, sizeof text, line->film, 14);
    ws_page_column(text, sizeof text, line->developer, 14);
    ws_page_column(text, sizeof text, line->dilution, 8);
    ws_call_say(call, "%s%6s%s%s  %d run%s", text, time, isfinite(line->c) ? " at " : "",
                isfinite(line->c) ? c : "", line->runs, line->runs == 1 ? "" : "s");
}

static enum ws_status do_list(struct ws_call *call, enum ws_scale given, struct ws_message *why)
{
    struct ws_process_line *list = NULL;
    struct ws_book *book = NULL;
    enum ws_scale scale;
    int n = 0, wide;
    enum ws_status status = ws_call_no_more(call, why);

    if (status == WS_OK)
        status = ws_call_book(call, WS_BOOK_READ, &book, why);
    if (status != WS_OK)
        return status;
    status = read_list(book, &list, &n, why);
    scale = ws_call_scale_in(book, given);
    wide = name_columns(list, n);
    for (int i = 0; status == WS_OK && i < n; i++) {
        if (call->json)
            status = ws_call_json_entry(call, answer_line(&list[i]), why);
        else
            say_process_line(call, &list[i], wide, scale);
    }
    if (status == WS_OK && call->json)
        ws_call_list_end(call);
    else if (status == WS_OK && n == 0)
        ws_call_say(call, "no processes yet: the console asks for the first, or import one");
    free(list);
    ws_book_close(book);
    return status;
}

static void say_points(struct ws_call *call, const struct ws_bath *bath, enum ws_scale scale)
{
    for (int i = 0; i < bath->points; i++) {
        char time[24], c[24];

        ws_time_print(bath->point[i].time_ms, time, sizeof time);
        ws_temperature_print(bath->point[i].c, scale, c, sizeof c);
        ws_call_say(call, "    %s at %s", time, c);
    }
}

static void say_bath(struct ws_call *call, const struct ws_bath *bath, int number,
                     enum ws_scale scale)
{
    char time[32] = "", dilution[48], text[200], want[32] = "";

    if (bath->time_ms > 0)
        ws_time_print(bath->time_ms, time, sizeof time);
    ws_dilution_print(&bath->dilution, dilution, sizeof dilution);
    if (isfinite(bath->want_c))
        ws_temperature_print(bath->want_c, scale, want, sizeof want);
    ws_call_say(call, "%d. %s%s%s%s%s%s%s", number, bath->name, dilution[0] != '\0' ? " " : "",
                dilution, time[0] != '\0' ? "  " : "", time, want[0] != '\0' ? "  at " : "", want);
    say_points(call, bath, scale);
    ws_agitation_print(&bath->agitation, text, sizeof text);
    ws_call_say(call, "    %s", text);
    if (bath->pieces == 0)
        ws_call_say(
            call, "    clock %s, drain of %.4g s %s the time",
            bath->clock_from == WS_FROM_FULL ? "from the full tank" : "from the first liquid",
            (double)bath->drain_ms / 1000, bath->drain == WS_DRAIN_INSIDE ? "inside" : "after");
    else
        ws_call_say(call, "    clock from the first sheet in to the first out");
    if (ws_bath_open_print(bath, text, sizeof text) > 0)
        ws_call_say(call, "    %s", text);
}

/* On a terminal a file is shown in ASCII, so that no name in it can steer the terminal; into a
 * file or a pipe it goes as it is, but for controls. */
static enum ws_status write_file(struct ws_call *call, const struct ws_process *process,
                                 struct ws_message *why)
{
    char *text = ws_process_to_json(process);
    int fd = fileno(call->out);

    if (text == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for the process file");
    if (fd >= 0 && isatty(fd)) {
        bool short_of_memory;
        json_t *object = ws_json_load(text, strlen(text), NULL, &short_of_memory);

        free(text);
        return ws_call_json(call, object, why);
    }
    ws_call_json_text(call, text);
    free(text);
    return WS_OK;
}

static enum ws_status do_show(struct ws_call *call, enum ws_scale scale, bool only_book,
                              struct ws_message *why)
{
    const char *name = ws_call_word(call);
    struct ws_process *process = NULL;
    struct ws_book *book = NULL;
    enum ws_status status;

    if (name == NULL)
        return ws_fail(why, WS_BAD_INPUT,
                       "the name of the process is missing: wetside process list shows them");
    status = ws_call_no_more(call, why);
    if (status != WS_OK)
        return status;
    process = malloc(sizeof *process);
    if (process == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for a process");
    if (only_book) {
        status = ws_call_book(call, WS_BOOK_READ, &book, why);
        if (status == WS_OK)
            status = ws_process_find(book, name, process, why);
        ws_book_close(book);
    } else {
        status = ws_call_process(call, name, process, why);
    }
    if (status == WS_OK && (call->json || only_book)) {
        status = write_file(call, process, why);
    } else if (status == WS_OK) {
        ws_call_say(call, "%s%s%s", process->name, process->film[0] != '\0' ? "   for " : "",
                    process->film);
        if (process->ei > 0)
            ws_call_say(call, "EI %d", process->ei);
        if (process->note[0] != '\0')
            ws_call_say(call, "%s", process->note);
        scale = ws_call_scale(call, scale);
        for (int i = 0; i < process->baths; i++)
            say_bath(call, &process->bath[i], i + 1, scale);
    }
    free(process);
    return status;
}

/* All files are read and checked before the first is kept: a bad one changes nothing. */
static enum ws_status do_import(struct ws_call *call, struct ws_message *why)
{
    int files = ws_call_words(call);
    struct ws_process *process = NULL;
    struct ws_book *book = NULL;
    enum ws_status status = WS_OK;

    if (files == 0)
        return ws_fail(why, WS_BAD_INPUT,
                       "the process file is missing: wetside process import "
                       "tarn.json");
    process = calloc((size_t)files, sizeof *process);
    if (process == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for the processes");
    for (int i = 0; status == WS_OK && i < files; i++) {
        const char *path = ws_call_word(call);
        char *text = NULL;
        size_t length;

        status = ws_call_file(path, &text, &length, why);
        if (status != WS_OK)
            break;
        status = ws_process_from_json(text, length, &process[i], why);
        free(text);
        if (status != WS_OK)
            ws_call_at(why, status, path);
    }
    if (status == WS_OK)
        status = ws_call_book(call, WS_BOOK_WRITE, &book, why);
    for (int i = 0; status == WS_OK && i < files; i++) {
        status = ws_process_keep(book, &process[i], ws_call_wall_ms(), why);
        if (status == WS_OK)
            ws_call_kept(call, "process %s", process[i].name);
        if (status == WS_OK && call->json)
            status = ws_call_json_entry(
                call, json_pack("{s:o}", "kept", ws_json_text(process[i].name)), why);
        else if (status == WS_OK)
            ws_call_say(call, "kept: %s", process[i].name);
    }
    if (status == WS_OK && call->json)
        ws_call_list_end(call);
    ws_book_close(book);
    free(process);
    return status;
}

enum ws_status ws_verb_process(struct ws_call *call, struct ws_message *why)
{
    enum ws_scale scale = WS_SCALE_UNSAID;
    const struct ws_option own[] = { { .name = "unit", .read = ws_option_scale, .to = &scale },
                                     { .name = NULL } };
    const char *what;

    if (!ws_call_options(call, own, why))
        return call->status;
    what = ws_call_word(call);
    if (what == NULL || strcmp(what, "list") == 0)
        return do_list(call, scale, why);
    if (strcmp(what, "show") == 0)
        return do_show(call, scale, false, why);
    if (strcmp(what, "export") == 0)
        return do_show(call, scale, true, why);
    if (strcmp(what, "import") == 0)
        return do_import(call, why);
    return ws_fail(why, WS_BAD_INPUT, "process %s: write list, show, import or export", what);
}
