/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every verb needs: its words, files, the book, lines of text. */
#include "wetside/command/call.h"

#include <errno.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "wetside/book/process.h"
#include "wetside/drive/settings.h"
#include "wetside/port/paths.h"
#include "wetside/port/text.h"

int ws_call_words(const struct ws_call *call)
{
    return call->argc - call->word;
}

const char *ws_call_word(struct ws_call *call)
{
    return call->word < call->argc ? call->argv[call->word++] : NULL;
}

enum ws_status ws_call_no_more(const struct ws_call *call, struct ws_message *why)
{
    if (call->word >= call->argc)
        return WS_OK;
    return ws_fail(why, WS_BAD_INPUT, "%s: one word too many: see wetside %s --help",
                   call->argv[call->word], call->verb != NULL ? call->verb : "");
}

enum ws_status ws_call_at(struct ws_message *why, enum ws_status status, const char *where)
{
    struct ws_message line;

    if (why == NULL)
        return status;
    line = *why;
    return ws_fail(why, status, "%s: %s", where, line.text);
}

enum ws_status ws_call_copy(const char *what, const char *text, char *to, size_t size,
                            struct ws_message *why)
{
    if (strlen(text) >= size)
        return ws_fail(why, WS_BAD_INPUT, "%s: too long: at most %zu bytes", what, size - 1);
    ws_text_copy(to, size, text);
    return WS_OK;
}

void ws_call_put(void *self, const char *line)
{
    struct ws_call *call = self;
    char *shown = malloc(WS_VISIBLE_SIZE(strlen(line)));

    if (shown == NULL) {
        fputs("(no memory for this line)\n", call->out);
        return;
    }
    ws_text_plain(line, shown, WS_VISIBLE_SIZE(strlen(line)));
    fputs(shown, call->out);
    fputc('\n', call->out);
    free(shown);
}

void ws_call_say(struct ws_call *call, const char *format, ...)
{
    char line[2 * WS_REMARK];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    ws_call_put(call, line);
}

void ws_call_kept(struct ws_call *call, const char *format, ...)
{
    size_t used = strlen(call->kept);
    va_list arguments;

    if (used > 0 && used + 2 < sizeof call->kept)
        used += ws_text_copy(call->kept + used, sizeof call->kept - used, ", ");
    va_start(arguments, format);
    vsnprintf(call->kept + used, sizeof call->kept - used, format, arguments);
    va_end(arguments);
}

enum ws_status ws_call_book(struct ws_call *call, enum ws_book_mode mode, struct ws_book **book,
                            struct ws_message *why)
{
    char path[4096];
    struct stat there;
    enum ws_status status = ws_path_book(call->book_given, path, sizeof path, why);

    if (status != WS_OK)
        return status;
    if (mode == WS_BOOK_READ && stat(path, &there) != 0 && errno == ENOENT)
        return ws_fail(why, WS_NOT_FOUND,
                       "%s: there is no book yet: the console begins one, or --book names another",
                       path);
    return ws_book_open(path, mode, book, why);
}

enum ws_scale ws_call_scale_in(struct ws_book *book, enum ws_scale given)
{
    struct ws_settings settings;

    if (given != WS_SCALE_UNSAID)
        return given;
    /* What can't be read is as it is without a choice, and every temperature is printed with its
     * unit: no line of its own is due. */
    ws_settings_load(book, &settings, NULL);
    return settings.scale;
}

enum ws_scale ws_call_scale(struct ws_call *call, enum ws_scale given)
{
    struct ws_book *book = NULL;
    struct ws_message why;
    enum ws_scale scale;

    if (given != WS_SCALE_UNSAID)
        return given;
    if (ws_call_book(call, WS_BOOK_READ, &book, &why) != WS_OK)
        book = NULL;
    scale = ws_call_scale_in(book, given);
    ws_book_close(book);
    return scale;
}

enum ws_status ws_call_file(const char *path, char **text, size_t *length, struct ws_message *why)
{
    enum { MOST = 16 * 1024 * 1024 };
    bool standard = strcmp(path, "-") == 0;
    FILE *file = standard ? stdin : fopen(path, "rb");
    char *all = NULL;
    size_t filled = 0, room = 0;
    enum ws_status status = WS_OK;

    if (file == NULL && errno == ENOENT)
        return ws_fail(why, WS_NOT_FOUND,
                       "%s: there is no such file: name one that is there, or - for what comes on "
                       "the input",
                       path[0] != '\0' ? path : "''");
    if (file == NULL)
        return ws_fail(why, WS_NOT_FOUND, "%s: %s", path, strerror(errno));
    for (;;) {
        size_t got;

        if (filled + 1 >= room) {
            char *grown = realloc(all, room = room == 0 ? 16384 : room * 2);

            if (grown == NULL || filled > MOST) {
                all = grown != NULL ? grown : all;
                status = ws_fail(why, WS_BAD_INPUT, "%s: larger than 16 MiB: no file of this kind",
                                 path);
                break;
            }
            all = grown;
        }
        got = fread(all + filled, 1, room - filled - 1, file);
        filled += got;
        if (got == 0)
            break;
    }
    if (status == WS_OK && ferror(file))
        status = ws_fail(why, WS_IO, "%s: can't be read: %s", path, strerror(errno));
    if (!standard)
        fclose(file);
    if (status != WS_OK) {
        free(all);
        return status;
    }
    all[filled] = '\0';
    *text = all;
    *length = filled;
    return WS_OK;
}

enum ws_status ws_call_process(struct ws_call *call, const char *name, struct ws_process *out,
                               struct ws_message *why)
{
    struct ws_book *book = NULL;
    struct stat there;
    enum ws_status status;

    if (strcmp(name, "-") == 0 || stat(name, &there) == 0) {
        char *text = NULL;
        size_t length;

        status = ws_call_file(name, &text, &length, why);
        if (status != WS_OK)
            return status;
        status = ws_process_from_json(text, length, out, why);
        free(text);
        return status == WS_OK ? WS_OK : ws_call_at(why, status, name);
    }
    /* A name that looks like a file is looked for nowhere else: the book would only confuse. */
    if (strchr(name, '/') != NULL ||
        (strlen(name) > 5 && strcmp(name + strlen(name) - 5, ".json") == 0))
        return ws_fail(why, WS_NOT_FOUND, "%s: there is no such process file", name);
    status = ws_call_book(call, WS_BOOK_READ, &book, why);
    if (status == WS_NOT_FOUND)
        return ws_fail(why, WS_NOT_FOUND,
                       "%s: neither a process file nor a process of a book (there is no book yet)",
                       name);
    if (status != WS_OK)
        return status;
    status = ws_process_find(book, name, out, why);
    ws_book_close(book);
    return status;
}

int64_t ws_call_wall_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_REALTIME, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}
