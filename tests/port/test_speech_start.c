/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How the voice of espeak-ng starts: where it or its data is missing, and what its start must not
 * do to others: no word on the screen, no sound device, no other thread's locale changed.
 *
 * The library starts once for a process, so each test is done in a child of its own. What goes
 * wrong there is told on the test's standard output. */
#include "aid.h"

#include <dirent.h>
#include <fcntl.h>
#include <langinfo.h>
#include <locale.h>
#include <poll.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>
#include <wchar.h>

#include "../../src/port/voice.h"
#include "wetside/port/speech.h"
#include "wetside/port/text.h"

enum { PATIENCE_MS = 20000 };

static char folder[64];

/* Ends the child when `is` is false. */
#define must(is)                                                                                   \
    do {                                                                                           \
        if (!(is)) {                                                                               \
            dprintf(told, "line %d: %s\n", __LINE__, #is);                                         \
            _exit(1);                                                                              \
        }                                                                                          \
    } while (0)

/* Where a child tells what went wrong; its own output is looked at. */
static int told = 1;

static void in_child(void (*what)(void))
{
    int status = -1;
    pid_t child;

    fflush(NULL);
    child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        told = fcntl(1, F_DUPFD_CLOEXEC, 10);
        alarm(60);
        what();
        _exit(0);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0)
        fail_msg("the child ended with %#x", (unsigned)status);
}

static struct ws_speech *start(const char *language)
{
    struct ws_speech *speech = NULL;

    must(ws_speech_start(language, &speech, NULL) == WS_OK);
    return speech;
}

static enum ws_speech_state wait_for_state(struct ws_speech *speech, struct ws_message *why)
{
    while (ws_speech_state(speech, why) == WS_SPEECH_STARTING) {
        struct pollfd ready = { .fd = ws_speech_fd(speech), .events = POLLIN };

        must(poll(&ready, 1, PATIENCE_MS) == 1);
        ws_speech_seen(speech);
    }
    return ws_speech_state(speech, why);
}

static int wait_for(struct ws_speech *speech, const char *text)
{
    ws_speech_want(speech, text);
    while (ws_speech_frames(speech, text) == 0) {
        struct pollfd ready = { .fd = ws_speech_fd(speech), .events = POLLIN };

        must(poll(&ready, 1, PATIENCE_MS) == 1);
        ws_speech_seen(speech);
    }
    return ws_speech_frames(speech, text);
}

/* There is no voice, the line says `says`, and it is one line. */
static void must_be_none(const char *language, const char *says)
{
    struct ws_message why = { "" };
    struct ws_speech *speech = start(language);

    must(wait_for_state(speech, &why) == WS_SPEECH_NONE);
    if (strstr(why.text, says) == NULL)
        dprintf(told, "no '%s' in: %s\n", says, why.text);
    must(strstr(why.text, says) != NULL);
    must(strchr(why.text, '\n') == NULL);
    ws_speech_stop(speech);
}

static void must_speak(const char *language)
{
    struct ws_message why = { "" };
    struct ws_speech *speech = start(language);

    if (wait_for_state(speech, &why) != WS_SPEECH_READY)
        dprintf(told, "%s\n", why.text);
    must(ws_speech_state(speech, NULL) == WS_SPEECH_READY);
    must(wait_for(speech, "one") > 1000);
    ws_speech_stop(speech);
}

/* A file in place of the child's output; it must stay empty. */
static void look_at_output(void)
{
    char path[128];
    int file;

    snprintf(path, sizeof path, "%s/printed", folder);
    file = open(path, O_RDWR | O_CREAT | O_TRUNC, 0600);
    must(file >= 0 && dup2(file, 1) == 1 && dup2(file, 2) == 2);
    close(file);
}

static void must_be_silent(void)
{
    char printed[200] = "";

    fflush(NULL);
    must(lseek(1, 0, SEEK_SET) == 0);
    if (read(1, printed, sizeof printed - 1) > 0)
        dprintf(told, "printed: %s\n", printed);
    must(printed[0] == '\0');
}

/* ---- what is missing ------------------------------------------------------------------------- */

/* Method: a name no library has; then its own again, which speaks. */
static void without_library(void)
{
    look_at_output();
    ws_espeak_name("libno-such-voice.so.1");
    must_be_none("en", "libno-such-voice.so.1 can't be loaded");
    must_be_silent();
    ws_espeak_name(NULL);
    must_speak("en");
}

/* Method: another library's name: it loads, and has no such calls. */
static void another_library(void)
{
    look_at_output();
    ws_espeak_name("libm.so.6");
    must_be_none("en", "libm.so.6 is too old, it has no espeak");
    must_be_silent();
}

/* Method: its data is looked for in an empty folder; then where it is. */
static void without_data(void)
{
    look_at_output();
    setenv("ESPEAK_DATA_PATH", folder, 1);
    must_be_none("en", folder);
    must_be_none("en", "espeak-ng-data");
    must_be_silent();
    unsetenv("ESPEAK_DATA_PATH");
    must_speak("en");
}

/* Where the library has its data: as it says after a start. */
static void find_data(char path[256])
{
    static const char *const place[] = { "/usr/lib/x86_64-linux-gnu",
                                         "/usr/lib/aarch64-linux-gnu",
                                         "/usr/lib/arm-linux-gnueabihf",
                                         "/usr/share",
                                         "/usr/lib",
                                         "/usr/local/share" };
    struct stat found;

    for (size_t i = 0; i < sizeof place / sizeof place[0]; i++) {
        snprintf(path, 256, "%s/espeak-ng-data", place[i]);
        if (stat(path, &found) == 0)
            return;
    }
    path[0] = '\0';
}

/* Method: all of its data but the words of any language; the library would print of each. */
static void without_words(void)
{
    char data[256], path[600], to[600];
    struct dirent *entry;
    DIR *dir;

    find_data(data);
    if (data[0] == '\0')
        return; /* installed at an unusual place */
    snprintf(path, sizeof path, "%s/espeak-ng-data", folder);
    must(mkdir(path, 0700) == 0);
    dir = opendir(data);
    must(dir != NULL);
    while ((entry = readdir(dir)) != NULL) {
        snprintf(to, sizeof to, "%s/%s", data, entry->d_name);
        snprintf(path, sizeof path, "%s/espeak-ng-data/%s", folder, entry->d_name);
        must(entry->d_name[0] == '.' || strstr(entry->d_name, "_dict") != NULL ||
             symlink(to, path) == 0);
    }
    closedir(dir);
    look_at_output();
    setenv("ESPEAK_DATA_PATH", folder, 1);
    must_be_none("en", "no voice for 'en'");
    must_be_none("de", "no voice for 'de'");
    must_be_silent();
}

/* Method: a language nobody speaks, and after it one that is there, and a kind of it that has no
 * voice of its own; a name with a path in it. */
static void unknown_language(void)
{
    look_at_output();
    must_be_none("xx", "no voice for 'xx'");
    must_be_none("../../x", "no voice for '../../x'");
    must_be_none("", "no voice for ''");
    must_speak("de");
    must_speak("de-zz");
    must_be_silent();
}

/* Method: two at once: the second has no voice and says so; once the first is gone, a third has. */
static void one_at_a_time(void)
{
    struct ws_speech *first = start("en");

    must(wait_for_state(first, NULL) == WS_SPEECH_READY);
    must_be_none("de", "busy");
    must(wait_for(first, "one") > 1000);
    ws_speech_stop(first);
    must_speak("de");
}

/* ---- what it must not do --------------------------------------------------------------------- */

/* Method: a sound server's socket at which nobody answers: who opened a device would have come to
 * it, and waited. */
static void no_device_is_opened(void)
{
    struct sockaddr_un address = { .sun_family = AF_UNIX };
    int server = socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    char name[160];

    snprintf(address.sun_path, sizeof address.sun_path, "%s/pulse", folder);
    must(bind(server, (struct sockaddr *)&address, sizeof address) == 0);
    must(listen(server, 8) == 0);
    snprintf(name, sizeof name, "unix:%s", address.sun_path);
    setenv("PULSE_SERVER", name, 1);
    setenv("XDG_RUNTIME_DIR", folder, 1);
    must_speak("en");
    must_speak("de");
    must(accept(server, NULL, NULL) < 0);
}

/* What the locale says of characters, asked over and over. */
struct reader {
    atomic_bool stop;
    atomic_int wrong, asked;
    bool utf8;
};

static bool is_as_it_was(const struct reader *reader)
{
    mbstate_t state;
    wchar_t wide = 0;
    size_t used;

    memset(&state, 0, sizeof state);
    used = mbrtowc(&wide, "\xc3\xa4", 2, &state);
    if (!reader->utf8)
        return used == (size_t)-1 && strcmp(nl_langinfo(CODESET), "UTF-8") != 0;
    return used == 2 && wide == 0xE4 && wcwidth(0xE4) == 1 && wcwidth(0x3042) == 2 &&
           strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
}

static void *read_on(void *self)
{
    struct reader *reader = self;

    ws_text_own_locale();
    while (!atomic_load(&reader->stop)) {
        if (!is_as_it_was(reader))
            atomic_fetch_add(&reader->wrong, 1);
        atomic_fetch_add(&reader->asked, 1);
    }
    ws_text_share_locale();
    return NULL;
}

/* Starts and stops speech twenty times in the locale `name` while another thread reads. */
static void read_while_it_starts(const char *name, bool utf8)
{
    struct reader reader = { .utf8 = utf8 };
    pthread_t thread;

    must(setlocale(LC_CTYPE, name) != NULL);
    must(is_as_it_was(&reader));
    must(pthread_create(&thread, NULL, read_on, &reader) == 0);
    while (atomic_load(&reader.asked) < 100)
        must(atomic_load(&reader.wrong) == 0);
    for (int i = 0; i < 20; i++)
        must_speak(i % 2 == 0 ? "en" : "de");
    atomic_store(&reader.stop, true);
    pthread_join(thread, NULL);
    must(atomic_load(&reader.wrong) == 0);
    must(strcmp(setlocale(LC_CTYPE, NULL), name) == 0);
    /* A locale of the other kind would have been seen. */
    reader.utf8 = !utf8;
    must(!is_as_it_was(&reader));
}

static void locale_of_c(void)
{
    read_while_it_starts("C", false);
}

/* A German one where there is one. */
static void locale_with_utf8(void)
{
    static const char *const name[] = { "de_DE.UTF-8", "de_DE.utf8", "C.UTF-8" };
    size_t i = 0;

    while (i < 2 && setlocale(LC_CTYPE, name[i]) == NULL)
        i++;
    read_while_it_starts(name[i], true);
}

/* ---- ----------------------------------------------------------------------------------------- */

static void built_without(void)
{
    must_be_none("en", "built without");
}

#define IN_CHILD(name)                                                                             \
    static void test_##name(void **state)                                                          \
    {                                                                                              \
        (void)state;                                                                               \
        if (!ws_speech_built())                                                                    \
            skip();                                                                                \
        in_child(name);                                                                            \
    }
IN_CHILD(without_library)
IN_CHILD(another_library)
IN_CHILD(without_data)
IN_CHILD(without_words)
IN_CHILD(unknown_language)
IN_CHILD(one_at_a_time)
IN_CHILD(no_device_is_opened)
IN_CHILD(locale_of_c)
IN_CHILD(locale_with_utf8)

static void test_built_without(void **state)
{
    (void)state;
    if (ws_speech_built())
        skip();
    in_child(built_without);
}

static int begin(void **state)
{
    const char *base = getenv("TMPDIR");

    (void)state;
    snprintf(folder, sizeof folder, "%.30s/wetside-say-XXXXXX",
             base != NULL && base[0] != '\0' ? base : "/tmp");
    return mkdtemp(folder) != NULL ? 0 : -1;
}

static int end(void **state)
{
    char command[100];

    (void)state;
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command);
}

#define TEST(name) cmocka_unit_test_setup_teardown(test_##name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(without_library),     TEST(another_library),  TEST(without_data),
        TEST(without_words),       TEST(unknown_language), TEST(one_at_a_time),
        TEST(no_device_is_opened), TEST(locale_of_c),      TEST(locale_with_utf8),
        TEST(built_without),
    };

    return cmocka_run_group_tests_name("speech_start", tests, NULL, NULL);
}
