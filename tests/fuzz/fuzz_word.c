/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words with a fixed shape: days, stable ids, formats of film, names of a language.
 *
 * Method: a day that exists is one the C library's calendar gives back unchanged; an id reads back
 * from what is printed; a format has a name that reads back; the file of a language lies
 * in its folder, whatever the language is called. */
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>

#include "fuzz.h"
#include "wetside/book/book.h"
#include "wetside/book/roll.h"
#include "wetside/port/phrases.h"

static bool is_in_calendar(const char *text)
{
    struct tm day = { .tm_hour = 12 }, same;
    char again[48];

    if (strlen(text) != 10 || text[4] != '-' || text[7] != '-')
        return false;
    for (int i = 0; i < 10; i++)
        if (i != 4 && i != 7 && !isdigit((unsigned char)text[i]))
            return false;
    sscanf(text, "%4d-%2d-%2d", &day.tm_year, &day.tm_mon, &day.tm_mday);
    if (day.tm_year < 1800)
        return false;
    day.tm_year -= 1900;
    day.tm_mon -= 1;
    same = day;
    timegm(&same);
    snprintf(again, sizeof again, "%04d-%02d-%02d", same.tm_year + 1900, same.tm_mon + 1,
             same.tm_mday);
    return strcmp(again, text) == 0;
}

static void stays_in_its_folder(const char *language)
{
    static const char folder[] = "/nowhere/wetside/phrases.";
    char path[256];
    struct ws_message why = { "" };

    setenv("XDG_CONFIG_HOME", "/nowhere", 1);
    FUZZ_MUST(ws_phrases_path(language, path, sizeof path, &why) == WS_OK);
    FUZZ_MUST(strncmp(path, folder, sizeof folder - 1) == 0);
    FUZZ_MUST(strchr(path + sizeof folder - 1, '/') == NULL && fuzz_is_clean(path, false));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = fuzz_text(data, size), printed[33];
    enum ws_format format = WS_FORMATS, again = WS_FORMATS;
    struct ws_id id;

    FUZZ_MUST(ws_day_exists(text) == is_in_calendar(text));
    if (ws_id_read(text, &id)) {
        ws_id_print(&id, printed);
        FUZZ_MUST(strcasecmp(printed, text) == 0);
    }
    if (ws_format_read(text, &format)) {
        FUZZ_MUST(format < WS_FORMATS);
        if (ws_format_name(format) != NULL)
            FUZZ_MUST(ws_format_read(ws_format_name(format), &again) && again == format);
    }
    if (ws_phrases_may_be(text))
        stays_in_its_folder(text);
    free(text);
    return 0;
}
