/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the book is, and where else something can be put. */
#include "wetside/port/paths.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

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

/* The device of what is at `path`, or of the folder it would be in. */
static bool device_of(const char *path, dev_t *device)
{
    const char *slash = strrchr(path, '/');
    char folder[4096];
    struct stat is;

    if (stat(path, &is) != 0) {
        if (snprintf(folder, sizeof folder, "%.*s", slash != NULL ? (int)(slash - path + 1) : 1,
                     slash != NULL ? path : ".") >= (int)sizeof folder ||
            stat(folder, &is) != 0)
            return false;
    }
    *device = is.st_dev;
    return true;
}

static bool can_take(const char *folder)
{
    struct stat is;

    return folder != NULL && stat(folder, &is) == 0 && S_ISDIR(is.st_mode) &&
           (is.st_mode & 0222) != 0 && access(folder, W_OK | X_OK) == 0;
}

void ws_path_elsewhere(const char *path, char *folder, size_t size)
{
    const char *const place[] = { variable("HOME"), ".", variable("TMPDIR"), "/tmp" };
    const char *found = NULL;
    dev_t full, is;
    bool known = device_of(path, &full);

    for (size_t i = 0; i < sizeof place / sizeof *place; i++) {
        if (!can_take(place[i]) || strlen(place[i]) >= size)
            continue;
        if (found == NULL)
            found = place[i];
        if (known && device_of(place[i], &is) && is != full) {
            found = place[i];
            break;
        }
    }
    snprintf(folder, size, "%s", found != NULL ? found : ".");
}
