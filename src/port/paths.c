/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the book is. */
#include "wetside/port/paths.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static const char *variable(const char *name)
{
    const char *value = getenv(name);

    return value != NULL && value[0] != '\0' ? value : NULL;
}

/* Joins; a path that does not fit is refused, never cut: a cut path is another file. */
static enum ws_status join(const char *before, const char *after, char *path, size_t size,
                           struct ws_message *why)
{
    size_t first = strlen(before), second = strlen(after);

    if (first + second >= size)
        return ws_fail(why, WS_BAD_INPUT,
                       "the path of the book is too long (%zu bytes; %zu at most): %.120s...",
                       first + second, size - 1, first > 0 ? before : after);
    memcpy(path, before, first);
    memcpy(path + first, after, second + 1);
    return WS_OK;
}

enum ws_status ws_path_book(const char *given, char *path, size_t size, struct ws_message *why)
{
    const char *named = given, *data, *home;

    if (named != NULL && named[0] == '\0')
        return ws_fail(why, WS_BAD_INPUT, "--book: an empty name; give the path of a file");
    if (named == NULL)
        named = variable("WETSIDE_BOOK");
    if (named != NULL)
        /* SQLite takes a name that begins so for a URI: `./` before it keeps it a file's name. */
        return strncasecmp(named, "file:", 5) == 0 ? join("./", named, path, size, why)
                                                   : join("", named, path, size, why);
    data = variable("XDG_DATA_HOME");
    if (data != NULL && data[0] == '/')
        return join(data, "/wetside/book.db", path, size, why);
    home = variable("HOME");
    /* A relative one would be another place in each folder the program is started in. */
    if (home == NULL || home[0] != '/')
        return ws_fail(why, WS_BAD_INPUT,
                       "HOME is not set to a full path, so there is no place for the book: name it "
                       "with --book "
                       "FILE or WETSIDE_BOOK");
    return join(home, "/.local/share/wetside/book.db", path, size, why);
}
