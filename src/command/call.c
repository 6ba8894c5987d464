/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every verb needs: its options and words, files, the book, lines of text. */
#include "wetside/command/call.h"

#include <errno.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "wetside/book/process.h"
#include "wetside/port/paths.h"
#include "wetside/port/text.h"

/* Values of the common options: out of the way of the verbs' own, which are letters. */
enum { COMMON_BOOK = 1000, COMMON_JSON, COMMON_HELP, COMMON_VERSION };

enum { OPTIONS = 32 };

static const struct option common[] = {
    { "book", required_argument, NULL, COMMON_BOOK },
    { "json", no_argument, NULL, COMMON_JSON },
    { "help", no_argument, NULL, COMMON_HELP },
    { "version", no_argument, NULL, COMMON_VERSION },
};

void ws_call_options(struct ws_call *call)
{
    (void)call;
    opterr = 0;
    optind = 0; /* glibc and musl: begin anew */
}

static int stop(struct ws_call *call, enum ws_status status)
{
    call->status = status;
    return -1;
}

/* The verb's and the common options in one table. */
static void join_options(const struct option *own, struct option all[OPTIONS])
{
    size_t n = 0;

    for (; own != NULL && own->name != NULL && n < OPTIONS - 5; own++)
        all[n++] = *own;
    memcpy(all + n, common, sizeof common);
    memset(all + n + 4, 0, sizeof *all);
}

static int wrong_option(struct ws_call *call, int got, struct ws_message *why)
{
    const char *word = optind > 0 && optind <= call->argc ? call->argv[optind - 1] : "";
    bool is_long = strncmp(word, "--", 2) == 0;
    const char letter[3] = { '-', (char)optopt, '\0' };
    const char *space = call->verb != NULL ? " " : "", *verb = call->verb != NULL ? call->verb : "";
    const char *what;

    if (got == ':')
        what = "needs a value";
    else if (is_long && optopt != 0)
        what = "takes no value";
    else
        what = "is not an option here";
    ws_fail(why, WS_BAD_INPUT, "%s %s: see wetside%s%s --help",
            !is_long && optopt > 0 && optopt < 256 ? letter : word, what, space, verb);
    return stop(call, WS_BAD_INPUT);
}

int ws_call_next(struct ws_call *call, const struct option *own, struct ws_message *why)
{
    struct option all[OPTIONS];

    join_options(own, all);
    for (;;) {
        /* A word that begins with a dash and a digit is no option but a value, and getopt can't
         * know; such words follow `--`. */
        int got = getopt_long(call->argc, call->argv, ":h", all, NULL);

        switch (got) {
        case -1:
            call->word = optind;
            return 0;
        case COMMON_BOOK:
            call->book_given = optarg;
            break;
        case COMMON_JSON:
            call->json = true;
            break;
        case 'h':
        case COMMON_HELP:
            call->help = true;
            return stop(call, WS_OK);
        case COMMON_VERSION:
            call->version = true;
            return stop(call, WS_OK);
        case '?':
        case ':':
            return wrong_option(call, got, why);
        default:
            return got;
        }
    }
}

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

void ws_call_put(void *self, const char *line)
{
    struct ws_call *call = self;
    char *shown = malloc(WS_VISIBLE_SIZE(strlen(line)));

    if (shown == NULL) {
        fputs("(no memory for this line)\n", call->out);
        return;
    }
    ws_text_visible(line, shown, WS_VISIBLE_SIZE(strlen(line)));
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

enum ws_status ws_call_file(const char *path, char **text, size_t *length, struct ws_message *why)
{
    enum { MOST = 16 * 1024 * 1024 };
    bool standard = strcmp(path, "-") == 0;
    FILE *file = standard ? stdin : fopen(path, "rb");
    char *all = NULL;
    size_t filled = 0, room = 0;
    enum ws_status status = WS_OK;

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

enum ws_status ws_call_day(const char *option, const char *text, char day[WS_DAY],
                           struct ws_message *why)
{
    static const int days[] = { 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31 };
    int year = 0, month = 0, of_month = 0, used = 0, most;

    if (strlen(text) != WS_DAY - 1 || strspn(text, "0123456789-") != WS_DAY - 1 ||
        sscanf(text, "%4d-%2d-%2d%n", &year, &month, &of_month, &used) != 3 || used != WS_DAY - 1 ||
        month < 1 || month > 12)
        return ws_fail(why, WS_BAD_INPUT, "%s: '%s' is no day: write 2026-03-14", option, text);
    most = days[month - 1];
    if (month == 2 && ((year % 4 == 0 && year % 100 != 0) || year % 400 == 0))
        most = 29;
    if (year < 1800 || of_month < 1 || of_month > most)
        return ws_fail(why, WS_BAD_INPUT, "%s: '%s' is not in the calendar", option, text);
    ws_text_copy(day, WS_DAY, text);
    return WS_OK;
}

enum ws_status ws_call_kind(const char *option, const char *text, enum ws_bath_kind *kind,
                            struct ws_message *why)
{
    char known[160] = "";

    for (int k = 0; k < WS_BATH_KINDS; k++) {
        const char *token = ws_bath_kind_token((enum ws_bath_kind)k);
        size_t length = strlen(known);

        if (strcmp(token, text) == 0) {
            *kind = (enum ws_bath_kind)k;
            return WS_OK;
        }
        snprintf(known + length, sizeof known - length, "%s%s", k > 0 ? ", " : "", token);
    }
    return ws_fail(why, WS_BAD_INPUT, "%s: '%s' is none: write one of %s", option, text, known);
}

enum ws_status ws_call_scale(const char *text, enum ws_scale *scale, struct ws_message *why)
{
    if (strcmp(text, "C") == 0 || strcmp(text, "c") == 0)
        *scale = WS_CELSIUS;
    else if (strcmp(text, "F") == 0 || strcmp(text, "f") == 0)
        *scale = WS_FAHRENHEIT;
    else
        return ws_fail(why, WS_BAD_INPUT, "--unit: '%s' is no scale: write C or F", text);
    return WS_OK;
}

int64_t ws_call_wall_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_REALTIME, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}
