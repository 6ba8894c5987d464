/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The device, by listening: a plug-in of ALSA takes what is played at the pace of the clock and
 * writes it down; it can also hang, stand still and vanish. */
#include "aid.h"

#include <dlfcn.h>
#include <poll.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "aid_hear.h"
#include "aid_listen.h"
#include "wetside/port/alsa.h"

enum { MS = 1000000, VOICE = 217 };

/* Latency is not what is tested here but that nothing is lost or late by what a person would
 * notice, on a machine that may be busy with other things. */
enum { LATE_MS = 250 };

struct rig {
    struct listen_place place;
    struct ws_alsa *alsa;
    struct ws_sound sound;
    struct ws_message why;
    struct listened heard;
    struct hear_note note[HEAR_NOTES];
    int notes;
};

/* ---- a player as the program has one ---- */

static int begin(void **state)
{
    struct rig *rig = calloc(1, sizeof *rig);

    *state = rig;
    if (!ws_alsa_built())
        return 0;
    assert_true(listen_begin(&rig->place));
    assert_int_equal(ws_alsa_new("listen", &rig->alsa, &rig->sound, &rig->why), WS_OK);
    return 0;
}

static int end(void **state)
{
    struct rig *rig = *state;

    if (ws_alsa_built()) {
        rig->sound.close(rig->sound.self);
        ws_alsa_free(rig->alsa);
        listen_end(&rig->place);
    }
    listened_free(&rig->heard);
    free(rig);
    return 0;
}

static void open_device(struct rig *rig)
{
    char name[64];

    if (!ws_alsa_built())
        skip();
    assert_int_equal(rig->sound.open(rig->sound.self, name, sizeof name, &rig->why), WS_OK);
    assert_string_equal(name, "ALSA listen");
    assert_int_equal(rig->sound.fds(rig->sound.self, (struct pollfd[WS_SOUND_FDS]){ { 0 } }, 8), 0);
}

/* Feeds as the sound's thread does, until a moment; until_ns 0: until all is silent. */
static enum ws_status feed_until(struct rig *rig, int64_t until_ns)
{
    enum ws_status status = WS_OK;

    while (status == WS_OK) {
        struct pollfd fds[WS_SOUND_FDS];
        int n = rig->sound.fds(rig->sound.self, fds, WS_SOUND_FDS);
        int64_t left_ns = until_ns != 0 ? until_ns - listen_now_ns() : INT64_MAX;

        if (left_ns <= 0 || (n == 0 && until_ns == 0))
            break;
        if (poll(fds, (nfds_t)n, until_ns != 0 ? (int)(left_ns / MS) + 1 : -1) > 0)
            status = rig->sound.feed(rig->sound.self, &rig->why);
    }
    return status;
}

static enum ws_status play(struct rig *rig, const struct ws_sounding *what)
{
    rig->sound.play(rig->sound.self, what);
    return rig->sound.feed(rig->sound.self, &rig->why);
}

static enum ws_status play_cue(struct rig *rig, enum ws_cue_kind kind, int tank)
{
    return play(rig, &(struct ws_sounding){ .kind = kind, .tank = tank, .volume_percent = 100 });
}

static void listen(struct rig *rig)
{
    listened_free(&rig->heard);
    listen_read(&rig->place, &rig->heard);
    rig->notes = hear_notes(rig->heard.frame, rig->heard.frames, rig->note, HEAR_NOTES);
    assert_true(rig->notes < HEAR_NOTES);
}

/* A moment of the clock on the tape, ms. */
static double on_tape(const struct rig *rig, int64_t at_ns)
{
    return (double)(at_ns - rig->heard.from_ns) / MS;
}

static bool one_line(const struct ws_message *why)
{
    return why->text[0] != '\0' && strchr(why->text, '\n') == NULL;
}

/* ---- what is heard ---- */

struct planned {
    enum ws_cue_kind kind;
    int tank;
    int64_t at_ns;
};

static void play_plan(struct rig *rig, struct planned *plan, int cues)
{
    for (int i = 0; i < cues; i++) {
        plan[i].at_ns = listen_now_ns();
        assert_int_equal(play_cue(rig, plan[i].kind, plan[i].tank), WS_OK);
        assert_int_equal(feed_until(rig, 0), WS_OK);
    }
}

/* The cue whose notes begin at `first`: by its rhythm alone it is what was planned, each note is as
 * high as it should be, and it began when it was played. Returns its notes. */
static int is_as_planned(const struct rig *rig, int first, const struct planned *plan)
{
    struct ws_note want[WS_TONE_NOTES];
    int n = ws_tone_notes(plan->kind, plan->tank, want), tank = -1;
    enum ws_cue_kind kind = WS_CUE_KINDS;
    double late_ms = rig->note[first].from_ms - on_tape(rig, plan->at_ns);

    assert_true(first + n <= rig->notes);
    assert_int_equal(hear_which(rig->note + first, n, 12, &kind, &tank), 1);
    assert_int_equal(kind, plan->kind);
    assert_int_equal(tank, plan->tank);
    for (int i = 0; i < n; i++)
        ws_assert_near(rig->note[first + i].hz, want[i].hz, 0.01 * want[i].hz);
    assert_true(late_ms >= 0 && late_ms < LATE_MS);
    return n;
}

/* Method: the cues of a bath with two tanks, each played when the device has come to rest. On the
 * tape: the right cue in the right rhythm at its moment, without clicks or clipping, exact silence
 * between; the device runs once for each and stands still between them. On a machine so busy that
 * the device ran dry meanwhile, more is kept ahead from then on, and the whole is played again. */
static void test_a_schedule_is_heard(void **state)
{
    struct planned plan[] = {
        { WS_CUE_GET_READY, 0, 0 },     { WS_CUE_POUR_IN, 0, 0 },  { WS_CUE_AGITATE, 1, 0 },
        { WS_CUE_INVERT, 1, 0 },        { WS_CUE_INVERT, 0, 0 },   { WS_CUE_REST, 0, 0 },
        { WS_CUE_READY_TO_POUR, 1, 0 }, { WS_CUE_POUR_OUT, 1, 0 }, { WS_CUE_OVERTIME, 0, 0 },
    };
    const int cues = sizeof plan / sizeof plan[0];
    struct rig *rig = *state;
    double late_ms = 0;
    int at = 0;

    open_device(rig);
    for (int times = 0; times < 5; times++) {
        listen_clear(&rig->place);
        play_plan(rig, plan, cues);
        listen(rig);
        if (rig->heard.count[LISTEN_RAN_DRY] == 0)
            break;
    }
    assert_int_equal(rig->heard.count[LISTEN_RAN_DRY], 0);
    for (int i = 0; i < cues; i++) {
        late_ms = fmax(late_ms, rig->note[at].from_ms - on_tape(rig, plan[i].at_ns));
        at += is_as_planned(rig, at, &plan[i]);
    }
    assert_int_equal(at, rig->notes);
    print_message("latest onset %.1f ms after it was played\n", late_ms);
    assert_true(hear_click(rig->heard.frame, rig->heard.frames) < HEAR_CLICK);
    assert_true(hear_step(rig->heard.frame, rig->heard.frames) < HEAR_STEEPEST);
    for (int i = 0; i < rig->heard.frames; i++)
        assert_true(abs(rig->heard.frame[i]) <= 0.91 * 32768);
    for (int i = 1; i < rig->notes; i++) {
        int from = ws_tone_frames((int)(rig->note[i - 1].from_ms + rig->note[i - 1].length_ms) + 4);
        int to = ws_tone_frames((int)rig->note[i].from_ms - 3);

        for (int f = from; f < to; f++)
            assert_int_equal(rig->heard.frame[f], 0);
    }
    assert_int_equal(rig->heard.runs, cues);
    assert_int_equal(rig->heard.count[LISTEN_STARTED], cues);
    assert_int_equal(rig->heard.count[LISTEN_STOPPED], cues);
}

/* Method: the tape ends no sooner than the note does: the last samples of each run of the device
 * are silence, 50 ms of it and not much more than the gap and what was ahead. */
static void test_the_last_note_is_not_cut(void **state)
{
    struct rig *rig = *state;
    int last, silent = 0;

    open_device(rig);
    assert_int_equal(play_cue(rig, WS_CUE_AGITATE, 0), WS_OK);
    assert_int_equal(feed_until(rig, 0), WS_OK);
    listen(rig);
    last = rig->heard.run[rig->heard.runs - 1].from + rig->heard.run[rig->heard.runs - 1].frames;
    for (int f = last - 1; f >= 0 && rig->heard.frame[f] == 0; f--)
        silent++;
    assert_true(silent >= ws_tone_frames(50));
    assert_true(silent <= ws_tone_frames(250 + LATE_MS));
}

/* How late words are that were to be heard 700 ms after a tick was played. */
static double words_late_ms(struct rig *rig, const int16_t *said, int frames)
{
    struct ws_sounding what = {
        .kind = WS_CUE_INVERT, .volume_percent = 100, .said = said, .said_frames = frames
    };
    struct timespec boot;
    int64_t at_ns = listen_now_ns() + 700 * MS;

    clock_gettime(CLOCK_BOOTTIME, &boot);
    what.said_not_before_boot_ns = boot.tv_sec * 1000000000LL + boot.tv_nsec + 700 * MS;
    listen_clear(&rig->place);
    assert_int_equal(play(rig, &what), WS_OK);
    assert_int_equal(feed_until(rig, 0), WS_OK);
    listen(rig);
    if (rig->heard.count[LISTEN_RAN_DRY] == 0) {
        assert_int_equal(rig->notes, 2);
        ws_assert_near(rig->note[1].hz, VOICE, 3);
    }
    return rig->note[1].from_ms - on_tape(rig, at_ns);
}

/* Method: words that have a moment are heard then and not when they are written, which is 40 ms
 * sooner: a number in them would be false. On a busy machine the reading of the clock may be late;
 * one time of four must come out. */
static void test_words_come_at_their_moment(void **state)
{
    static int16_t said[WS_SOUND_HZ / 2];
    struct rig *rig = *state;
    double late_ms = 1000;

    for (int i = 0; i < WS_SOUND_HZ / 2; i++)
        said[i] = (int16_t)lround(20000 * sin(6.283185307 * VOICE * i / WS_SOUND_HZ));
    open_device(rig);
    for (int times = 0; times < 4 && fabs(late_ms) > 10; times++)
        late_ms = words_late_ms(rig, said, WS_SOUND_HZ / 2);
    print_message("words %.1f ms after their moment\n", late_ms);
    ws_assert_near(late_ms, 0, 10);
}

/* Method: a press in the middle of a long note: it is heard no longer than what the device held and
 * the soft edge; no click. */
static void test_hush_is_heard_soon(void **state)
{
    struct rig *rig = *state;
    int64_t at_ns;
    double after_ms;

    open_device(rig);
    assert_int_equal(play_cue(rig, WS_CUE_POUR_IN, 0), WS_OK);
    assert_int_equal(feed_until(rig, listen_now_ns() + 300 * MS), WS_OK);
    at_ns = listen_now_ns();
    rig->sound.hush(rig->sound.self, 0);
    assert_int_equal(feed_until(rig, 0), WS_OK);
    listen(rig);
    after_ms = rig->note[0].from_ms + rig->note[0].length_ms - on_tape(rig, at_ns);
    print_message("silent %.1f ms after hush\n", after_ms);
    assert_true(after_ms < LATE_MS);
    if (rig->heard.count[LISTEN_RAN_DRY] == 0)
        assert_true(hear_click(rig->heard.frame, rig->heard.frames) < HEAR_CLICK);
}

/* Method: closed in the middle of a note: it fades, and nothing clicks. */
static void test_close_is_soft(void **state)
{
    struct rig *rig = *state;

    open_device(rig);
    assert_int_equal(play_cue(rig, WS_CUE_POUR_IN, 0), WS_OK);
    assert_int_equal(feed_until(rig, listen_now_ns() + 200 * MS), WS_OK);
    rig->sound.close(rig->sound.self);
    listen(rig);
    assert_true(rig->notes >= 1);
    assert_true(rig->note[0].length_ms < 800);
    assert_int_equal(rig->heard.count[LISTEN_CLOSED], 1);
    if (rig->heard.count[LISTEN_RAN_DRY] == 0)
        assert_true(hear_click(rig->heard.frame, rig->heard.frames) < HEAR_CLICK);
    /* Without a device nothing is played, and nothing is wrong. */
    assert_int_equal(play_cue(rig, WS_CUE_POUR_IN, 0), WS_OK);
    assert_int_equal(rig->sound.fds(rig->sound.self, (struct pollfd[WS_SOUND_FDS]){ { 0 } }, 8), 0);
}

/* Method: nobody feeds for so long that the device runs dry in the middle of a cue: the rest of it
 * is played all the same, and of the next cue more is kept ahead. */
static void test_running_dry_is_mended(void **state)
{
    struct rig *rig = *state;
    double sounded_ms = 0;
    int ahead;

    open_device(rig);
    listen(rig);
    ahead = rig->heard.ahead;
    assert_true(ahead >= ws_tone_frames(40));
    assert_int_equal(play_cue(rig, WS_CUE_POUR_IN, 0), WS_OK);
    while (poll(NULL, 0, 300) < 0)
        continue;
    assert_int_equal(rig->sound.feed(rig->sound.self, &rig->why), WS_OK);
    assert_int_equal(feed_until(rig, 0), WS_OK);
    assert_int_equal(play_cue(rig, WS_CUE_AGITATE, 0), WS_OK);
    assert_int_equal(feed_until(rig, 0), WS_OK);
    listen(rig);
    assert_true(rig->heard.ahead >= ahead + ws_tone_frames(20) ||
                rig->heard.ahead >= ws_tone_frames(95));
    assert_true(rig->heard.count[LISTEN_RAN_DRY] >= 1);
    for (int i = 0; i < rig->notes; i++)
        sounded_ms += rig->note[i].length_ms;
    ws_assert_near(sounded_ms, 1000 + 2 * 180, 100);
}

/* ---- a device that fails ---- */

/* Method: the device vanishes in the middle of a cue: feed says so in one line, nothing is left to
 * poll, and what is played then is nothing. When it is back it can be opened, and plays. */
static void test_a_device_that_vanishes(void **state)
{
    struct planned next = { WS_CUE_AGITATE, 1, 0 };
    struct rig *rig = *state;
    char name[64] = "";

    if (!ws_alsa_built())
        skip();
    listen_fail(&rig->place, "gone", -1);
    open_device(rig);
    assert_int_equal(play_cue(rig, WS_CUE_POUR_IN, 0), WS_OK);
    assert_int_equal(feed_until(rig, listen_now_ns() + 200 * MS), WS_OK);
    listen_let_fail(&rig->place);
    assert_int_equal(feed_until(rig, 0), WS_IO);
    assert_true(one_line(&rig->why));
    assert_non_null(strstr(rig->why.text, "listen"));
    assert_int_equal(rig->sound.fds(rig->sound.self, (struct pollfd[WS_SOUND_FDS]){ { 0 } }, 8), 0);
    assert_int_equal(play_cue(rig, WS_CUE_POUR_IN, 0), WS_OK);
    assert_int_equal(rig->sound.open(rig->sound.self, name, sizeof name, &rig->why), WS_IO);
    assert_true(one_line(&rig->why));
    listen_fail(&rig->place, NULL, -1);
    listen_clear(&rig->place);
    open_device(rig);
    next.at_ns = listen_now_ns();
    assert_int_equal(play_cue(rig, next.kind, next.tank), WS_OK);
    assert_int_equal(feed_until(rig, 0), WS_OK);
    listen(rig);
    if (rig->heard.count[LISTEN_RAN_DRY] == 0)
        assert_int_equal(is_as_planned(rig, 0, &next), rig->notes);
}

/* Method: a server that was stopped: calls return and no sound is taken. The descriptors to poll
 * wake the caller all the same, and feed says so; opened in that state it is refused. */
static void test_a_device_that_stands_still(void **state)
{
    struct rig *rig = *state;
    char name[64];

    if (!ws_alsa_built())
        skip();
    listen_fail(&rig->place, "still", -1);
    open_device(rig);
    assert_int_equal(play_cue(rig, WS_CUE_POUR_IN, 0), WS_OK);
    listen_let_fail(&rig->place);
    assert_int_equal(feed_until(rig, listen_now_ns() + 10000LL * MS), WS_IO);
    assert_true(one_line(&rig->why));
    assert_int_equal(rig->sound.open(rig->sound.self, name, sizeof name, &rig->why), WS_IO);
    assert_true(one_line(&rig->why));
}

struct hung {
    struct rig *rig;
    _Atomic bool returned;
    enum ws_status status;
};

static void *play_and_hang(void *self)
{
    struct hung *hung = self;

    hung->status = play_cue(hung->rig, WS_CUE_POUR_IN, 0);
    if (hung->status == WS_OK)
        hung->status = feed_until(hung->rig, 0);
    atomic_store(&hung->returned, true);
    return NULL;
}

static void hangs_and_lets_go(struct rig *rig, const char *how)
{
    struct hung hung = { .rig = rig };
    pthread_t thread;
    int pipe_fd[2];

    if (!ws_alsa_built())
        skip();
    assert_int_equal(pipe(pipe_fd), 0);
    listen_fail(&rig->place, how, pipe_fd[0]);
    open_device(rig);
    listen_let_fail(&rig->place);
    assert_int_equal(pthread_create(&thread, NULL, play_and_hang, &hung), 0);
    do {
        poll(NULL, 0, 5);
        listen(rig);
    } while (rig->heard.count[LISTEN_HANGS] == 0);
    assert_false(atomic_load(&hung.returned));
    close(pipe_fd[1]);
    pthread_join(thread, NULL);
    close(pipe_fd[0]);
    assert_int_equal(hung.status, WS_IO);
    assert_true(one_line(&rig->why));
}

/* Method: a call that blocks holds only the thread that made it; let go with an error, it is an
 * error like any other. */
static void test_a_write_that_hangs(void **state)
{
    hangs_and_lets_go(*state, "hang-write");
}

static void test_a_prepare_that_hangs(void **state)
{
    hangs_and_lets_go(*state, "hang-prepare");
}

/* ---- what is said when there is no sound, in a process of its own ---- */

struct child {
    int status;
    char out[1024], err[1024];
};

/* Opens the device of the environment and says what came of it. */
static int be_child(const char *device)
{
    struct ws_message why = { "" };
    struct ws_alsa *alsa;
    struct ws_sound sound;
    char name[64] = "";
    enum ws_status status;

    if (ws_alsa_new(device[0] != '\0' ? device : NULL, &alsa, &sound, &why) != WS_OK)
        return 1;
    /* Not before it is opened: a start does not pay for it. */
    if (dlopen("libasound.so.2", RTLD_NOW | RTLD_NOLOAD) != NULL)
        return 2;
    status = sound.open(sound.self, name, sizeof name, &why);
    printf("%d %s\n", (int)status, status == WS_OK ? name : why.text);
    if (sound.close != NULL)
        sound.close(sound.self);
    ws_alsa_free(alsa);
    return 0;
}

static void read_whole(FILE *file, char *text, size_t size)
{
    rewind(file);
    text[fread(text, 1, size - 1, file)] = '\0';
    fclose(file);
}

static struct child run_child(const char *device, const char *name, const char *value)
{
    FILE *out = tmpfile(), *err = tmpfile();
    struct child child = { 0 };
    char self[512] = "";
    pid_t pid;

    assert_true(out != NULL && err != NULL);
    /* By its name: under valgrind the link itself is valgrind. */
    assert_true(readlink("/proc/self/exe", self, sizeof self - 1) > 0);
    pid = fork();
    if (pid == 0) {
        if (name != NULL)
            setenv(name, value, 1);
        dup2(fileno(out), 1);
        dup2(fileno(err), 2);
        execl(self, "test_alsa", "--open", device, (char *)NULL);
        _exit(9);
    }
    assert_true(pid > 0);
    assert_true(waitpid(pid, &child.status, 0) == pid);
    read_whole(out, child.out, sizeof child.out);
    read_whole(err, child.err, sizeof child.err);
    return child;
}

/* One line on stdout that says `said`, nothing on stderr. */
static void says_only(const struct child *child, enum ws_status status, const char *said)
{
    char begins[8];

    snprintf(begins, sizeof begins, "%d ", (int)status);
    assert_int_equal(child->status, 0);
    assert_string_equal(child->err, "");
    assert_non_null(strstr(child->out, said));
    assert_int_equal(strncmp(child->out, begins, strlen(begins)), 0);
    assert_ptr_equal(strchr(child->out, '\n'), child->out + strlen(child->out) - 1);
}

static void write_file(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");

    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

/* Method: devices and configurations that can't be, a library that is none, a device that swallows
 * sound unplayed, one that can't play what we have, sound switched off, and for comparison one that
 * plays: each says one line, and ALSA's own words never come through. */
static void test_says_why_there_is_no_sound(void **state)
{
    struct rig *rig = *state;
    char path[128];
    struct child child;

    if (!ws_alsa_built()) {
        child = run_child("", NULL, NULL);
        says_only(&child, WS_NOT_FOUND, "built without");
        return;
    }
    child = run_child("listen", NULL, NULL);
    says_only(&child, WS_OK, "ALSA listen");
    child = run_child("", "WETSIDE_SOUND", "listen");
    says_only(&child, WS_OK, "ALSA listen");
    child = run_child("", "WETSIDE_SOUND", "none");
    says_only(&child, WS_NOT_FOUND, "WETSIDE_SOUND=none");
    child = run_child("", "WETSIDE_SOUND", "");
    says_only(&child, WS_IO, "device default can't be opened");
    child = run_child("no such:thing,{", NULL, NULL);
    says_only(&child, WS_IO, "device no such:thing,{ can't be opened");
    child = run_child("listen", "LISTEN_CHANNELS", "2");
    says_only(&child, WS_IO, "device listen can't play one channel");
    child = run_child("swallow", NULL, NULL);
    says_only(&child, WS_IO, "swallow");
    child = run_child("listen", "ALSA_CONFIG_PATH", "/nowhere/asound.conf");
    says_only(&child, WS_IO, "can't be opened");
    snprintf(path, sizeof path, "%s/broken", rig->place.folder);
    write_file(path, "pcm.listen { type [ { \n @hooks ]]] ");
    child = run_child("listen", "ALSA_CONFIG_PATH", path);
    says_only(&child, WS_IO, "can't be opened");
    write_file(path, "pcm_type.listen { lib \"/nowhere.so\" }\npcm.listen { type listen }\n");
    child = run_child("listen", "ALSA_CONFIG_PATH", path);
    says_only(&child, WS_IO, "can't be opened");
    unlink(path);
    snprintf(path, sizeof path, "%s/libasound.so.2", rig->place.folder);
    write_file(path, "no library\n");
    child = run_child("listen", "LD_LIBRARY_PATH", rig->place.folder);
    says_only(&child, WS_NOT_FOUND, "libasound.so.2 can't be loaded");
    unlink(path);
}

/* Method: no descriptor is left for its timer. The sound that is given all the same does not open,
 * and says why in the same line; playing on it and freeing nothing do no harm. */
static void test_one_that_cannot_be_had(void **state)
{
    struct ws_message why = { "" }, again = { "" };
    struct ws_sounding what = { .kind = WS_CUE_AGITATE, .volume_percent = 100 };
    struct ws_alsa *alsa = (struct ws_alsa *)&what; /* not null */
    struct rlimit limit, none;
    struct ws_sound sound;
    enum ws_status status;
    char name[48] = "";

    (void)state;
    if (!ws_alsa_built())
        skip();
    assert_int_equal(getrlimit(RLIMIT_NOFILE, &limit), 0);
    none = limit;
    none.rlim_cur = 0;
    assert_int_equal(setrlimit(RLIMIT_NOFILE, &none), 0);
    status = ws_alsa_new("listen", &alsa, &sound, &why);
    assert_int_equal(setrlimit(RLIMIT_NOFILE, &limit), 0);
    assert_int_equal(status, WS_IO);
    assert_null(alsa);
    assert_non_null(strstr(why.text, "no timer"));
    assert_int_not_equal(sound.open(sound.self, name, sizeof name, &again), WS_OK);
    assert_string_equal(again.text, why.text);
    sound.play(sound.self, &what);
    ws_alsa_free(alsa);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_a_schedule_is_heard, begin, end),
        cmocka_unit_test_setup_teardown(test_the_last_note_is_not_cut, begin, end),
        cmocka_unit_test_setup_teardown(test_words_come_at_their_moment, begin, end),
        cmocka_unit_test_setup_teardown(test_hush_is_heard_soon, begin, end),
        cmocka_unit_test_setup_teardown(test_close_is_soft, begin, end),
        cmocka_unit_test_setup_teardown(test_running_dry_is_mended, begin, end),
        cmocka_unit_test_setup_teardown(test_a_device_that_vanishes, begin, end),
        cmocka_unit_test_setup_teardown(test_a_device_that_stands_still, begin, end),
        cmocka_unit_test_setup_teardown(test_a_write_that_hangs, begin, end),
        cmocka_unit_test_setup_teardown(test_a_prepare_that_hangs, begin, end),
        cmocka_unit_test_setup_teardown(test_says_why_there_is_no_sound, begin, end),
        cmocka_unit_test(test_one_that_cannot_be_had),
    };

    if (argc == 3 && strcmp(argv[1], "--open") == 0)
        return be_child(argv[2]);
    return cmocka_run_group_tests_name("alsa", tests, NULL, NULL);
}
