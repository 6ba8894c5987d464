/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Nothing on the drive's thread can block: by what its objects ask for, and by what happens when
 * the disk, the sound and the terminal all hang. */
#include "aid.h"

#include <poll.h>
#include <pthread.h>
#include <stdlib.h>
#include <unistd.h>

#include "disk.h"
#include "rig.h"

/* ---- what the objects ask for ---- */

enum { NAMES = 4096 };

struct names {
    char *name[NAMES];
    int names;
};

/* The objects that run on the drive's thread, and what each may ask for beyond the common list.
 * read and write here are of descriptors that never wait: an eventfd, a timerfd or a signalfd that
 * was opened non-blocking. */
static const struct {
    const char *object, *extra;
} object[] = {
    { "src/drive/loop.o", "" },
    { "src/drive/seat.o", "" },
    { "src/drive/strokes.o", "" },
    { "src/drive/ahead.o", "" },
    { "src/drive/speak.o", " strcmp " },
    { "src/drive/journal.o", "" },
    { "src/drive/queue.o", "" },
    { "src/drive/frames.o", " read write " },
    { "src/drive/signals.o", " read signalfd pthread_sigmask sigemptyset sigaddset strerror " },
    { "src/port/clock.o", " ws_boot_id ws_boot_id_own " }, /* at the start only */
    { "src/port/wait.o",
      " read write poll timerfd_settime timerfd_create eventfd close strerror " },
};

static const char *const common =
    " memcpy memmove memset memcmp strlen floor ceil clock_gettime __errno_location"
    " pthread_mutex_lock pthread_mutex_unlock pthread_cond_signal sem_post"
    " __stack_chk_fail _GLOBAL_OFFSET_TABLE_ ";

/* What the instruments put in. */
static const char *const instrument[] = { "__asan_",          "__ubsan_", "__tsan_", "__gcov_",
                                          "__sanitizer_cov_", "__lsan_",  "__msan_" };

static bool has_word(const char *words, const char *word)
{
    char spaced[160];

    snprintf(spaced, sizeof spaced, " %s ", word);
    return strstr(words, spaced) != NULL;
}

/* A fortified libc asks for __memcpy_chk where memcpy is written. */
static const char *plain(const char *name, char *buffer, size_t size)
{
    size_t length = strlen(name);

    if (length < 7 || strncmp(name, "__", 2) != 0 || strcmp(name + length - 4, "_chk") != 0 ||
        length - 6 >= size)
        return name;
    memcpy(buffer, name + 2, length - 6);
    buffer[length - 6] = '\0';
    return buffer;
}

static void build_folder(char *folder, size_t size)
{
    ssize_t length = readlink("/proc/self/exe", folder, size - 1);

    assert_true(length > 0);
    folder[length] = '\0';
    for (int up = 0; up < 3; up++) /* B/tests/drive/test_blocking */
        *strrchr(folder, '/') = '\0';
}

/* The last word of each line of `nm OPTIONS B/FILE`. */
static void ask_nm(const char *options, const char *file, struct names *out)
{
    char folder[512], command[800], line[512];
    FILE *nm;

    build_folder(folder, sizeof folder);
    snprintf(command, sizeof command, "nm %s '%s/%s'", options, folder, file);
    nm = popen(command, "r");
    assert_non_null(nm);
    while (fgets(line, sizeof line, nm) != NULL && out->names < NAMES) {
        char *last;

        line[strcspn(line, "\n")] = '\0';
        last = strrchr(line, ' ');
        if (last != NULL && last[1] != '\0')
            out->name[out->names++] = strdup(last + 1);
    }
    assert_int_equal(pclose(nm), 0);
    assert_true(out->names < NAMES);
}

static void free_names(struct names *names)
{
    for (int i = 0; i < names->names; i++)
        free(names->name[i]);
    free(names);
}

static bool is_among(const struct names *names, const char *name)
{
    for (int i = 0; i < names->names; i++)
        if (strcmp(names->name[i], name) == 0)
            return true;
    return false;
}

static bool is_allowed(const struct names *defined, const char *extra, const char *name)
{
    char buffer[128];
    const char *is = plain(name, buffer, sizeof buffer);

    for (size_t i = 0; i < sizeof instrument / sizeof instrument[0]; i++)
        if (strncmp(name, instrument[i], strlen(instrument[i])) == 0)
            return true;
    return has_word(common, is) || has_word(extra, is) || is_among(defined, name);
}

/* What the scanned objects and the pure layers define. */
static struct names *defined_names(void)
{
    struct names *defined = calloc(1, sizeof *defined);

    for (size_t i = 0; i < sizeof object / sizeof object[0]; i++)
        ask_nm("-g --defined-only", object[i].object, defined);
    ask_nm("-g --defined-only", "libcalc.a", defined);
    ask_nm("-g --defined-only", "libsession.a", defined);
    assert_true(is_among(defined, "ws_session_take"));
    return defined;
}

/* How many symbols `file` asks for that are not allowed; each is printed if `print`. */
static int guilty(const struct names *defined, const char *file, const char *extra, bool print)
{
    struct names *asked = calloc(1, sizeof *asked);
    int n = 0;

    ask_nm("-u", file, asked);
    for (int i = 0; i < asked->names; i++)
        if (!is_allowed(defined, extra, asked->name[i])) {
            if (print)
                print_error("%s asks for %s\n", file, asked->name[i]);
            n++;
        }
    free_names(asked);
    return n;
}

/* Method: the undefined symbols of every object on the drive's thread are defined by another of
 * them, by the pure layers, or stand on a short list of calls that can't block. The keeper and the
 * ringer, which may block, must be found guilty by the same look. */
static void test_symbols(void **state)
{
    struct names *defined = defined_names();
    int n = 0;

    (void)state;
    for (size_t i = 0; i < sizeof object / sizeof object[0]; i++)
        n += guilty(defined, object[i].object, object[i].extra, true);
    assert_int_equal(n, 0);
    assert_true(guilty(defined, "src/drive/keeper.o", "", false) > 3);
    assert_true(guilty(defined, "src/drive/ringer.o", "", false) > 3);
    assert_true(guilty(defined, "src/drive/queue_open.o", "", false) > 0);
    free_names(defined);
}

/* ---- what happens ---- */

/* A sound whose play() hangs until it is let go. */
struct stuck {
    pthread_mutex_t lock;
    pthread_cond_t free;
    bool hangs;
    int inside;
};

static void hang(void *self, const struct ws_sounding *what)
{
    struct stuck *stuck = self;

    (void)what;
    pthread_mutex_lock(&stuck->lock);
    stuck->inside++;
    while (stuck->hangs)
        pthread_cond_wait(&stuck->free, &stuck->lock);
    stuck->inside--;
    pthread_mutex_unlock(&stuck->lock);
}

static int inside(struct stuck *stuck)
{
    int n;

    pthread_mutex_lock(&stuck->lock);
    n = stuck->inside;
    pthread_mutex_unlock(&stuck->lock);
    return n;
}

static void let_go(struct stuck *stuck)
{
    pthread_mutex_lock(&stuck->lock);
    stuck->hangs = false;
    pthread_cond_broadcast(&stuck->free);
    pthread_mutex_unlock(&stuck->lock);
}

static void short_pause(void)
{
    poll(NULL, 0, 1);
}

/* Presses and steps through a whole short run, stopping at given moments only: `moment` is filled
 * in when `learn`, else followed. Only the drive's thread is waited for. */
struct moments {
    int64_t ns[512];
    bool press[512];
    int n;
};

static void learn(struct rig *rig, int tank, struct moments *moments)
{
    while (rig_session(rig, tank)->stage != WS_STAGE_OVER) {
        const struct ws_session *session = rig_session(rig, tank);
        const struct ws_plan *plan = rig->frame.tank[tank].plan;
        int64_t answer_ms = ws_session_answer_ms(session, plan);
        int64_t next_ms = ws_session_next_ms(session, plan);
        int64_t now_ms = rig_at_ms(rig, tank);
        int64_t at_ms;

        /* These hands take two seconds for everything. */
        if (answer_ms != WS_NEVER)
            answer_ms = (answer_ms > now_ms ? answer_ms : now_ms) + 2 * SEC;
        at_ms = answer_ms < next_ms ? answer_ms : next_ms;
        assert_true(at_ms != WS_NEVER && moments->n < 512);
        rig_go(rig, tank, at_ms);
        moments->press[moments->n] = at_ms == answer_ms;
        moments->ns[moments->n++] = ws_clock_boot_ns(&rig->clock);
        if (at_ms == answer_ms)
            rig_hand(rig);
    }
}

static void follow(struct rig *rig, const struct moments *moments)
{
    int64_t shift_ns = ws_clock_boot_ns(&rig->clock) - RIG_BOOT_NS;

    for (int i = 0; i < moments->n; i++) {
        struct ws_stroke stroke = { .kind = WS_STROKE_HAND, .tank = -1 };

        ws_clock_step_to(&rig->clock, moments->ns[i] + shift_ns);
        ws_drive_settle(rig->drive, WS_SETTLE_DRIVE);
        if (!moments->press[i])
            continue;
        stroke.boot_ns = ws_clock_boot_ns(&rig->clock);
        assert_true(ws_drive_post(rig->drive, &stroke));
        ws_drive_settle(rig->drive, WS_SETTLE_DRIVE);
    }
}

/* Method: a run in which all goes well is learnt: which cues are handed over, and when. The same
 * moments are followed with a disk whose first sync never comes back, a sound whose first play()
 * never does, and a terminal that takes no frame. Every cue is handed over at the same moment,
 * while book and sound still hang. Let go, the book has every event. */
static void test_all_hang(void **state)
{
    static struct rig calm, storm;
    static struct moments moments;
    static struct ws_journal_row row[128];
    struct stuck stuck = { PTHREAD_MUTEX_INITIALIZER, PTHREAD_COND_INITIALIZER, true, 0 };
    struct ws_sound sound = { .name = "stuck", .play = hang, .self = &stuck };
    struct ws_plan plan;
    int tank, presses = 0;

    (void)state;
    plan_one_roll(&plan);
    rig_make(&calm);
    rig_start(&calm, NULL);
    tank = rig_begin(&calm, &plan, false);
    learn(&calm, tank, &moments);
    assert_true(calm.saids > 30);

    disk_install();
    rig_make(&storm);
    rig_start(&storm, &sound);
    tank = rig_begin(&storm, &plan, false);
    disk_hold();
    follow(&storm, &moments);

    assert_int_equal(storm.saids, calm.saids);
    for (int i = 0; i < storm.saids; i++) {
        assert_memory_equal(&storm.said[i].cue, &calm.said[i].cue, sizeof calm.said[i].cue);
        assert_true(storm.said[i].now_ns == calm.said[i].now_ns);
    }
    while (disk_waiting() == 0 || inside(&stuck) == 0)
        short_pause(); /* they may not have come to it yet: the drive did not wait to see */
    ws_drive_settle(storm.drive, WS_SETTLE_DRIVE);
    assert_true(ws_drive_frame(storm.drive, &storm.frame));
    assert_int_equal(storm.frame.tank[tank].kept, WS_KEPT_WAITING);
    assert_int_equal(storm.frame.tank[tank].session.stage, WS_STAGE_OVER);

    disk_release();
    let_go(&stuck);
    rig_look(&storm);
    assert_int_equal(storm.frame.tank[tank].kept, WS_KEPT_ALL);
    for (int i = 0; i < moments.n; i++)
        presses += moments.press[i];
    assert_int_equal(rig_journal(&storm, storm.frame.tank[tank].run, row, 128), presses + 1);
    rig_stop(&storm);
    rig_stop(&calm);
    rig_clear(&storm);
    rig_clear(&calm);
}

/* ---- on the real clock ---- */

struct count {
    pthread_mutex_t lock;
    int cues;
};

static void count_cue(void *self, int tank, const struct ws_cue *cue, int64_t due_ns,
                      int64_t now_ns)
{
    struct count *count = self;

    (void)tank;
    (void)cue;
    (void)due_ns;
    (void)now_ns;
    pthread_mutex_lock(&count->lock);
    count->cues++;
    pthread_mutex_unlock(&count->lock);
}

static int cues(struct count *count)
{
    int n;

    pthread_mutex_lock(&count->lock);
    n = count->cues;
    pthread_mutex_unlock(&count->lock);
    return n;
}

/* Method: the same on the real clock: a press whose row hangs in a sync, and a dozen cues that are
 * handed over while it hangs. The order is asserted, not the time. */
static void test_real_clock(void **state)
{
    static struct rig rig;
    struct ws_clock clock;
    struct count count = { PTHREAD_MUTEX_INITIALIZER, 0 };
    struct ws_drive_options options = {
        .clock = &clock, .mode = WS_BOOK_WRITE, .on_cue = count_cue, .on_cue_self = &count
    };
    struct ws_stroke press = { .kind = WS_STROKE_HAND, .tank = -1 };
    struct ws_drive *drive;
    struct ws_plan plan;
    int tank;

    (void)state;
    ws_clock_real(&clock);
    rig_make(&rig);
    options.book_path = rig.path;
    disk_install();
    assert_int_equal(ws_drive_start(&options, &drive, NULL), WS_OK);
    plan_short(&plan);
    plan.bath[0].count_in_ms = 0;
    plan.bath[0].pour_in_ms = 100;
    plan.bath[0].agitation.first_ms = 10 * SEC;
    plan.bath[0].agitation.length_ms = 5 * SEC;
    plan.bath[0].agitation.inversions = 50;
    ws_id_make(&plan.id);
    assert_int_equal(ws_drive_begin(drive, &plan, false, &tank, NULL), WS_OK);
    disk_hold();
    press.boot_ns = ws_clock_boot_ns(&clock);
    assert_true(ws_drive_post(drive, &press));
    while (disk_waiting() == 0)
        short_pause();
    while (cues(&count) < 12)
        short_pause();
    assert_int_equal(disk_waiting(), 1);
    disk_release();
    ws_drive_stop(drive, NULL);
    rig_clear(&rig);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_symbols),
        cmocka_unit_test(test_all_hang),
        cmocka_unit_test(test_real_clock),
    };

    /* A loop that waits for what never comes ends here, not in an endless build. */
    alarm(120);
    return cmocka_run_group_tests_name("blocking", tests, NULL, NULL);
}
