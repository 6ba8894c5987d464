/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Screens compared with files that were looked at by eye. */
#include "aid_capture.h"

#include <stdbool.h>
#include <stdlib.h>

#include "aid.h"

/* Whether the file holds `now` and nothing else. */
static bool holds(const char *path, const char *now)
{
    size_t length = strlen(now), got;
    char *kept = malloc(length + 2);
    FILE *file = fopen(path, "r");
    bool same = false;

    if (kept != NULL && file != NULL) {
        got = fread(kept, 1, length + 1, file);
        same = got == length && memcmp(kept, now, length) == 0;
    }
    if (file != NULL)
        fclose(file);
    free(kept);
    return same;
}

void aid_capture_compare(const char *name, const char *now)
{
    const char *mode = getenv("WS_CAPTURES");
    char path[160];
    bool same;

    snprintf(path, sizeof path, "tests/console/captures/%s.txt", name);
    if (mode != NULL && strcmp(mode, "write") == 0) {
        FILE *file = fopen(path, "w");

        assert_non_null(file);
        fputs(now, file);
        fclose(file);
    }
    same = holds(path, now);
    if (!same)
        print_error("%s differs; it is now:\n%s", path, now);
    assert_true(same);
}
