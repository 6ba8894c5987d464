/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole command lines of the verbs that answer by themselves: time, dilute, help and wrong ones.
 *
 * Method: the input is cut into words at line breaks; a line that names a file is left out, so that
 * nothing of this machine is read. The exit status is 0, 1 or 2; what is printed is clean lines; a
 * failure is one line that names the program. */
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "fuzz.h"
#include "wetside/command/command.h"

enum { WORDS = 24 };

static void once(void)
{
    static bool done;

    if (done)
        return;
    done = true;
    setlocale(LC_ALL, "C.UTF-8");
    setenv("WETSIDE_BOOK", "/nowhere/book.db", 1);
    setenv("XDG_CONFIG_HOME", "/nowhere", 1);
    if (freopen("/dev/null", "r", stdin) == NULL)
        exit(1);
}

/* Verbs that read or write files, and words that could be one. */
static bool reaches_out(int words, char *const *word)
{
    static const char *const verbs[] = {
        "time", "dilute", "help", "--help", "--version", "--json"
    };
    bool known = false;

    for (int i = 1; i < words; i++)
        if (strchr(word[i], '/') != NULL || strcmp(word[i], "-") == 0 ||
            access(word[i], F_OK) == 0 || strncmp(word[i], "--b", 3) == 0)
            return true;
    for (size_t i = 0; words > 1 && i < sizeof verbs / sizeof *verbs; i++)
        known = known || strcmp(word[1], verbs[i]) == 0;
    return !known || (words > 2 && word[1][0] == '-');
}

static int clean_lines(char *text)
{
    int lines = 0;

    for (char *line; (line = strsep(&text, "\n")) != NULL; lines++)
        FUZZ_MUST(fuzz_is_clean(line, false));
    return lines - 1;
}

static void run(int words, char **word)
{
    char *out_text = NULL, *err_text = NULL;
    size_t out_size = 0, err_size = 0;
    FILE *out = open_memstream(&out_text, &out_size), *err = open_memstream(&err_text, &err_size);
    const struct ws_command_hooks hooks = { .console = NULL };
    int status;

    if (out == NULL || err == NULL)
        exit(1);
    status = ws_command_main(words, word, out, err, &hooks);
    fclose(out);
    fclose(err);
    FUZZ_MUST(strlen(out_text) == out_size && strlen(err_text) == err_size);
    FUZZ_MUST(status >= 0 && status <= 2);
    FUZZ_MUST(err_size == 0 || strncmp(err_text, "wetside: ", 9) == 0);
    FUZZ_MUST(clean_lines(err_text) == (status == 0 ? 0 : 1));
    clean_lines(out_text);
    free(out_text);
    free(err_text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = fuzz_text(data, size), *rest = text, *word[WORDS + 2];
    static char name[] = "wetside";
    int words = 1;

    once();
    word[0] = name;
    while (rest != NULL && words < WORDS)
        word[words++] = strsep(&rest, "\n");
    word[words] = NULL;
    if (!reaches_out(words, word))
        run(words, word);
    free(text);
    return 0;
}
