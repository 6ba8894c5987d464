/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Calls the command line in this process and keeps what it said. */
#include "ran.h"

#include "../aid.h"

#include <dirent.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "wetside/command/command.h"

enum { WORDS_MOST = 40 };

/* No book of the person who runs the tests is read: what it is set to would be in what they see. */
__attribute__((constructor)) static void own_home(void)
{
    unsetenv("WETSIDE_BOOK");
    setenv("XDG_DATA_HOME", "/no/such/folder", 1);
}

static int call(const char *const *word, FILE *out, FILE *err)
{
    char *argv[WORDS_MOST + 2], *copy[WORDS_MOST + 2];
    int argc = 0, status;

    copy[argc++] = strdup("wetside");
    for (; *word != NULL && argc < WORDS_MOST; word++)
        copy[argc++] = strdup(*word);
    assert_null(*word);
    copy[argc] = NULL;
    memcpy(argv, copy, sizeof argv); /* getopt_long moves the words about */
    status = ws_command_main(argc, argv, out, err, NULL);
    for (int i = 0; i < argc; i++)
        free(copy[i]);
    return status;
}

struct ran ran_words(const char *const *word)
{
    struct ran ran = { .out = NULL, .err = NULL };
    size_t out_size;
    FILE *out = open_memstream(&ran.out, &out_size);

    assert_non_null(out);
    ran_to(&ran, out, word);
    fclose(out);
    return ran;
}

void ran_to(struct ran *ran, FILE *out, const char *const *word)
{
    size_t err_size;
    FILE *err = open_memstream(&ran->err, &err_size);

    assert_non_null(err);
    ran->status = call(word, out, err);
    fclose(err);
}

void ran_free(struct ran *ran)
{
    free(ran->out);
    free(ran->err);
    ran->out = ran->err = NULL;
}

json_t *ran_json_words(const char *const *word)
{
    struct ran ran = ran_words(word);
    json_error_t error;
    json_t *value;

    if (ran.status != 0)
        print_error("%s", ran.err);
    assert_int_equal(ran.status, 0);
    assert_string_equal(ran.err, "");
    value = json_loads(ran.out, 0, &error);
    if (value == NULL)
        print_error("%s\n%s\n", error.text, ran.out);
    assert_non_null(value);
    ran_free(&ran);
    return value;
}

void ran_refused_words(int status, const char *const *word, const char *const *part)
{
    struct ran ran = ran_words(word);
    const char *end;

    if (ran.status != status || ran.out[0] != '\0')
        print_error("status %d\n%s%s", ran.status, ran.err, ran.out);
    assert_int_equal(ran.status, status);
    assert_string_equal(ran.out, "");
    assert_int_equal(strncmp(ran.err, "wetside: ", 9), 0);
    end = strchr(ran.err, '\n');
    assert_non_null(end);
    assert_int_equal(end[1], '\0');
    for (; *part != NULL; part++) {
        if (strstr(ran.err, *part) == NULL)
            print_error("no '%s' in: %s", *part, ran.err);
        assert_non_null(strstr(ran.err, *part));
    }
    ran_free(&ran);
}

static char folder[256];

const char *ran_folder(void)
{
    if (folder[0] == '\0') {
        const char *base = getenv("TMPDIR");

        snprintf(folder, sizeof folder, "%s/wetside-test-XXXXXX",
                 base != NULL && base[0] != '\0' ? base : "/tmp");
        assert_non_null(mkdtemp(folder));
    }
    return folder;
}

const char *ran_path(const char *name)
{
    static char path[8][512];
    static int turn;

    turn = (turn + 1) % 8;
    snprintf(path[turn], sizeof path[turn], "%s/%s", ran_folder(), name);
    return path[turn];
}

static void remove_all(const char *path)
{
    DIR *dir = opendir(path);
    struct dirent *entry;

    while (dir != NULL && (entry = readdir(dir)) != NULL) {
        char inner[1024];

        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        snprintf(inner, sizeof inner, "%s/%s", path, entry->d_name);
        if (unlink(inner) != 0)
            remove_all(inner);
    }
    if (dir != NULL)
        closedir(dir);
    rmdir(path);
}

void ran_folder_remove(void)
{
    if (folder[0] != '\0')
        remove_all(folder);
    folder[0] = '\0';
}

const char *ran_write(const char *name, const char *text)
{
    const char *path = ran_path(name);
    FILE *file = fopen(path, "w");

    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
    return path;
}
