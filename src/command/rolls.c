/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside rolls: past rolls, searched, and those that wait for development. */
#include "wetside/command/call.h"

#include <stdlib.h>
#include <string.h>

#include "wetside/command/answer.h"

const char ws_help_rolls[] =
    "usage: wetside rolls [WORD ...] [--waiting] [--limit N]\n"
    "\n"
    "Rolls, the latest first. Each word must begin a word of the roll's number, film, subject,\n"
    "process, developer, batch, verdict or remark.\n"
    "\n"
    "  --waiting       exposed and not developed yet, the oldest first\n"
    "  --limit N       at most so many (else all)\n"
    "  --json          an array of objects\n"
    "\n"
    "example: wetside rolls tarn MQB-014\n";

enum { PAGE = 100 };

struct asked {
    char text[512];
    bool waiting;
    int limit; /* 0: all */
};

static enum ws_status read_call(struct ws_call *call, struct asked *asked, struct ws_message *why)
{
    const struct ws_option own[] = {
        { .name = "waiting", .to = &asked->waiting },
        { .name = "limit", .read = ws_option_whole, .to = &asked->limit, .least = 1, .most = 1e9 },
        { .name = NULL },
    };
    const char *word;

    if (!ws_call_options(call, own, why))
        return call->status;
    while ((word = ws_call_word(call)) != NULL) {
        size_t length = strlen(asked->text);

        if (length + strlen(word) + 2 > sizeof asked->text)
            return ws_fail(why, WS_BAD_INPUT, "the search is too long: a few words will do");
        snprintf(asked->text + length, sizeof asked->text - length, "%s%s", length > 0 ? " " : "",
                 word);
    }
    if (asked->waiting && asked->text[0] != '\0')
        return ws_fail(why, WS_BAD_INPUT, "--waiting takes no words to search for");
    return WS_OK;
}

static enum ws_status print_line(struct ws_call *call, const struct ws_roll_line *line,
                                 int number_columns, struct ws_message *why)
{
    char text[512];

    if (call->json)
        return ws_call_json_entry(call, ws_answer_roll_line(line), why);
    ws_page_roll_line(line, number_columns, text, sizeof text);
    ws_call_say(call, "%s", text);
    return WS_OK;
}

/* Page by page, so that a book of any size needs no more memory than one page. A page makes the
 * column of numbers as wide as its longest, and the next ones keep it. */
static enum ws_status print_found(struct ws_call *call, struct ws_book *book,
                                  const struct asked *asked, struct ws_roll_line *line,
                                  long *printed, struct ws_message *why)
{
    int n = PAGE, wide = 0;

    while (n == PAGE && (asked->limit == 0 || *printed < asked->limit)) {
        enum ws_status status = ws_roll_search(book, asked->text, *printed, line, PAGE, &n);

        if (status != WS_OK)
            return ws_fail(why, status, "the rolls can't be read from the book");
        if (asked->limit > 0 && n > asked->limit - *printed)
            n = (int)(asked->limit - *printed);
        if (ws_page_number_columns(line, n) > wide)
            wide = ws_page_number_columns(line, n);
        for (int i = 0; i < n; i++) {
            status = print_line(call, &line[i], wide, why);
            if (status != WS_OK)
                return status;
            (*printed)++;
        }
    }
    return WS_OK;
}

static enum ws_status print_waiting(struct ws_call *call, struct ws_book *book,
                                    const struct asked *asked, long *printed,
                                    struct ws_message *why)
{
    struct ws_roll_line *line = NULL;
    enum ws_status status = WS_OK;
    int n = 0, room = PAGE, wide;

    do {
        struct ws_roll_line *grown = realloc(line, (size_t)(room *= 2) * sizeof *line);

        if (grown == NULL) {
            free(line);
            return ws_fail(why, WS_NO_MEMORY, "no memory for the rolls");
        }
        line = grown;
        status = ws_roll_queue(book, line, room, &n);
    } while (status == WS_OK && n == room);
    if (status != WS_OK)
        ws_fail(why, status, "the rolls can't be read from the book");
    if (asked->limit > 0 && n > asked->limit)
        n = asked->limit;
    wide = ws_page_number_columns(line, n);
    for (int i = 0; status == WS_OK && i < n; i++) {
        status = print_line(call, &line[i], wide, why);
        (*printed)++;
    }
    free(line);
    return status;
}

enum ws_status ws_verb_rolls(struct ws_call *call, struct ws_message *why)
{
    struct asked asked = { .waiting = false };
    struct ws_book *book = NULL;
    struct ws_roll_line *line = NULL;
    long printed = 0;
    enum ws_status status = read_call(call, &asked, why);

    if (status != WS_OK || call->help || call->version)
        return status;
    status = ws_call_book(call, WS_BOOK_READ, &book, why);
    if (status != WS_OK)
        return status;
    line = malloc(PAGE * sizeof *line);
    if (line == NULL)
        status = ws_fail(why, WS_NO_MEMORY, "no memory for the rolls");
    else if (asked.waiting)
        status = print_waiting(call, book, &asked, &printed, why);
    else
        status = print_found(call, book, &asked, line, &printed, why);
    if (status == WS_OK && call->json)
        ws_call_list_end(call);
    else if (status == WS_OK && printed == 0)
        ws_call_say(call, "%s",
                    asked.waiting           ? "no roll waits for development"
                    : asked.text[0] != '\0' ? "no roll has all of these words"
                                            : "no rolls yet: they are kept by developing them");
    free(line);
    ws_book_close(book);
    return status;
}
