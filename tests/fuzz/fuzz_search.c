/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is typed to find a roll, and texts on their way into the book and back.
 *
 * Method: a book of one roll in a file that is taken away at the end. Any text is a search that can
 * be made: it ends well, and finds that roll or nothing. A text the book takes for a remark or a
 * name has something to be seen, and no control but, in a remark, line breaks and tabs. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "../../src/book/words.h"
#include "fuzz.h"
#include "wetside/calc/character.h"
#include "wetside/book/roll.h"

static char path[64];
static struct ws_book *book;

/* Its last close takes away what lies beside it. */
static void take_away(void)
{
    ws_book_close(book);
    unlink(path);
}

static struct ws_book *a_book(void)
{
    struct ws_roll roll = { .number = "2026-0143", .film = "Tarn 125", .ei = 80 };
    struct ws_message why = { "" };
    int fd;

    if (book != NULL)
        return book;
    snprintf(path, sizeof path, "/tmp/wetside-fuzz-XXXXXX");
    fd = mkstemp(path);
    if (fd < 0)
        exit(1);
    close(fd);
    atexit(take_away);
    if (ws_book_open(path, WS_BOOK_WRITE, &book, &why) != WS_OK ||
        ws_roll_add(book, &roll, &why) != WS_OK)
        fuzz_failed(why.text, __FILE__, __LINE__);
    return book;
}

static void check_taken(const char *field, const char *text, char *out, size_t size)
{
    struct ws_message why = { "" };
    enum ws_status status = ws_words_take(field, text, out, size, &why);

    fuzz_message(status, &why);
    if (status != WS_OK)
        return;
    FUZZ_MUST(memchr(out, '\0', size) != NULL);
    for (char *at = out; size > WS_NAME && *at != '\0'; at++)
        if (*at == '\n' || *at == '\t')
            *at = ' ';
    FUZZ_MUST(fuzz_is_clean(out, true));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = fuzz_text(data, size), name[WS_NAME], remark[WS_REMARK];
    struct ws_roll_line line[2];
    struct ws_nearest nearest;
    struct ws_message why = { "" };
    int n = -1;

    FUZZ_MUST(ws_roll_search(a_book(), text, 0, line, 2, &n) == WS_OK);
    FUZZ_MUST(n == 0 || (n == 1 && strcmp(line[0].number, "2026-0143") == 0));
    check_taken("name", text, name, sizeof name);
    check_taken("remark", text, remark, sizeof remark);
    ws_nearest_begin(&nearest, text);
    ws_nearest_offer(&nearest, "Tarn 125");
    ws_nearest_offer(&nearest, "Halden 400");
    fuzz_message(ws_nearest_fail(&nearest, "film", &why), &why);
    free(text);
    return 0;
}
