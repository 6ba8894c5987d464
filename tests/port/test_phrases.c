/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Phrases: the shipped ones, what is filled in, and files of them as people write them. */
#include "aid.h"

#include <stdbool.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "wetside/calc/character.h"
#include "wetside/port/data.h"
#include "wetside/port/phrases.h"

#define COUNT(table) (sizeof(table) / sizeof(table)[0])

/* ---- what is shipped ------------------------------------------------------------------------- */

static void no_fault(void *self, enum ws_phrase_fault fault, int line, const char *says)
{
    (void)self;
    (void)fault;
    (void)line;
    fail_msg("%s", says);
}

/* Method: each shipped file is read as one of a person's would be; no fault may be said, and no
 * text may be the one that was there before. */
static void test_shipped_files_are_sound_and_whole(void **state)
{
    static const struct {
        const unsigned char *bytes;
        const unsigned long *size;
    } file[] = { { ws_data_phrases_en, &ws_data_phrases_en_size },
                 { ws_data_phrases_de, &ws_data_phrases_de_size } };

    (void)state;
    for (size_t f = 0; f < COUNT(file); f++) {
        struct ws_phrases out;

        memset(&out, 0, sizeof out);
        assert_int_equal(ws_phrases_check((const char *)file[f].bytes, *file[f].size, "shipped",
                                          &out, no_fault, NULL),
                         WS_OK);
        for (int i = 0; i < WS_PHRASES; i++)
            assert_true(out.text[i][0] != '\0');
    }
}

/* Method: names of languages as locales and people write them; the text of POUR OUT tells which was
 * taken. */
static void test_languages(void **state)
{
    static const struct {
        const char *asked, *language, *agitate;
        enum ws_status status;
    } row[] = {
        { "en", "en", "agitate", WS_OK },
        { "de", "de", "kippen", WS_OK },
        { "de_DE.UTF-8", "de", "kippen", WS_OK },
        { "de_AT@euro", "de", "kippen", WS_OK },
        { "DE", "de", "kippen", WS_OK },
        { "de-ch", "de-ch", "kippen", WS_OK },
        { "C", "en", "agitate", WS_OK },
        { "POSIX", "en", "agitate", WS_OK },
        { "C.UTF-8", "en", "agitate", WS_OK },
        { "fr", "en", "agitate", WS_NOT_FOUND },
        { "den", "en", "agitate", WS_NOT_FOUND },
        { "", "en", "agitate", WS_NOT_FOUND },
        { "../../x", "en", "agitate", WS_NOT_FOUND },
        { "de/../en", "en", "agitate", WS_NOT_FOUND },
        { "a-very-long-language", "en", "agitate", WS_NOT_FOUND },
    };

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        struct ws_phrases out;

        assert_int_equal(ws_phrases_shipped(row[i].asked, &out), row[i].status);
        assert_string_equal(out.language, row[i].language);
        assert_non_null(strstr(out.text[WS_PHRASE_AGITATE], row[i].agitate));
    }
}

/* Method: every name is looked for in the items of the manual, by itself between blanks. */
static void test_the_manual_names_every_phrase(void **state)
{
    FILE *manual = fopen("man/wetside-phrases.5", "r");
    char line[400], item[48];
    bool said[WS_PHRASES] = { false };

    (void)state;
    assert_non_null(manual);
    while (fgets(line, sizeof line, manual) != NULL) {
        line[strcspn(line, "\n")] = ' ';
        for (int i = 0; i < WS_PHRASES && strncmp(line, ".It Ic ", 7) == 0; i++) {
            snprintf(item, sizeof item, " %s ", ws_phrase_name((enum ws_phrase)i));
            said[i] = said[i] || strstr(line, item) != NULL;
        }
    }
    fclose(manual);
    for (int i = 0; i < WS_PHRASES; i++)
        if (!said[i])
            fail_msg("the manual does not say: %s", ws_phrase_name((enum ws_phrase)i));
    assert_string_equal(ws_phrase_name(WS_PHRASES), "");
}

static void test_baths_have_names(void **state)
{
    (void)state;
    for (int k = 0; k < WS_BATH_KINDS; k++)
        assert_string_equal(ws_phrase_name(ws_phrase_of_bath((enum ws_bath_kind)k)),
                            ws_bath_kind_token((enum ws_bath_kind)k));
    assert_int_equal(ws_phrase_of_bath(WS_BATH_KINDS), WS_PHRASE_OTHER);
}

/* ---- what is filled in ----------------------------------------------------------------------- */

static void assert_says(const struct ws_phrases *phrases, enum ws_phrase phrase,
                        const struct ws_phrase_facts *facts, const char *want)
{
    char text[WS_SPOKEN_BYTES];
    size_t length = ws_phrase_say(phrases, phrase, facts, text, sizeof text);

    assert_string_equal(text, want);
    assert_int_equal(length, strlen(want));
}

/* Method: the phrases of a run as they are said, worked out by hand. */
static void test_what_is_said(void **state)
{
    static const struct {
        const char *language;
        enum ws_phrase phrase;
        struct ws_phrase_facts facts;
        const char *want;
    } row[] = {
        { "en",
          WS_PHRASE_READY_TO_POUR,
          { "A", "Corvex Pan 100", NULL, -1, -1, 15 },
          "Tank A, Corvex, pour out in 15" },
        { "en",
          WS_PHRASE_READY_TO_POUR,
          { NULL, "Corvex Pan 100", NULL, -1, -1, 15 },
          "Corvex, pour out in 15" },
        { "en",
          WS_PHRASE_READY_TO_POUR,
          { "A", NULL, NULL, -1, -1, 15 },
          "Tank A, pour out in 15" },
        { "en", WS_PHRASE_READY_TO_POUR, { NULL, NULL, NULL, -1, -1, 15 }, "pour out in 15" },
        { "en", WS_PHRASE_COUNT_IN, { "A", "Tarn 125", "developer", -1, -1, 5 }, "developer in 5" },
        { "en", WS_PHRASE_COUNT_IN, { "A", "Tarn 125", NULL, -1, -1, 5 }, "in 5" },
        { "en", WS_PHRASE_POUR_IN, { "A", "Tarn 125", NULL, -1, -1, -1 }, "Tank A, Tarn, pour in" },
        { "en", WS_PHRASE_INVERT, { "A", "Tarn 125", NULL, 3, 4, -1 }, "3" },
        { "en", WS_PHRASE_INVERT, { "A", "Tarn 125", NULL, -1, 4, -1 }, "" },
        { "en", WS_PHRASE_PIECE_OUT, { NULL, NULL, NULL, 6, 6, -1 }, "sheet 6 out" },
        { "en",
          WS_PHRASE_COME_BACK,
          { "B", "Halden 400", NULL, -1, -1, 120 },
          "Tank B, Halden, come back, needed in 2 minutes" },
        { "en",
          WS_PHRASE_LEFT,
          { NULL, NULL, "fixer", -1, -1, 150 },
          "fixer, 2 minutes 30 seconds left" },
        { "en",
          WS_PHRASE_LEFT,
          { NULL, NULL, "fixer", -1, -1, 61 },
          "fixer, 1 minute 1 second left" },
        { "en", WS_PHRASE_LEFT, { NULL, NULL, "fixer", -1, -1, 60 }, "fixer, 1 minute left" },
        { "en", WS_PHRASE_LEFT, { NULL, NULL, "fixer", -1, -1, 59 }, "fixer, 59 seconds left" },
        { "en", WS_PHRASE_LEFT, { NULL, NULL, "fixer", -1, -1, 0 }, "fixer, 0 seconds left" },
        { "en", WS_PHRASE_LEFT, { NULL, NULL, "stand", -1, -1, 5400 }, "stand, 90 minutes left" },
        { "de",
          WS_PHRASE_LEFT,
          { "2", NULL, "Wässerung", -1, -1, 61 },
          "Tank 2, Wässerung, noch eine Minute eine Sekunde" },
        { "de",
          WS_PHRASE_READY_TO_POUR,
          { "A", "Corvex Pan 100", NULL, -1, -1, 15 },
          "Tank A, Corvex, ausgießen in 15" },
        { "de", WS_PHRASE_COUNT_IN, { NULL, NULL, "Entwickler", -1, -1, 5 }, "Entwickler in 5" },
        { "de", WS_PHRASE_LIGHTS_ASK, { NULL, NULL, NULL, -1, -1, -1 }, "Licht an? Enter für Ja" },
        { "en", WS_PHRASE_TANK, { "B", NULL, NULL, -1, -1, -1 }, "Tank B" },
        { "en", WS_PHRASE_MINUTES, { NULL, NULL, NULL, 3, -1, -1 }, "3 minutes" },
    };
    struct ws_phrases phrases;

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        ws_phrases_shipped(row[i].language, &phrases);
        assert_says(&phrases, row[i].phrase, &row[i].facts, row[i].want);
    }
}

/* Method: names as people and files give them, in the phrase "{tank}, {film}, go". */
static void test_names_are_made_speakable(void **state)
{
    static const struct {
        const char *tank, *film, *want;
    } row[] = {
        { "A", "Tarn 125", "Tank A, Tarn, go" },
        { "tank A", "Tarn 125", "tank A, Tarn, go" },
        { "tray", "Tarn 125", "tray, Tarn, go" },
        { "12", "Tarn 125", "Tank 12, Tarn, go" },
        { "B2", "Osprey", "Tank B2, Osprey, go" },
        { "größe 2", "Ångström 50", "größe 2, Ångström, go" },
        { "", "", "go" },
        { "  ", "?!", "go" },
        { NULL, "HP-5/ö", "HP 5, go" },
        { NULL, "X 1.5 b", "X 1.5, go" },
        { NULL, "1+1", "1 1, go" },
        { NULL, "100 Pan", "100, go" },
        { NULL, "<speak><break time=\"9s\"/>", "speak, go" },
        { NULL, "[[h@l'oU]]", "h l'oU, go" },
        { NULL, "&lt;", "lt, go" },
        { NULL, "a,b,c,d", "a b c, go" },
        { NULL, "\x1b[31mred\a", "31mred, go" },
        { NULL, "\x01\x30\x52slow", "0Rslow, go" },
        { NULL,
          "\xff\xfe"
          "bad",
          "bad, go" },
        { NULL, "b\xc3", "b, go" },
        { NULL, "{film}{tank}", "film, go" },
        { NULL, "Tarn\nNew line", "Tarn, go" },
        { NULL,
          "\xe2\x80\xae"
          "evil",
          "evil, go" },
        { NULL, "\xf0\x9f\x8e\x9e", "go" },
        { NULL, "Aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa", "Aaaaaaaaaaaaaaaa, go" },
        { NULL, "\xd0\xa1\xd0\xb2\xd0\xb5\xd0\xbc\xd0\xb0 64",
          "\xd0\xa1\xd0\xb2\xd0\xb5\xd0\xbc\xd0\xb0, go" },
        { "one two three four five six seven", NULL, "one two three four five six se, go" },
    };
    struct ws_phrases phrases;

    (void)state;
    ws_phrases_shipped("en", &phrases);
    strcpy(phrases.text[WS_PHRASE_REST], "{tank}, {film}, go");
    for (size_t i = 0; i < COUNT(row); i++) {
        struct ws_phrase_facts facts = { row[i].tank, row[i].film, NULL, -1, -1, -1 };

        assert_says(&phrases, WS_PHRASE_REST, &facts, row[i].want);
    }
}

/* Method: texts of a person's own, with words at odd places. */
static void test_words_with_nothing_to_say(void **state)
{
    static const struct {
        const char *text, *want;
    } row[] = {
        { "{bath}", "" },
        { "{bath}?", "" },
        { "{bath}, {film}", "" },
        { "go, {bath}", "go" },
        { "{bath}, go", "go" },
        { "go, {bath}, on", "go, on" },
        { "go {bath} on", "go on" },
        { "go  to   it", "go to it" },
        { "1,5 now", "1,5 now" },
        { "go,", "go" },
        { ", go", "go" },
        { "", "" },
        { "{seconds} {count} {of} {time}", "" },
        { "{tank}{tank}", "Tank ATank A" },
    };
    struct ws_phrases phrases;
    struct ws_phrase_facts facts = { "A", NULL, NULL, -1, -1, -1 };

    (void)state;
    ws_phrases_shipped("en", &phrases);
    for (size_t i = 0; i < COUNT(row); i++) {
        strcpy(phrases.text[WS_PHRASE_REST], row[i].text);
        assert_says(&phrases, WS_PHRASE_REST, &facts, row[i].want);
    }
}

/* Method: parts that ask for themselves, and room that is too short in the middle of a character.
 */
static void test_no_end_and_no_cut_character(void **state)
{
    struct ws_phrases phrases;
    struct ws_phrase_facts facts = { "A", "Tarn", "bath", 2, 3, 150 };
    char text[WS_SPOKEN_BYTES], small[8];

    (void)state;
    ws_phrases_shipped("en", &phrases);
    strcpy(phrases.text[WS_PHRASE_MINUTES], "{time} {tank} {count}");
    strcpy(phrases.text[WS_PHRASE_TANK], "{tank} {time} {film}");
    strcpy(phrases.text[WS_PHRASE_REST], "{tank}, {time}");
    assert_says(&phrases, WS_PHRASE_REST, &facts, "A, 2 30 seconds");
    strcpy(phrases.text[WS_PHRASE_REST], "öööööö");
    assert_int_equal(ws_phrase_say(&phrases, WS_PHRASE_REST, &facts, small, sizeof small), 6);
    assert_string_equal(small, "ööö");
    assert_int_equal(ws_phrase_say(&phrases, WS_PHRASE_REST, &facts, small, 0), 0);
    assert_int_equal(ws_phrase_say(&phrases, WS_PHRASES, &facts, text, sizeof text), 0);
    /* As much as a text and its words can come to. */
    memset(phrases.text[WS_PHRASE_REST], '\0', WS_PHRASE_BYTES);
    for (int i = 0; i + 7 < WS_PHRASE_BYTES; i += 6)
        memcpy(phrases.text[WS_PHRASE_REST] + i, "{bath}", 6);
    facts.bath = "ööööööööööööööööööööööööööööööööööööööö";
    assert_true(ws_phrase_say(&phrases, WS_PHRASE_REST, &facts, text, sizeof text) < sizeof text);
    for (size_t i = 0, bytes; text[i] != '\0'; i += bytes) {
        uint32_t point;

        bytes = ws_character_read(text + i, strlen(text + i), &point);
        assert_true(bytes > 0);
    }
}

/* ---- files of people's own ------------------------------------------------------------------- */

struct noted {
    int count, line[64];
    enum ws_phrase_fault fault[64];
    char says[64][WS_MESSAGE_BYTES];
};

static void note(void *self, enum ws_phrase_fault fault, int line, const char *says)
{
    struct noted *noted = self;

    if (fault == WS_PHRASE_MISSING)
        return;
    assert_true(noted->count < 64);
    noted->fault[noted->count] = fault;
    noted->line[noted->count] = line;
    strcpy(noted->says[noted->count++], says);
}

/* Method: each file holds one fault and then a sound line; the fault must be said once, by file and
 * line, and the sound line be taken. */
static void test_each_fault_has_one_line(void **state)
{
#define FILE_OF(text) text, sizeof(text) - 1
    static const struct {
        const char *bytes;
        size_t length;
        int line;
        enum ws_phrase_fault fault;
        const char *says;
    } row[] = {
        { FILE_OF("rest without\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "no colon" },
        { FILE_OF("# c\n\n :x\nstop: halt\n"), 3, WS_PHRASE_LEFT_OUT, "'' is no phrase" },
        { FILE_OF("pour: x\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "'pour' is no phrase" },
        { FILE_OF("Rest: x\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "'Rest' is no phrase" },
        { FILE_OF("rest: \xff\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "no UTF-8" },
        { FILE_OF("rest: \xc3\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "no UTF-8" },
        { FILE_OF("rest: \xed\xa0\x80\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "no UTF-8" },
        { FILE_OF("rest: a\0b\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "zero byte" },
        { FILE_OF("\0\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "zero byte" },
        { FILE_OF("rest: a\x1b[2J\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "U+001B" },
        { FILE_OF("rest: a\xe2\x80\xaeg\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "U+202E" },
        { FILE_OF("rest: {tnk}\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "{tnk} is no word" },
        { FILE_OF("rest: {}\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "{} is no word" },
        { FILE_OF("rest: {{tank}}\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "is no word" },
        { FILE_OF("rest: {tank\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "{ without }" },
        { FILE_OF("rest: tank}\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "} without {" },
        { FILE_OF("stop: x\nstop: halt\n"), 2, WS_PHRASE_ODD, "stands in line 1" },
        { FILE_OF("stop: x\rhalt\nstop: halt\n"), 1, WS_PHRASE_LEFT_OUT, "U+000D" },
        { FILE_OF("\r\nstop: halt\r\n\r\n"), 1, WS_PHRASE_ODD, "CR LF" },
        { FILE_OF("\xef\xbb\xbfstop: halt\n"), 1, WS_PHRASE_ODD, "mark of byte order" },
        { FILE_OF("\n\xef\xbb\xbfrest: x\nstop: halt\n"), 2, WS_PHRASE_LEFT_OUT, "U+FEFF" },
    };

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        struct noted noted = { .count = 0 };
        struct ws_phrases out;
        char where[32];

        ws_phrases_shipped("en", &out);
        assert_int_equal(ws_phrases_check(row[i].bytes, row[i].length, "my.en", &out, note, &noted),
                         WS_BAD_INPUT);
        snprintf(where, sizeof where, "my.en, line %d: ", row[i].line);
        assert_int_equal(strncmp(noted.says[0], where, strlen(where)), 0);
        if (strstr(noted.says[0], row[i].says) == NULL)
            fail_msg("no '%s' in: %s", row[i].says, noted.says[0]);
        assert_int_equal(noted.fault[0], row[i].fault);
        assert_int_equal(noted.line[0], row[i].line);
        assert_int_equal(noted.count, 1);
        assert_string_equal(out.text[WS_PHRASE_STOP], "halt");
        assert_string_equal(out.text[WS_PHRASE_REST], "{tank}, {film}, rest");
    }
}

/* Method: a text of exactly the room, one byte more, one far longer, and a last line without an
 * end; tabs and blanks about a name and a text. */
static void test_lengths_and_blanks(void **state)
{
    struct noted noted = { .count = 0 };
    struct ws_phrases out;
    char file[4 * 4096] = "", text[WS_PHRASE_BYTES + 1];
    struct ws_message why = { "" };

    (void)state;
    ws_phrases_shipped("en", &out);
    memset(text, 'x', sizeof text);
    text[WS_PHRASE_BYTES] = '\0';
    snprintf(file, sizeof file, "rest: %s\nstop:%s\nwash: %4096s\n \tfixer\t : \tto\tfix \t", text,
             text + 1, "y");
    assert_int_equal(ws_phrases_check(file, strlen(file), "f", &out, note, &noted), WS_BAD_INPUT);
    assert_int_equal(noted.count, 1);
    assert_non_null(strstr(noted.says[0], "f, line 1: rest is too long, 160 bytes"));
    assert_string_equal(out.text[WS_PHRASE_STOP], text + 1);
    assert_string_equal(out.text[WS_PHRASE_WASH], "y");
    assert_string_equal(out.text[WS_PHRASE_FIXER], "to fix");
    assert_int_equal(ws_phrases_read("rest:\n", 6, "f", &out, &why), WS_NOT_FOUND);
    assert_string_equal(out.text[WS_PHRASE_REST], "");
}

/* Method: the one line for all of a file: what was left out before what is missing before what is
 * odd. */
static void test_the_one_line(void **state)
{
    struct ws_phrases out;
    struct ws_message why = { "" };
    char whole[8192] = "", odd[8192 + 64];

    (void)state;
    ws_phrases_shipped("en", &out);
    assert_int_equal(
        ws_phrases_read("rest: a\r\nstop:b\nfoo: c\nbar: d\n", 31, "my.en", &out, &why),
        WS_BAD_INPUT);
    assert_string_equal(why.text,
                        "my.en, line 3: 'foo' is no phrase: left out; wetside phrases lists them");
    assert_string_equal(out.text[WS_PHRASE_REST], "a");
    assert_int_equal(ws_phrases_read("rest: a\r\n", 9, "my.en", &out, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "my.en: of 41 phrases 40 are missing"));
    for (int i = 1; i < WS_PHRASES; i++)
        sprintf(whole + strlen(whole), "%s: x\n", ws_phrase_name((enum ws_phrase)i));
    assert_int_equal(ws_phrases_read(whole, strlen(whole), "my.en", &out, &why), WS_NOT_FOUND);
    assert_non_null(strstr(why.text, "my.en: of 41 phrases 1 is missing"));
    snprintf(odd, sizeof odd, "\xef\xbb\xbf%sget_ready: y\n", whole);
    assert_int_equal(ws_phrases_read(odd, strlen(odd), "my.en", &out, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "my.en, line 1: begins with a mark"));
    assert_int_equal(ws_phrases_read(odd + 3, strlen(odd) - 3, "my.en", &out, &why), WS_OK);
    assert_int_equal(ws_phrases_read("", 0, "my.en", &out, &why), WS_NOT_FOUND);
}

/* Method: 20,000 files of random pieces (fixed seed); whatever is taken must be text without
 * controls, of known words, and be said without them. */
static void test_random_files(void **state)
{
    static const char *const piece[] = {
        "rest", "stop",   ":",    "\n",   "\r",   " ",        "{",     "}",
        "tank", "{film}", ",",    "\xff", "ö",    "\x1b",     "#",     "\xc3",
        "x",    "{time}", "{of}", "\t",   "left", "minutes:", "{tnk}", "\xe2\x80\xae"
    };
    struct ws_phrases out;
    struct ws_phrase_facts facts = { "A", "Tarn 125", "fixer", 2, 3, 150 };
    uint64_t random = 20260314;

    (void)state;
    for (int n = 0; n < 20000; n++) {
        char file[256] = "", text[WS_SPOKEN_BYTES];

        for (int i = 0; i < 30; i++) {
            random = random * 6364136223846793005U + 1442695040888963407U;
            strcat(file, piece[(random >> 33) % COUNT(piece)]);
        }
        ws_phrases_shipped("en", &out);
        ws_phrases_check(file, strlen(file), "f", &out, NULL, NULL);
        for (int p = 0; p < WS_PHRASES; p++) {
            ws_phrase_say(&out, (enum ws_phrase)p, &facts, text, sizeof text);
            assert_null(strpbrk(text, "{}\x1b\n\r\t\xff"));
        }
    }
}

/* ---- which are in force ---------------------------------------------------------------------- */

struct home {
    char folder[64];
};

static void set(const char *name, const char *value)
{
    if (value != NULL)
        assert_int_equal(setenv(name, value, 1), 0);
    else
        assert_int_equal(unsetenv(name), 0);
}

static void write_file(const struct home *home, const char *name, const char *text)
{
    char path[160];
    FILE *file;

    snprintf(path, sizeof path, "%s/%s", home->folder, name);
    file = fopen(path, "wb");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

static int begin(void **state)
{
    static const char *const folder[] = { ".config", ".config/wetside", "x", "x/wetside" };
    struct home *home = calloc(1, sizeof *home);
    const char *base = getenv("TMPDIR");
    char path[160];

    snprintf(home->folder, sizeof home->folder, "%.40s/wetside-phr-XXXXXX",
             base != NULL && base[0] != '\0' ? base : "/tmp");
    assert_non_null(mkdtemp(home->folder));
    for (size_t i = 0; i < COUNT(folder); i++) {
        snprintf(path, sizeof path, "%s/%s", home->folder, folder[i]);
        assert_int_equal(mkdir(path, 0700), 0);
    }
    set("HOME", home->folder);
    set("XDG_CONFIG_HOME", NULL);
    set("LC_ALL", NULL);
    set("LC_MESSAGES", NULL);
    set("LANG", NULL);
    *state = home;
    return 0;
}

static int end(void **state)
{
    struct home *home = *state;
    char command[128];

    snprintf(command, sizeof command, "rm -rf '%s'", home->folder);
    assert_int_equal(system(command), 0);
    free(home);
    return 0;
}

static void assert_loads(const char *language, const char *want_language, const char *want_rest,
                         enum ws_status want)
{
    struct ws_phrases out;
    struct ws_message why = { "" };

    assert_int_equal(ws_phrases_load(language, &out, &why), want);
    assert_string_equal(out.language, want_language);
    assert_string_equal(out.text[WS_PHRASE_REST], want_rest);
    assert_string_equal(out.text[WS_PHRASE_INVERT], "{count}");
    assert_int_equal(why.text[0] == '\0', want == WS_OK);
}

/* Method: locales and files of one's own in both places, as the environment says. */
static void test_which_are_in_force(void **state)
{
    struct home *home = *state;
    char x[160];

    assert_loads(NULL, "en", "{tank}, {film}, rest", WS_OK);
    set("LANG", "de_DE.UTF-8");
    assert_loads("", "de", "{tank}, {film}, stehen lassen", WS_OK);
    set("LC_MESSAGES", "fr_FR.UTF-8");
    assert_loads(NULL, "en", "{tank}, {film}, rest", WS_OK);
    assert_loads("fr", "en", "{tank}, {film}, rest", WS_NOT_FOUND);
    assert_loads("no language", "en", "{tank}, {film}, rest", WS_NOT_FOUND);
    write_file(home, ".config/wetside/phrases.fr", "rest: repos\n");
    assert_loads(NULL, "fr", "repos", WS_NOT_FOUND);
    set("LC_ALL", "C");
    assert_loads(NULL, "en", "{tank}, {film}, rest", WS_OK);
    snprintf(x, sizeof x, "%s/x", home->folder);
    set("XDG_CONFIG_HOME", x);
    assert_loads("fr", "en", "{tank}, {film}, rest", WS_NOT_FOUND);
    write_file(home, "x/wetside/phrases.de", "rest: absetzen\n");
    assert_loads("de_AT.UTF-8", "de", "absetzen", WS_NOT_FOUND);
    set("XDG_CONFIG_HOME", "x");
    assert_loads("fr", "fr", "repos", WS_NOT_FOUND);
    set("HOME", NULL);
    assert_loads("de", "de", "{tank}, {film}, stehen lassen", WS_OK);
    assert_loads("fr", "en", "{tank}, {film}, rest", WS_NOT_FOUND);
}

/* Method: in the place of the file a folder, a pipe nobody writes, and more than any file of
 * phrases holds: each is said in a line, and the shipped ones are in force. */
static void test_what_is_no_file(void **state)
{
    struct home *home = *state;
    char path[160], big[70000];

    snprintf(path, sizeof path, "%s/.config/wetside/phrases.en", home->folder);
    assert_int_equal(mkdir(path, 0700), 0);
    assert_loads("en", "en", "{tank}, {film}, rest", WS_IO);
    assert_int_equal(rmdir(path), 0);
    assert_int_equal(mkfifo(path, 0600), 0);
    assert_loads("en", "en", "{tank}, {film}, rest", WS_IO);
    assert_int_equal(unlink(path), 0);
    memset(big, '\n', sizeof big);
    memcpy(big, "rest: x", 7);
    big[sizeof big - 1] = '\0';
    write_file(home, ".config/wetside/phrases.en", big);
    assert_loads("en", "en", "{tank}, {film}, rest", WS_IO);
}

static void gather(void *self, const char *line)
{
    char *file = self;

    assert_true(strlen(file) + strlen(line) + 2 < 16384);
    strcat(strcat(file, line), "\n");
}

/* Method: what is printed is read again over English and must be the same, with texts of one's own
 * and without; unchanged it is the shipped file to the byte. */
static void test_printed_is_read_again(void **state)
{
    static char file[16384];
    struct ws_phrases out, again;

    (void)state;
    for (int own = 0; own < 2; own++) {
        ws_phrases_shipped("de", &out);
        if (own) {
            strcpy(out.text[WS_PHRASE_STOP], "Zitrone: frisch");
            strcpy(out.text[WS_PHRASE_WASH], "");
        }
        file[0] = '\0';
        ws_phrases_print(&out, gather, file);
        ws_phrases_shipped("en", &again);
        assert_int_equal(ws_phrases_check(file, strlen(file), "f", &again, no_fault, NULL), WS_OK);
        for (int i = 0; i < WS_PHRASES; i++)
            assert_string_equal(again.text[i], out.text[i]);
        assert_int_equal(strcmp(file, (const char *)ws_data_phrases_de) == 0, !own);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shipped_files_are_sound_and_whole),
        cmocka_unit_test(test_languages),
        cmocka_unit_test(test_the_manual_names_every_phrase),
        cmocka_unit_test(test_baths_have_names),
        cmocka_unit_test(test_what_is_said),
        cmocka_unit_test(test_names_are_made_speakable),
        cmocka_unit_test(test_words_with_nothing_to_say),
        cmocka_unit_test(test_no_end_and_no_cut_character),
        cmocka_unit_test(test_each_fault_has_one_line),
        cmocka_unit_test(test_lengths_and_blanks),
        cmocka_unit_test(test_the_one_line),
        cmocka_unit_test(test_random_files),
        cmocka_unit_test_setup_teardown(test_which_are_in_force, begin, end),
        cmocka_unit_test_setup_teardown(test_what_is_no_file, begin, end),
        cmocka_unit_test(test_printed_is_read_again),
    };

    return cmocka_run_group_tests_name("phrases", tests, NULL, NULL);
}
