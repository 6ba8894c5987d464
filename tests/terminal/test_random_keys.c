/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A palm, a cat, a broken line: the real program typed at by chance in every room.
 *
 * Method: the program of this build (under the sanitizers in `make check`) runs in a pty on a copy
 * of the demo's book. Keys by chance come in bursts: letters and digits, Enter, arrows, control
 * keys, sequences whole and cut, UTF-8 whole and cut, mouse, pasted text, zeros; between them the
 * window is given other sizes, down to one cell. Some keys come more often, so that a run is begun
 * now and then. Then it is ended, by its own keys or by SIGTERM, and must be gone within five
 * seconds; no sanitizer has complained, the terminal is as it was and got nothing but clean text,
 * and the book is sound. Every other round goes on with the book of the one before, and most books
 * begin with a run that was left open, some with film in the open.
 *
 * In `make torture` it goes on for WETSIDE_SECONDS (600 where it is not set). WETSIDE_CASE and
 * WETSIDE_SEED repeat a round as far as a clock that goes by itself allows. */
#include <locale.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include "aid.h"

#include "../fault/torture.h"
#include "book.h"
#include "hostile.h"
#include "pty.h"
#include "wetside/book/book.h"

enum {
    ROUNDS = 8,
    BURSTS = 150,
    TYPED_BYTES = 1 << 16,
    ENDS_WITHIN_MS = 5000,
    SECONDS = 600,
    DEMO_AGAIN = 2 /* so many rounds on one book */
};

static char folder[FOLDER_BYTES], path[BOOK_BYTES];
static uint64_t seed;
static bool hostile; /* the book was filled past all checks: it is no sound one */

static uint32_t chance(uint32_t below)
{
    uint64_t z = seed += UINT64_C(0x9E3779B97F4A7C15); /* splitmix64, Steele et al. 2014 */

    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return (uint32_t)((z ^ (z >> 31)) >> 32) % below;
}

/* ---- the book ---- */

static void fresh_book(int how)
{
    struct ws_book *book;

    folder_remove(folder);
    folder_make(folder, path);
    book = book_of_the_demo(path);
    if (how % 3 != 0)
        book_leave_open(book, "Tank A", how % 3 == 2, 40);
    if (how % 5 == 4)
        book_leave_open(book, "Tank B", false, 4000);
    ws_book_close(book);
    hostile = how % 4 == 3;
    if (hostile)
        hostile_book(path, how % 8 == 7);
}

static void check_book(const char *name)
{
    struct ws_book *book = NULL;
    struct ws_message why = { "" };

    if (ws_book_open(path, WS_BOOK_WRITE, &book, &why) != WS_OK ||
        ws_book_check(book, &why) != WS_OK)
        torture_wrong(name, "the book is not sound: %s", why.text);
    ws_book_close(book);
}

/* ---- keys ---- */

struct typed {
    char bytes[TYPED_BYTES];
    size_t length;
    char story[4 * TYPED_BYTES]; /* the same with sizes, to be read */
    size_t told;
};

static void tell(struct typed *typed, const char *text)
{
    size_t length = strlen(text);

    if (typed->told + length + 1 < sizeof typed->story) {
        memcpy(typed->story + typed->told, text, length + 1);
        typed->told += length;
    }
}

static size_t put(char *to, const char *text)
{
    memcpy(to, text, strlen(text));
    return strlen(text);
}

/* One key, or what stands for one; at most 64 bytes. */
static size_t some_key(char *to)
{
    static const char *const usual[] = {
        "\r", "\r", "\r", " ", " ", "\033[A", "\033[B", "\033[B", "\t", "\033", "\177",
        "1",  "2",  "3",  "4", "5", "6",      "7",      "y",      "n",  "?",    "d",
        "r",  "/",  "l",  "v", "b", "e",      "+",      "i",      "u",  "t",
    };
    static const char *const odd[] = {
        "\033OA",
        "\033OP",
        "\033[15~",
        "\033[1;5C",
        "\033[Z",
        "\033[200~\033[201~",
        "\033[200~paste\r\n\033[201~",
        "\033[<0;10;5M",
        "\033[M !!",
        "\033[I",
        "\033[O",
        "\033]0;title\a",
        "\033P1$r\033\\",
        "\033[",
        "\033[1;",
        "\033O",
        "\033[?1;2c",
        "\033[24;80R",
        "\033[999999999999A",
        "\xC3\xA4",
        "\xE6\x9A\x97",
        "\xF0\x9F\x8E\x9E",
        "\xE2\x82",
        "\xC3",
        "\xFF\xFE",
        "\302\2332J",
        "\xCC\x81",
        "\xE2\x80\xAE",
        "\xED\xA0\x80",
        "\xF4\x90\x80\x80",
        "7:30",
        "20C",
        "1+31",
        "1:4",
        "300",
        "68F",
        "-1",
        "99999999999",
        "Tarn 125",
        "\003",
        "\032",
        "\023",
        "\034",
        "\021",
        "\025",
        "\f",
        "\b",
        "\033\033",
    };
    uint32_t kind = chance(100);

    if (kind < 55)
        return put(to, usual[chance(sizeof usual / sizeof *usual)]);
    if (kind < 75)
        return put(to, odd[chance(sizeof odd / sizeof *odd)]);
    if (kind < 94)
        to[0] = (char)(' ' + chance(95));
    else if (kind < 97)
        to[0] = (char)chance(32);
    else
        to[0] = (char)chance(256);
    return to[0] == 'q' ? 0 : 1;
}

static void note_key(struct typed *typed, const char *key, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        unsigned char byte = (unsigned char)key[i];
        char text[8];

        if (byte >= ' ' && byte < 0x7F && byte != '\\')
            snprintf(text, sizeof text, "%c", byte);
        else
            snprintf(text, sizeof text, "\\%03o", byte);
        tell(typed, text);
    }
}

static void resize(struct pty *pty, struct typed *typed)
{
    static const int sizes[][2] = { { 24, 80 }, { 12, 40 }, { 1, 1 },
                                    { 2, 3 },   { 4, 16 },  { 100, 300 } };
    uint32_t which = chance(9);
    int lines = which < 6 ? sizes[which][0] : 1 + (int)chance(60);
    int columns = which < 6 ? sizes[which][1] : 1 + (int)chance(200);
    char text[32];

    snprintf(text, sizeof text, "<size %dx%d>", columns, lines);
    tell(typed, text);
    pty_resize(pty, lines, columns);
}

/* `q` comes alone: what is typed behind it may find the terminal given back already, and a control
 * key then ends what is still closing the book, as it should. */
static bool leave(struct pty *pty, struct typed *typed)
{
    struct termios modes;

    tell(typed, "q\n");
    if (!pty_type(pty, "q", 1))
        return false;
    pty_await_end(pty, 300);
    return !pty->ended && tcgetattr(pty->slave, &modes) == 0 && (modes.c_lflag & ICANON) == 0;
}

/* False: the program has ended. */
static bool burst(struct pty *pty, struct typed *typed)
{
    char keys[2048];
    size_t length = 0;

    if (chance(300) == 0)
        return leave(pty, typed);
    for (uint32_t n = 1 + chance(24); n > 0; n--) {
        size_t one = some_key(keys + length);

        note_key(typed, keys + length, one);
        length += one;
    }
    tell(typed, "\n");
    if (!pty_type(pty, keys, length))
        return false;
    /* Some bursts are answered before the next, some are not. */
    pty_read(pty, (int)chance(4) * 15);
    if (chance(5) == 0)
        resize(pty, typed);
    return !pty->ended;
}

/* ---- a round ---- */

static const struct {
    const char *term, *locale;
} looks[] = {
    { "TERM=xterm-256color", "LC_ALL=C.UTF-8" },
    { "TERM=linux", "LC_ALL=C" },
    { "TERM=screen-256color", "LC_ALL=C.UTF-8" },
    { "TERM=vt100", "LC_ALL=C.UTF-8" },
};

static void start(struct pty *pty)
{
    const char *const word[] = { "--book", path, NULL };
    uint32_t look = chance(sizeof looks / sizeof *looks);
    char home[128], temporary[128];
    const char *setting[] = { home, temporary, looks[look].term, looks[look].locale, "TZ=UTC",
                              /* Nothing of this machine is asked to keep it awake. */
                              "PATH=/nowhere", "WETSIDE_SOUND=none", NULL };

    snprintf(home, sizeof home, "HOME=%s", folder);
    snprintf(temporary, sizeof temporary, "TMPDIR=%s", folder);
    pty_start(pty, 24, 80, word, setting);
}

static bool press(struct pty *pty, const char *key, int64_t then_ms)
{
    return pty_type(pty, key, 1) && !pty_await_end(pty, then_ms);
}

/* As a hand would leave: each key alone, out of fields, lists and questions; in black the light
 * comes first, by two keys seconds apart. */
static bool end_by_keys(struct pty *pty)
{
    enum { ALONE_MS = 900, LIGHT_MS = 3200, TRIES = 3 };

    for (int i = 0; i < TRIES; i++)
        if (!press(pty, "\033", ALONE_MS) || !press(pty, "q", ALONE_MS) ||
            !press(pty, "y", ALONE_MS) || !press(pty, "\033", LIGHT_MS) ||
            !press(pty, "\r", ALONE_MS))
            break;
    return pty_await_end(pty, 100);
}

static void keep_story(const char *name, const struct typed *typed, const struct pty *pty)
{
    size_t from = pty->length > 3000 ? pty->length - 3000 : 0;

    fprintf(stderr, "---- typed in %s\n%s\n---- the last it sent\n", name, typed->story);
    fwrite(pty->seen + from, 1, pty->length - from, stderr);
    fputc('\n', stderr);
}

static bool complained(const struct pty *pty)
{
    return pty->length > 0 && (memmem(pty->seen, pty->length, "Sanitizer", 9) != NULL ||
                               memmem(pty->seen, pty->length, "runtime error", 13) != NULL ||
                               memmem(pty->seen, pty->length, "can't happen", 12) != NULL);
}

static struct {
    long rounds, by_keys, by_itself, in_runs, keys;
} sums;

static void play(const char *name)
{
    static struct typed typed;
    struct pty pty;
    const char *changed, *wrong;
    size_t at = 0;
    int before = torture_wrongs(), status;
    bool by_signal = false;

    typed.told = 0;
    typed.story[0] = '\0';
    start(&pty);
    pty_until(&pty, 0, "\033[");
    for (int i = 0; i < BURSTS && burst(&pty, &typed); i++)
        continue;
    sums.keys += (long)typed.told;
    sums.in_runs += pty.length > 0 && memmem(pty.seen, pty.length, "bath ", 5) != NULL;
    if (pty.ended)
        sums.by_itself++;
    if (!pty.ended && chance(3) == 0 && end_by_keys(&pty))
        sums.by_keys++;
    if (!pty.ended) {
        by_signal = true;
        kill(pty.child, SIGTERM);
        if (!pty_await_end(&pty, ENDS_WITHIN_MS))
            torture_wrong(name, "it does not end by SIGTERM");
    }
    while (pty_read(&pty, 0))
        continue;
    status = WIFEXITED(pty.status) ? WEXITSTATUS(pty.status) : -1;
    if (pty.ended && status != (by_signal ? 128 + SIGTERM : 0))
        torture_wrong(name, "it ended with %x", (unsigned)pty.status);
    if (complained(&pty))
        torture_wrong(name, "a sanitizer complained");
    changed = pty_changed(&pty);
    wrong = hostile_seen(pty.seen, pty.length, &at);
    if (wrong != NULL)
        torture_wrong(name, "it sent %s, at byte %zu", wrong, at);
    if (pty.ended && changed != NULL)
        torture_wrong(name, "the terminal: %s", changed);
    if (pty.ended && !hostile)
        check_book(name);
    if (torture_wrongs() > before)
        keep_story(name, &typed, &pty);
    sums.rounds++;
    pty_close(&pty);
}

static void it_lives_and_ends(void **state)
{
    const char *asked = getenv("WETSIDE_SECONDS");
    int64_t until_ms = pty_now_ms() + 1000 * (asked != NULL ? atoll(asked) : SECONDS);
    uint64_t first = torture_seed();

    (void)state;
    for (long round = 0; torture() ? pty_now_ms() < until_ms : round < ROUNDS; round++) {
        char name[32];

        snprintf(name, sizeof name, "round %ld", round);
        if (round % DEMO_AGAIN == 0 || torture_alone())
            fresh_book((int)(round / DEMO_AGAIN));
        seed = first + (uint64_t)round * 1000003;
        if (torture_wants(name))
            play(name);
        if (torture_wrongs() > 3)
            break;
    }
    folder_remove(folder);
    torture_figure("%ld rounds, %ld of them in a run, %ld ended by their own keys, %ld more in the "
                   "middle of them, %ld bytes of keys",
                   sums.rounds, sums.in_runs, sums.by_keys, sums.by_itself, sums.keys);
    assert_int_equal(torture_wrongs(), 0);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_lives_and_ends),
    };

    (void)argc;
    setlocale(LC_ALL, "C.UTF-8");
    torture_begin(argv[0]);
    return cmocka_run_group_tests_name("random keys", tests, NULL, NULL);
}
