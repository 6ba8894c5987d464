/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text that would steer a terminal, and a book full of it. */
#include "hostile.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "aid.h"

#include "../fuzz/fuzz.h"

#define TOWER "\xCC\x81\xCC\x82\xCC\x83\xCC\x84\xCC\x85\xCC\x86\xCC\x87\xCC\x88"

static const char *const texts[] = {
    /* Sequences no screen of ours ever sends: a private mode, a title, the clipboard, a query. */
    HOSTILE_MARK "\033[?7777h\033]0;t\a",
    HOSTILE_MARK "\033]52;c;QQ==\033\\",
    HOSTILE_MARK "\033P+q544e\033\\\033[c",
    /* The same by single characters, as UTF-8 and as raw bytes. */
    HOSTILE_MARK "\xC2\x9B?7777h\xC2\x9D\x30;t\xC2\x9C",
    HOSTILE_MARK "\x9B?7777h\x90q\x9C",
    /* Text that turns, and text that is not there. */
    HOSTILE_MARK "\342\200\256abc\xE2\x81\xA6\xE2\x80\x8F\xD8\x9C",
    HOSTILE_MARK "\xE2\x80\x8B\xE2\x80\x8D\xEF\xBB\xBF\xF3\xA0\x81\x81",
    HOSTILE_MARK TOWER TOWER "x",
    /* Broken: overlong, surrogates, beyond all characters, cut short. */
    HOSTILE_MARK "\xC0\x9B[2J\xE0\x80\x9B\xED\xA0\x80\xF4\x90\x80\x80\xFF\xE2\x82",
    /* Lines and places. */
    HOSTILE_MARK "\t\r\n\b\b\b\v\f\x7F\a\016",
    HOSTILE_MARK "\xE2\x80\xA8\xE2\x80\xA9\xC2\x85x",
    "%s%n" HOSTILE_MARK "%1$s\\033[2J",
};
enum { TEXTS = sizeof texts / sizeof *texts };

const char *hostile_text(int index)
{
    return index >= 0 && index < TEXTS ? texts[index] : NULL;
}

/* ---- the book ---- */

/* `row` gives each row of the table a number; `unique`: the text must have it in it. */
static const struct {
    const char *table, *column, *row;
    bool unique, few; /* few: one of a few words is expected there */
} words[] = {
    { "film", "name", "film", true, false },
    { "process", "name", "process", true, false },
    { "process", "film", "process", false, false },
    { "process", "note", "process", false, false },
    { "process_bath", "name", "process + bath", false, false },
    { "tank", "name", "tank", true, false },
    { "batch", "number", "batch", true, false },
    { "batch", "what", "batch", false, false },
    { "batch", "who", "batch", false, false },
    { "batch", "note", "batch", false, false },
    { "run", "process", "run", false, false },
    { "run", "tank", "run", false, false },
    { "run", "who", "run", false, false },
    { "run", "reason", "run", false, false },
    { "run", "developer", "run", false, false },
    { "run", "dilution", "run", false, false },
    { "run_bath", "name", "run + bath", false, false },
    { "run_bath", "dilution", "run + bath", false, false },
    { "measured", "name", "run + bath + part", false, false },
    { "ledger", "reason", "ledger", false, false },
    { "roll", "number", "roll", true, false },
    { "roll", "wish", "roll", false, false },
    { "roll", "camera", "roll", false, false },
    { "roll", "subject", "roll", false, false },
    { "verdict", "remark", "verdict", false, false },
    { "correction", "old", "correction", false, false },
    { "correction", "new", "correction", false, false },
    { "correction", "reason", "correction", false, false },
    { "batch", "use", "batch", false, true },
    { "batch", "made_day", "batch", false, true },
    { "roll", "format", "roll", false, true },
    { "roll", "exposed_day", "roll", false, true },
    { "roll", "verdict", "roll", false, true },
    { "run_bath", "kind", "run", false, true },
    { "correction", "field", "correction", false, true },
    { "process_bath", "kind", "process", false, true },
    { "process_bath", "rhythm", "process", false, true },
    { "process_bath", "afterwards", "process", false, true },
    { "journal", "kind", "run", false, true },
};

static void carry_out(sqlite3 *db, char *sql)
{
    char *error = NULL;

    if (sql == NULL || sqlite3_exec(db, sql, NULL, NULL, &error) != SQLITE_OK) {
        fprintf(stderr, "%s: %s\n", sql, error);
        exit(1);
    }
    sqlite3_free(sql);
}

/* Text by row number; a zero in one of them, which no text of C can hold. */
static void hostile_function(sqlite3_context *context, int n, sqlite3_value **value)
{
    static const char zero[] = HOSTILE_MARK "\0\033[?7777h";
    sqlite3_int64 row = sqlite3_value_int64(value[0]);
    int which = (int)((row + sqlite3_value_int64(value[1])) % (TEXTS + 1));
    char text[160];

    (void)n;
    if (which == TEXTS) {
        sqlite3_result_text(context, zero, sizeof zero - 1, SQLITE_STATIC);
        return;
    }
    if (sqlite3_value_int64(value[2]) != 0)
        snprintf(text, sizeof text, "%lld%s", (long long)row, texts[which]);
    else
        snprintf(text, sizeof text, "%s", texts[which]);
    sqlite3_result_text(context, text, -1, SQLITE_TRANSIENT);
}

/* Within JSON: a control as \u001b, the rest as it stands where JSON takes it. */
static void plan_function(sqlite3_context *context, int n, sqlite3_value **value)
{
    static const char *const as[] = { "Zx\\u001b[?7777h\\u001b]0;t\\u0007",
                                      "Zx\\u202eabc\342\201\246\302\2332J",
                                      "Zx" TOWER TOWER "\\n\\t\\u200b" };
    const char *plan = (const char *)sqlite3_value_text(value[0]);
    sqlite3_str *out = sqlite3_str_new(NULL);

    (void)n;
    /* Every text that begins with a capital is a name. */
    for (int i = 0; *plan != '\0'; plan++) {
        sqlite3_str_appendchar(out, 1, *plan);
        if (plan[0] == '"' && plan[1] >= 'A' && plan[1] <= 'Z') {
            sqlite3_str_appendall(out, as[i++ % 3]);
            plan += strcspn(plan + 1, "\"");
        }
    }
    sqlite3_result_text(context, sqlite3_str_finish(out), -1, sqlite3_free);
}

static void set_settings(sqlite3 *db)
{
    static const char *const key[] = { "temperatures", "hand_keys", "volume",
                                       "speech",       "language",  "count_in" };
    static const int text[] = { 0, 5, 3, 1, 6, 8 };

    for (size_t i = 0; i < sizeof key / sizeof *key; i++)
        carry_out(db, sqlite3_mprintf("INSERT OR REPLACE INTO setting VALUES (%Q, %Q)", key[i],
                                      texts[text[i]]));
    carry_out(db, sqlite3_mprintf("INSERT INTO setting VALUES (%Q, %Q)", texts[1], texts[2]));
}

void hostile_book(const char *path, bool broken)
{
    sqlite3 *db = NULL;

    if (sqlite3_open(path, &db) != SQLITE_OK)
        exit(1);
    sqlite3_create_function(db, "hostile", 3, SQLITE_UTF8, NULL, hostile_function, NULL, NULL);
    sqlite3_create_function(db, "hostile_plan", 1, SQLITE_UTF8, NULL, plan_function, NULL, NULL);
    carry_out(db, sqlite3_mprintf("BEGIN"));
    carry_out(db, sqlite3_mprintf("UPDATE run SET plan = hostile_plan(plan)"));
    carry_out(db, sqlite3_mprintf("INSERT INTO correction (what, row, field, old, new, reason, "
                                  "wall_ms) SELECT 'roll', roll, 'camera', '', '', '', "
                                  "1773518400000 FROM roll"));
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (broken || !words[i].few)
            carry_out(db,
                      sqlite3_mprintf("UPDATE %s SET %s = hostile(%s, %d, %d)%s", words[i].table,
                                      words[i].column, words[i].row, (int)i, (int)words[i].unique,
                                      strcmp(words[i].column, "reason") == 0 &&
                                              strcmp(words[i].table, "run") == 0
                                          ? " WHERE ended_ms IS NOT NULL AND run % 2 = 0"
                                          : ""));
    carry_out(db, sqlite3_mprintf("UPDATE roll_word SET words = words || ' zx'"));
    set_settings(db);
    carry_out(db, sqlite3_mprintf("COMMIT"));
    sqlite3_close(db);
}

/* ---- what came out ---- */

/* The length of a sequence of the terminal's own; 0 where none begins. */
static size_t own_sequence(const char *at, size_t left)
{
    size_t length = 2;

    if (left < 2 || at[0] != '\033')
        return at[0] == '\033' ? left : 0;
    if (at[1] == '(' || at[1] == ')')
        return left < 3 ? left : 3;
    if (at[1] != '[')
        return strchr("=>78MDE", at[1]) != NULL ? 2 : 0;
    while (length < left && at[length] >= 0x20 && at[length] < 0x40)
        length++;
    return length < left ? length + 1 : left;
}

/* Text between sequences: no controls, nothing that turns it, no towers of marks. */
static const char *look_at_text(char *text)
{
    int marks = 0;

    if (!fuzz_is_clean(text, false))
        return "a control, what turns text, or no UTF-8";
    for (const char *at = text; *at != '\0'; at++)
        if ((unsigned char)*at == 0xCC) { /* U+0300 to U+033F, those of ours */
            if (++marks > 2)
                return "a tower of marks";
            at++;
        } else if (((unsigned char)*at & 0xC0) != 0x80) {
            marks = 0;
        }
    return NULL;
}

const char *hostile_seen(const char *bytes, size_t length, size_t *at)
{
    char *text = malloc(length + 1);
    size_t i = 0, used = 0;
    const char *wrong = NULL;

    if (text == NULL)
        exit(1);
    while (i <= length && wrong == NULL) {
        size_t own = i < length ? own_sequence(bytes + i, length - i) : 1;

        if (own == 0 && bytes[i] != '\0' && strchr("\r\n\b\t\016\017", bytes[i]) != NULL)
            own = 1;
        if (own > 0) {
            text[used] = '\0';
            wrong = look_at_text(text);
            used = 0;
        } else if (bytes[i] == '\0') {
            wrong = "a zero";
        } else {
            text[used++] = bytes[i];
        }
        *at = i;
        i += own > 0 ? own : 1;
    }
    free(text);
    return wrong;
}

void hostile_expect_clean(const char *bytes, size_t length, const char *what)
{
    size_t at = 0;
    const char *wrong = hostile_seen(bytes, length, &at);

    if (wrong == NULL)
        return;
    print_error("%s: %s, before byte %zu:\n", what, wrong, at);
    for (size_t i = at > 200 ? at - 200 : 0; i < at + 20 && i < length; i++) {
        unsigned char byte = (unsigned char)bytes[i];

        print_error(byte >= ' ' && byte < 0x7F ? "%c" : "\\%03o", byte);
    }
    fail_msg("\n%s", what);
}
