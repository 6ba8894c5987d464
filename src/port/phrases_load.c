/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which phrases are in force: the shipped ones of a language, and the person's own file over them.
 */
#include "wetside/port/phrases.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "wetside/calc/units.h"
#include "wetside/port/data.h"

enum { FILE_MOST = 65536, LANGUAGE = sizeof((struct ws_phrases *)0)->language, PATH_SHOWN = 160 };

struct shipped {
    const char *language;
    const unsigned char *bytes;
    const unsigned long *size;
};

/* English first: it stands in for what another lacks. */
static const struct shipped shipped[] = {
    { "en", ws_data_phrases_en, &ws_data_phrases_en_size },
    { "de", ws_data_phrases_de, &ws_data_phrases_de_size },
};

enum { SHIPPED = sizeof shipped / sizeof shipped[0] };

/* "de" of "de_DE.UTF-8", "pt-br" of "pt-BR". False: no language, nor a part of a file's name. */
static bool normalise(const char *language, char tag[LANGUAGE])
{
    size_t length = strcspn(language, "_.@");

    if (strcmp(language, "C") == 0 || strcmp(language, "POSIX") == 0 ||
        strncmp(language, "C.", 2) == 0)
        language = "en", length = 2;
    if (length < 2 || length >= LANGUAGE)
        return false;
    for (size_t i = 0; i < length; i++) {
        char c = language[i];

        if (c >= 'A' && c <= 'Z')
            c = (char)(c - 'A' + 'a');
        if (!(c >= 'a' && c <= 'z') && (i < 2 || (c != '-' && !(c >= '0' && c <= '9'))))
            return false;
        tag[i] = c;
    }
    tag[length] = '\0';
    return true;
}

bool ws_phrases_may_be(const char *language)
{
    char tag[LANGUAGE];

    return normalise(language, tag);
}

/* The shipped file of a language, or of the one it is a kind of; null: none. */
static const struct shipped *find_shipped(const char *tag)
{
    for (int i = 0; i < SHIPPED; i++) {
        size_t length = strlen(shipped[i].language);

        if (strncmp(tag, shipped[i].language, length) == 0 &&
            (tag[length] == '\0' || tag[length] == '-'))
            return &shipped[i];
    }
    return NULL;
}

static void read_shipped(const struct shipped *from, struct ws_phrases *out)
{
    ws_phrases_check((const char *)from->bytes, *from->size, from->language, out, NULL, NULL);
}

enum ws_status ws_phrases_shipped(const char *language, struct ws_phrases *out)
{
    char tag[LANGUAGE] = "";
    const struct shipped *found = normalise(language, tag) ? find_shipped(tag) : NULL;

    memset(out, 0, sizeof *out);
    read_shipped(&shipped[0], out);
    if (found != NULL && found != &shipped[0])
        read_shipped(found, out);
    ws_text_copy(out->language, sizeof out->language, found != NULL ? tag : shipped[0].language);
    return found != NULL ? WS_OK : WS_NOT_FOUND;
}

/* ---- the person's own file ---- */

static const char *variable(const char *name)
{
    const char *value = getenv(name);

    return value != NULL && value[0] != '\0' ? value : NULL;
}

/* The language of messages, in the order of POSIX (XBD 8.2). */
static const char *locale_language(void)
{
    const char *value = variable("LC_ALL");

    if (value == NULL)
        value = variable("LC_MESSAGES");
    if (value == NULL)
        value = variable("LANG");
    return value != NULL ? value : "C";
}

enum ws_status ws_phrases_path(const char *language, char *path, size_t size,
                               struct ws_message *why)
{
    const char *config = variable("XDG_CONFIG_HOME"), *home = variable("HOME");
    char tag[LANGUAGE];
    int length;

    if (!normalise(language, tag))
        return ws_fail(why, WS_NOT_FOUND, "'%.40s' is no language: write one such as en or de",
                       language);
    /* A relative one is ignored, as its specification says. */
    if (config != NULL && config[0] == '/')
        length = snprintf(path, size, "%s/wetside/phrases.%s", config, tag);
    else if (home != NULL && home[0] == '/')
        length = snprintf(path, size, "%s/.config/wetside/phrases.%s", home, tag);
    else
        return ws_fail(why, WS_NOT_FOUND,
                       "HOME is not set to a full path, so there is no place for phrases of your "
                       "own");
    if (length < 0 || (size_t)length >= size)
        return ws_fail(why, WS_NOT_FOUND, "the path of phrases.%s is too long", tag);
    return WS_OK;
}

/* WS_NOT_FOUND, without a line: there is no such file. A pipe in its place would be waited for. */
static enum ws_status read_file(const char *path, char *bytes, size_t *length,
                                struct ws_message *why)
{
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    struct stat file;
    enum ws_status status = WS_OK;
    ssize_t got = 1;

    *length = 0;
    if (fd < 0 && (errno == ENOENT || errno == ENOTDIR))
        return WS_NOT_FOUND;
    if (fd < 0)
        return ws_fail(why, WS_IO, "%s: %s: the shipped phrases are said", path, strerror(errno));
    if (fstat(fd, &file) != 0 || !S_ISREG(file.st_mode))
        status = ws_fail(why, WS_IO, "%s: is no file: the shipped phrases are said", path);
    while (status == WS_OK && got > 0 && *length <= FILE_MOST) {
        got = read(fd, bytes + *length, FILE_MOST + 1 - *length);
        if (got > 0)
            *length += (size_t)got;
        else if (got < 0 && errno == EINTR)
            got = 1;
    }
    if (got < 0)
        status = ws_fail(why, WS_IO, "%s: can't be read: the shipped phrases are said", path);
    else if (*length > FILE_MOST)
        status = ws_fail(why, WS_IO, "%s: larger than %d KiB: the shipped phrases are said", path,
                         FILE_MOST / 1024);
    close(fd);
    return status;
}

/* How errors call a file: by its path where there is room for it. */
static const char *shown(const char *path)
{
    const char *slash = strrchr(path, '/');

    return strlen(path) <= PATH_SHOWN || slash == NULL ? path : slash + 1;
}

static enum ws_status load_own(const char *tag, const char *path, struct ws_phrases *out,
                               struct ws_message *why)
{
    char *bytes = malloc(FILE_MOST + 1);
    size_t length;
    enum ws_status status;

    if (bytes == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for your phrases: the shipped ones are said");
    status = read_file(path, bytes, &length, why);
    if (status == WS_OK) {
        ws_text_copy(out->language, sizeof out->language, tag);
        status = ws_phrases_read(bytes, length, shown(path), out, why);
    }
    free(bytes);
    return status;
}

enum ws_status ws_phrases_load(const char *language, struct ws_phrases *out, struct ws_message *why)
{
    bool named = language != NULL && language[0] != '\0';
    const char *asked = named ? language : locale_language();
    char tag[LANGUAGE] = "", path[4096];
    struct ws_message line = { "" };
    bool is_shipped = ws_phrases_shipped(asked, out) == WS_OK;
    enum ws_status status;

    if (!normalise(asked, tag) && !named)
        return WS_OK;
    status = ws_phrases_path(asked, path, sizeof path, &line);
    if (status == WS_OK)
        status = load_own(tag, path, out, &line);
    else if (is_shipped)
        return WS_OK;
    if (status == WS_NOT_FOUND && line.text[0] == '\0') {
        if (is_shipped || !named)
            return WS_OK;
        return ws_fail(why, WS_NOT_FOUND,
                       "nobody wrote phrases in %s yet, so English is said: yours would be %s", tag,
                       shown(path));
    }
    if (status != WS_OK)
        ws_fail(why, status, "%s", line.text);
    return status;
}

/* ---- writing ---- */

/* The phrase a line of a shipped file holds, WS_PHRASES: none. */
static enum ws_phrase phrase_in(const char *line, size_t length)
{
    const char *colon = memchr(line, ':', length);

    for (int i = 0; colon != NULL && i < WS_PHRASES; i++) {
        const char *name = ws_phrase_name((enum ws_phrase)i);

        if (strlen(name) == (size_t)(colon - line) && strncmp(name, line, strlen(name)) == 0)
            return (enum ws_phrase)i;
    }
    return WS_PHRASES;
}

void ws_phrases_print(const struct ws_phrases *phrases, void (*put)(void *self, const char *line),
                      void *self)
{
    const struct shipped *like = find_shipped(phrases->language);
    const char *at, *feed;

    if (like == NULL)
        like = &shipped[0];
    for (at = (const char *)like->bytes; (feed = strchr(at, '\n')) != NULL; at = feed + 1) {
        char line[2 * WS_PHRASE_BYTES];
        enum ws_phrase phrase = phrase_in(at, (size_t)(feed - at));

        if (phrase == WS_PHRASES)
            snprintf(line, sizeof line, "%.*s", (int)(feed - at), at);
        else
            snprintf(line, sizeof line, "%s: %s", ws_phrase_name(phrase), phrases->text[phrase]);
        put(self, line);
    }
}
