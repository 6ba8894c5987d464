/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text that would steer a terminal, and every command.
 *
 * Method: the demo's book is filled with it by SQL, past all that refuses it on the way in; once
 * more so that some of it can't be read at all. Every command is run on it, its answer to people
 * and to scripts, into a terminal and into a pipe. Then such text comes in otherwise: as words on
 * the command line, names of files, files, and settings of the environment. Nothing of all that
 * comes out may be a control, turn text or pile marks, all is UTF-8, a failure is one line; and the
 * text has come, made visible. */
#include <fcntl.h>
#include <locale.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "aid.h"

#include "book.h"
#include "hostile.h"
#include "pty.h"

enum { WORDS = 10, ENDS_WITHIN_MS = 20000 };

static char folder[FOLDER_BYTES], path[BOOK_BYTES];

/* ---- a book in a folder of its own ---- */

static int open_folder(void **state)
{
    (void)state;
    folder_make(folder, path);
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    folder_remove(folder);
    return 0;
}

static void fill(bool broken)
{
    ws_book_close(book_of_the_demo(path));
    hostile_book(path, broken);
}

/* ---- the commands ---- */

struct answer {
    char *out, *err;
    size_t out_length, err_length;
    int status;
};

static char *read_whole(const char *name, size_t *length)
{
    char full[160];
    FILE *file;
    char *bytes = NULL;
    size_t room = 0, got;

    snprintf(full, sizeof full, "%s/%s", folder, name);
    file = fopen(full, "rb");
    assert_non_null(file);
    *length = 0;
    do {
        room += 65536;
        bytes = realloc(bytes, room + 1);
        assert_non_null(bytes);
        got = fread(bytes + *length, 1, room - *length, file);
        *length += got;
    } while (got > 0);
    bytes[*length] = '\0';
    fclose(file);
    return bytes;
}

static void point(int fd, const char *name, int flags)
{
    char full[160];
    int to;

    snprintf(full, sizeof full, "%s/%s", folder, name);
    to = open(name[0] == '/' ? name : full, flags, 0600);
    if (to < 0 || dup2(to, fd) < 0)
        _exit(126);
    close(to);
}

/* The program with those words, without a terminal; `setting` (may be null) is one more of its
 * environment. */
static struct answer run(const char *const *word, const char *setting)
{
    struct answer answer = { NULL, NULL, 0, 0, -1 };
    const char *program = getenv("WETSIDE"), *argument[WORDS + 2] = { program };
    char home[128], book[128];
    const char *environment[] = { home, book, "LC_ALL=C.UTF-8", "TZ=UTC", setting, NULL };
    pid_t child;

    for (int i = 0; word[i] != NULL && i < WORDS; i++)
        argument[i + 1] = word[i];
    snprintf(home, sizeof home, "HOME=%s", folder);
    snprintf(book, sizeof book, "WETSIDE_BOOK=%s", path);
    if (setting != NULL && strncmp(setting, "WETSIDE_BOOK=", 13) == 0)
        environment[1] = "OTHER=";
    fflush(NULL);
    child = fork();
    if (child == 0) {
        point(STDIN_FILENO, "/dev/null", O_RDONLY);
        point(STDOUT_FILENO, "out", O_WRONLY | O_CREAT | O_TRUNC);
        point(STDERR_FILENO, "err", O_WRONLY | O_CREAT | O_TRUNC);
        execve(program, (char *const *)argument, (char *const *)environment);
        _exit(127);
    }
    assert_int_equal(waitpid(child, &answer.status, 0), child);
    answer.out = read_whole("out", &answer.out_length);
    answer.err = read_whole("err", &answer.err_length);
    return answer;
}

static void describe(const char *const *word, char text[400])
{
    size_t used = 0;

    for (int i = 0; word[i] != NULL && used < 300; i++)
        for (const char *at = word[i] - 1; used < 390 && (at < word[i] || *at != '\0'); at++) {
            unsigned char byte = at < word[i] ? ' ' : (unsigned char)*at;

            used += (size_t)snprintf(text + used, 400 - used,
                                     byte >= ' ' && byte < 0x7F ? "%c" : "\\%03o", byte);
        }
    text[used] = '\0';
}

/* An answer to a file that is to be read back may hold any character, but no control. */
static bool is_a_file(const char *const *word)
{
    return (strcmp(word[0], "process") == 0 && strcmp(word[1], "export") == 0) ||
           strcmp(word[0], "phrases") == 0;
}

static void expect_no_control(const struct answer *answer, const char *what)
{
    for (size_t i = 0; i < answer->out_length; i++) {
        unsigned char byte = (unsigned char)answer->out[i];

        if ((byte < ' ' && byte != '\n') || byte == 0x7F ||
            (byte == 0xC2 && (unsigned char)answer->out[i + 1] < 0xA0))
            fail_msg("%s: byte %02x at %zu", what, byte, i);
    }
}

static void start(struct pty *pty, const char *const *word)
{
    char home[128];
    const char *setting[] = {
        home, "LC_ALL=C.UTF-8", "TZ=UTC", "PATH=/nowhere", "TERM=xterm-256color", NULL
    };

    snprintf(home, sizeof home, "HOME=%s", folder);
    pty_start(pty, 24, 80, word, setting);
}

/* Runs it without a terminal and in one. */
static void try(const char *const *word, const char *setting)
{
    struct answer answer = run(word, setting);
    struct pty pty;
    char what[400];

    describe(word, what);
    if (!WIFEXITED(answer.status) || WEXITSTATUS(answer.status) > 2) {
        print_error("%s\n", answer.err);
        fail_msg("%s: ended with %x", what, (unsigned)answer.status);
    }
    if (is_a_file(word))
        expect_no_control(&answer, what);
    else
        hostile_expect_clean(answer.out, answer.out_length, what);
    hostile_expect_clean(answer.err, answer.err_length, what);
    assert_null(memchr(answer.out, '\033', answer.out_length));
    assert_null(memchr(answer.err, '\033', answer.err_length));
    /* One line says what is wrong; of a file of phrases each fault has one. */
    if (WEXITSTATUS(answer.status) != 0 && !is_a_file(word))
        assert_int_equal(strcspn(answer.err, "\n") + 1, answer.err_length);
    free(answer.out);
    free(answer.err);
    if (setting != NULL)
        return;
    start(&pty, word);
    if (!pty_await_end(&pty, ENDS_WITHIN_MS))
        fail_msg("%s: it does not end in a terminal", what);
    hostile_expect_clean(pty.seen, pty.length, what);
    assert_null(memchr(pty.seen, '\033', pty.length));
    pty_close(&pty);
}

/* `verb word name` for each name of the book, in all its forms. */
static void try_each(const char *select, const char *verb, const char *word)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *names = NULL;

    assert_int_equal(sqlite3_open_v2(path, &db, SQLITE_OPEN_READONLY, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(db, select, -1, &names, NULL), SQLITE_OK);
    while (sqlite3_step(names) == SQLITE_ROW) {
        const char *name = (const char *)sqlite3_column_text(names, 0);
        const char *with[] = {
            verb, "--book", path, "--", word != NULL ? word : name, word != NULL ? name : NULL, NULL
        };
        const char *json[] = { verb,
                               "--json",
                               "--book",
                               path,
                               "--",
                               word != NULL ? word : name,
                               word != NULL ? name : NULL,
                               NULL };

        try(with, NULL);
        try(json, NULL);
    }
    sqlite3_finalize(names);
    sqlite3_close(db);
}

static void every_command(bool broken)
{
    static const char *const lists[][4] = {
        { "rolls" }, { "rolls", "zx" }, { "batches" }, { "process", "list" }, { "check" },
    };

    fill(broken);
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++) {
        const char *with[] = { lists[i][0], "--book", path, lists[i][1], NULL };
        const char *json[] = { lists[i][0], "--book", path, "--json", lists[i][1], NULL };

        try(with, NULL);
        try(json, NULL);
    }
    try_each("SELECT number FROM roll", "roll", NULL);
    try_each("SELECT number FROM batch", "batch", NULL);
    try_each("SELECT name FROM process", "process", "show");
    try_each("SELECT name FROM process", "process", "export");
    try_each("SELECT name FROM process LIMIT 3", "rehearse", NULL);
    try_each("SELECT name FROM tank", "dilute", "1+1");
}

static void commands_on_a_hostile_book(void **state)
{
    struct answer answer;
    const char *const rolls[] = { "rolls", NULL };

    (void)state;
    every_command(false);
    answer = run(rolls, NULL);
    assert_non_null(strstr(answer.out, HOSTILE_MARK));
    free(answer.out);
    free(answer.err);
}

static void commands_on_a_broken_book(void **state)
{
    (void)state;
    every_command(true);
}

/* ---- other ways in ---- */

static void words_of_a_command_line(void **state)
{
    static const char *const verbs[] = { "time", "dilute",  "rehearse", "process", "rolls",
                                         "roll", "batches", "batch",    "phrases", "check",
                                         "help", "demo",    "backup",   "watch" };
    const char *text;

    (void)state;
    fill(false);
    for (int i = 0; (text = hostile_text(i)) != NULL; i++) {
        char long_option[256], value[256];
        const char *alone[] = { text, NULL };

        snprintf(long_option, sizeof long_option, "--%s", text);
        snprintf(value, sizeof value, "--book=/nowhere/%s", text);
        try(alone, NULL);
        for (size_t verb = (size_t)i % 3; verb < sizeof verbs / sizeof *verbs; verb += 3) {
            const char *word[] = { verbs[verb], text, NULL };
            const char *option[] = { verbs[verb], long_option, NULL };
            const char *book[] = { "rolls", value, NULL };

            try(word, NULL);
            try(option, NULL);
            try(book, NULL);
        }
    }
}

/* A file of that name with that in it. */
static const char *a_file(const char *name, const char *text)
{
    static char full[256];
    FILE *file;

    snprintf(full, sizeof full, "%s/%s", folder, name);
    file = fopen(full, "wb");
    if (file != NULL) {
        fputs(text, file);
        fclose(file);
    }
    return full;
}

static void files_and_their_names(void **state)
{
    const char *text;

    (void)state;
    fill(false);
    for (int i = 0; (text = hostile_text(i)) != NULL; i++) {
        char process[512], phrases[512];
        const char *name;

        snprintf(process, sizeof process,
                 "{\"wetside\":\"process\",\"format\":1,\"name\":\"%s\",\"baths\":[]}", text);
        snprintf(phrases, sizeof phrases, "rest: %s\n%s: x\n{%s}\n", text, text, text);
        name = a_file(text, process);
        {
            const char *import[] = { "process", "import", name, NULL };
            const char *show[] = { "process", "show", name, NULL };
            const char *rehearse[] = { "rehearse", name, NULL };

            try(import, NULL);
            try(show, NULL);
            try(rehearse, NULL);
        }
        name = a_file(text, phrases);
        {
            const char *check[] = { "phrases", "--check", name, NULL };
            const char *json[] = { "phrases", "--json", "--check", name, NULL };

            try(check, NULL);
            try(json, NULL);
        }
        name = a_file(text, text);
        {
            const char *no_book[] = { "rolls", "--book", name, NULL };
            const char *events[] = { "rehearse", "x", "--events", name, NULL };

            try(no_book, NULL);
            try(events, NULL);
        }
    }
}

static void settings_of_the_environment(void **state)
{
    static const char *const names[] = { "WETSIDE_BOOK", "XDG_DATA_HOME", "XDG_CONFIG_HOME",
                                         "TMPDIR",       "LANG",          "LC_ALL",
                                         "WETSIDE_SOUND" };
    const char *const rolls[] = { "rolls", NULL }, *const phrases[] = { "phrases", NULL },
                      *const demo[] = { "demo", "--plain", NULL },
                      *const version[] = { "--version", NULL };
    const char *text;

    (void)state;
    fill(false);
    for (int i = 0; (text = hostile_text(i)) != NULL; i++)
        for (size_t k = 0; k < sizeof names / sizeof *names; k++) {
            char setting[256];

            snprintf(setting, sizeof setting, "%s=%s%s", names[k], k < 4 ? "/nowhere/" : "", text);
            try(rolls, setting);
            try(phrases, setting);
            try(version, setting);
            if (i % 4 == (int)k % 4)
                try(demo, setting);
        }
}

#define hostile_test(test) cmocka_unit_test_setup_teardown(test, open_folder, remove_folder)

int main(void)
{
    const struct CMUnitTest tests[] = {
        hostile_test(commands_on_a_hostile_book),  hostile_test(commands_on_a_broken_book),
        hostile_test(words_of_a_command_line),     hostile_test(files_and_their_names),
        hostile_test(settings_of_the_environment),
    };

    setlocale(LC_ALL, "C.UTF-8");
    return cmocka_run_group_tests_name("hostile text and the commands", tests, NULL, NULL);
}
