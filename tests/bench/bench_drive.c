/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The drive's promises: cues beside a bare absolute sleep, its own time, rest, an hour's rehearsal.
 *
 *     bench_drive [BLOCKS [SECONDS]]
 *
 * BLOCKS (25): how many interleaved blocks, idle and again with all cores busy, 6 s each. SECONDS
 * (60): how long the rest is watched.
 *
 * Cue lateness. Method: a run with a book, a thread that takes the frames as a terminal does, and a
 * press in every cycle. Every 6 s the tank is agitated for 3 s with 50 counted inversions: 49 cues
 * 60 ms apart make one block. In the 3 s of rest between, the main thread sleeps to 49 absolute
 * moments 55 ms apart (clock_nanosleep on CLOCK_BOOTTIME, nothing else in the loop): the floor, on
 * the same machine in the same minute. Both are how late the clock was when the cue was handed
 * over, or the sleep returned. Of each block the 99th percentile; of each pair the ratio; of all
 * pairs the median. */
#include <dirent.h>
#include <math.h>
#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "../../src/drive/inside.h"
#include "wetside/drive/rehearse.h"

#define RATIO_MOST     1.5
#define WAKES_MOST     12.0
#define PERCENT_MOST   0.5
#define REHEARSAL_MOST 10.0 /* ms */

#define MS INT64_C(1000000)

enum {
    BLOCKS_MOST = 200,
    EVERY_MS = 6000,
    LENGTH_MS = 3000,
    INVERSIONS = 50,
    SAMPLES = INVERSIONS - 1, /* the first is due with AGITATE, and handed over after it */
    BARE_APART_MS = 55,
    BUSY_MOST = 64,
    REHEARSALS = 21
};

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

/* Nearest rank; sorts. */
static double percentile(double *value, int n, double part)
{
    int rank = (int)ceil(part * n);

    qsort(value, (size_t)n, sizeof *value, by_size);
    return n == 0 ? NAN : value[rank < 1 ? 0 : rank - 1];
}

static bool report(const char *what, double floor_is, double ours, double most, const char *unit)
{
    bool kept = ours <= most;

    printf("  %-34s promise <= %-6g", what, most);
    if (isnan(floor_is))
        printf(" floor -       ");
    else
        printf(" floor %-8.3g", floor_is);
    printf(" ours %-8.3g %s%s\n", ours, unit, kept ? "" : "  BROKEN");
    return kept;
}

static int64_t boot_ns(void)
{
    struct timespec t;

    clock_gettime(CLOCK_BOOTTIME, &t);
    return (int64_t)t.tv_sec * 1000000000 + t.tv_nsec;
}

static void sleep_to(int64_t at_ns)
{
    struct timespec at = { (time_t)(at_ns / 1000000000), (long)(at_ns % 1000000000) };

    while (clock_nanosleep(CLOCK_BOOTTIME, TIMER_ABSTIME, &at, NULL) != 0)
        continue;
}

/* ---- the stage: a drive with a book and a terminal ---- */

struct stage {
    struct ws_clock clock;
    struct ws_drive *drive;
    char dir[32], path[64];
    pthread_t terminal;
    _Atomic bool over;
    pthread_mutex_t lock;
    struct ws_frame frame;
    /* Of each cycle's counted inversions: how late, and the drive's own part of it; microseconds.
     */
    double late_us[BLOCKS_MOST][SAMPLES], own_us[BLOCKS_MOST * SAMPLES];
    int in_block[BLOCKS_MOST], own;
};

static void on_cue(void *self, int tank, const struct ws_cue *cue, int64_t due_ns, int64_t now_ns)
{
    struct stage *stage = self;
    int block = cue->index / 64 - 1, nth = cue->index % 64;

    (void)tank;
    if (cue->kind != WS_CUE_INVERT || nth < 2 || block < 0 || block >= BLOCKS_MOST)
        return;
    stage->late_us[block][stage->in_block[block]++] = (double)(now_ns - due_ns) / 1e3;
    stage->own_us[stage->own++] = (double)(now_ns - ws_drive_woke_ns(stage->drive)) / 1e3;
}

static void *take_frames(void *self)
{
    struct stage *stage = self;
    struct pollfd fd = { ws_drive_screen_fd(stage->drive), POLLIN, 0 };

    while (!atomic_load(&stage->over)) {
        poll(&fd, 1, -1);
        ws_drive_seen(stage->drive);
        ws_drive_bells(stage->drive);
        pthread_mutex_lock(&stage->lock);
        ws_drive_frame(stage->drive, &stage->frame);
        pthread_mutex_unlock(&stage->lock);
    }
    return NULL;
}

static bool fails(const char *what, const struct ws_message *why)
{
    fprintf(stderr, "bench_drive: %s: %s\n", what, why->text);
    return false;
}

static bool set_up(struct stage *stage)
{
    struct ws_drive_options options = {
        .clock = &stage->clock, .mode = WS_BOOK_WRITE, .on_cue = on_cue, .on_cue_self = stage
    };
    struct ws_message why = { "" };

    memset(stage, 0, sizeof *stage);
    strcpy(stage->dir, "/tmp/wetside-bench-XXXXXX");
    if (mkdtemp(stage->dir) == NULL)
        return fails("no folder", &why);
    snprintf(stage->path, sizeof stage->path, "%s/book.db", stage->dir);
    pthread_mutex_init(&stage->lock, NULL);
    ws_clock_real(&stage->clock);
    options.book_path = stage->path;
    if (ws_drive_start(&options, &stage->drive, &why) != WS_OK)
        return fails("drive", &why);
    return pthread_create(&stage->terminal, NULL, take_frames, stage) == 0;
}

static void take_down(struct stage *stage)
{
    struct ws_stroke close = { .kind = WS_STROKE_CLOSE, .tank = 0, .reason = "bench" };

    atomic_store(&stage->over, true);
    close.boot_ns = boot_ns();
    ws_drive_post(stage->drive, &close); /* makes one more frame, for the terminal to see it */
    pthread_join(stage->terminal, NULL);
    ws_drive_stop(stage->drive, NULL);
    pthread_mutex_destroy(&stage->lock);
    unlink(stage->path);
    rmdir(stage->dir);
}

static void press(struct stage *stage)
{
    struct ws_stroke hand = { .kind = WS_STROKE_HAND, .tank = -1, .boot_ns = boot_ns() };

    ws_drive_post(stage->drive, &hand);
}

/* Begins the plan, pours, and gives the boot moment of the bath's clock. */
static bool pour(struct stage *stage, struct ws_plan *plan, int64_t *clock_ns)
{
    struct ws_message why = { "" };
    bool in_bath = false;
    int tank;

    ws_id_make(&plan->id);
    if (ws_drive_begin(stage->drive, plan, false, &tank, &why) != WS_OK)
        return fails("run", &why);
    press(stage);
    while (!in_bath) {
        const struct ws_frame_tank *at = &stage->frame.tank[tank];

        poll(NULL, 0, 5);
        pthread_mutex_lock(&stage->lock);
        in_bath = at->plan != NULL && at->session.stage == WS_STAGE_IN_BATH;
        if (in_bath)
            *clock_ns = stage->frame.boot_ns - (at->at_ms - at->session.span.clock_ms) * MS;
        pthread_mutex_unlock(&stage->lock);
    }
    return true;
}

/* ---- lateness ---- */

static void lateness_plan(struct ws_plan *plan, int blocks)
{
    struct ws_bath *bath = &plan->bath[0];

    ws_plan_default(plan);
    plan->baths = 1;
    ws_bath_default(WS_BATH_DEVELOPER, bath);
    bath->time_ms = (int64_t)(blocks + 2) * EVERY_MS + 60000;
    bath->count_in_ms = 0;
    bath->pour_in_ms = 200;
    bath->agitation = (struct ws_agitation){
        .rhythm = WS_CYCLES, .every_ms = EVERY_MS, .length_ms = LENGTH_MS, .inversions = INVERSIONS
    };
}

/* One block of bare sleeps from `from_ns` on. */
static double bare_p99_us(int64_t from_ns)
{
    double late_us[SAMPLES];

    for (int i = 0; i < SAMPLES; i++) {
        int64_t at_ns = from_ns + i * BARE_APART_MS * MS;

        sleep_to(at_ns);
        late_us[i] = (double)(boot_ns() - at_ns) / 1e3;
    }
    return percentile(late_us, SAMPLES, 0.99);
}

static int burn(pid_t *child, bool busy)
{
    long cores = sysconf(_SC_NPROCESSORS_ONLN);
    int n = 0;

    while (busy && n < cores && n < BUSY_MOST) {
        child[n] = fork();
        if (child[n] == 0)
            for (;;)
                __asm__ volatile("");
        if (child[n++] < 0)
            return n - 1;
    }
    return n;
}

static bool lateness(int blocks, bool busy)
{
    static struct stage stage;
    static double ratio[BLOCKS_MOST], ours[BLOCKS_MOST], bare[BLOCKS_MOST];
    pid_t child[BUSY_MOST];
    int children = burn(child, busy), n = 0;
    struct ws_plan plan;
    int64_t clock_ns = 0;
    bool kept = false;

    lateness_plan(&plan, blocks);
    if (!set_up(&stage) || !pour(&stage, &plan, &clock_ns))
        goto out;
    /* Cycle k lasts from k * 6 s to k * 6 + 3 s; the sleeps follow it. */
    for (int k = 1; k <= blocks; k++) {
        sleep_to(clock_ns + (int64_t)k * EVERY_MS * MS + 1000 * MS);
        press(&stage);
        bare[k - 1] = bare_p99_us(clock_ns + ((int64_t)k * EVERY_MS + LENGTH_MS + 150) * MS);
    }
    take_down(&stage);
    for (int k = 0; k < blocks; k++) {
        if (stage.in_block[k] < SAMPLES)
            continue;
        ours[n] = percentile(stage.late_us[k], SAMPLES, 0.99);
        bare[n] = bare[k];
        ratio[n] = ours[n] / bare[n];
        n++;
    }
    printf("cue lateness, %s, %d blocks of %d\n", busy ? "all cores busy" : "idle", n, SAMPLES);
    kept = report("median of the p99 ratios", 1, percentile(ratio, n, 0.5), RATIO_MOST, "times");
    printf("  %-34s floor %.3g, ours %.3g us\n", "median of the p99", percentile(bare, n, 0.5),
           percentile(ours, n, 0.5));
    printf("  %-34s median %.3g, p99 %.3g us of %d\n", "from wake to hand-over",
           percentile(stage.own_us, stage.own, 0.5), percentile(stage.own_us, stage.own, 0.99),
           stage.own);
out:
    for (int i = 0; i < children; i++) {
        kill(child[i], SIGKILL);
        waitpid(child[i], NULL, 0);
    }
    return kept;
}

/* ---- rest ---- */

/* Voluntary context switches of all threads of this process: how often they went to sleep. */
static long long wakes(void)
{
    DIR *folder = opendir("/proc/self/task");
    long long sum = 0, number;

    for (struct dirent *entry; folder != NULL && (entry = readdir(folder)) != NULL;) {
        char path[300], line[256];
        FILE *file;

        snprintf(path, sizeof path, "/proc/self/task/%.40s/status", entry->d_name);
        file = entry->d_name[0] != '.' ? fopen(path, "r") : NULL;
        while (file != NULL && fgets(line, sizeof line, file) != NULL)
            if (sscanf(line, "voluntary_ctxt_switches: %lld", &number) == 1)
                sum += number;
        if (file != NULL)
            fclose(file);
    }
    if (folder != NULL)
        closedir(folder);
    return sum;
}

static double core_s(void)
{
    struct timespec t;

    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

/* Method: a stand of half an hour, ten seconds after its first agitation; the main thread sleeps
 * once, and its own switch is in the count. */
static bool rest(int seconds)
{
    static struct stage stage;
    struct ws_plan plan;
    int64_t clock_ns = 0;
    long long before;
    double used_s;
    bool kept;

    lateness_plan(&plan, 1);
    plan.bath[0].time_ms = 1800000;
    plan.bath[0].agitation = (struct ws_agitation){ .rhythm = WS_STAND, .first_ms = 2000 };
    if (!set_up(&stage) || !pour(&stage, &plan, &clock_ns))
        return false;
    press(&stage); /* confirms the first agitation */
    sleep_to(clock_ns + 12000 * MS);
    before = wakes();
    used_s = core_s();
    sleep_to(clock_ns + (12000 + seconds * INT64_C(1000)) * MS);
    used_s = core_s() - used_s;
    before = wakes() - before;
    printf("at rest in a run, %d s, a terminal that takes the frames and draws nothing\n", seconds);
    kept = report("wake-ups of all threads", NAN, (double)before / seconds, WAKES_MOST, "/s");
    kept = report("share of a core", NAN, used_s / seconds * 100, PERCENT_MOST, "%") && kept;
    take_down(&stage);
    return kept;
}

/* ---- rehearsal ---- */

static bool rehearsal(void)
{
    double took_ms[REHEARSALS];
    struct ws_message why = { "" };
    struct ws_plan plan;
    int lines = 0;

    ws_plan_default(&plan);
    for (int i = 0; i < 3; i++) {
        static const int64_t minutes[] = { 30, 10, 20 };
        struct ws_bath *bath = &plan.bath[plan.baths++];

        ws_bath_default(i == 0 ? WS_BATH_DEVELOPER : WS_BATH_FIXER, bath);
        bath->time_ms = minutes[i] * 60000;
        bath->agitation = (struct ws_agitation){ .rhythm = WS_CYCLES,
                                                 .first_ms = 30000,
                                                 .every_ms = 30000,
                                                 .length_ms = 10000,
                                                 .inversions = 4 };
    }
    for (int i = 0; i < REHEARSALS; i++) {
        struct ws_rehearsal out;
        int64_t from_ns = boot_ns();

        if (ws_rehearse(&plan, NULL, 0, &out, &why) != WS_OK)
            return fails("rehearsal", &why);
        took_ms[i] = (double)(boot_ns() - from_ns) / 1e6;
        lines = out.lines;
        ws_rehearsal_free(&out);
    }
    printf("an hour's rehearsal, %d cues, median of %d\n", lines, REHEARSALS);
    return report("from plan to cues", NAN, percentile(took_ms, REHEARSALS, 0.5), REHEARSAL_MOST,
                  "ms");
}

int main(int argc, char **argv)
{
    int blocks = argc > 1 ? atoi(argv[1]) : 25, seconds = argc > 2 ? atoi(argv[2]) : 60;
    bool kept = true;

    if (blocks < 1 || blocks > BLOCKS_MOST || seconds < 1) {
        fprintf(stderr, "bench_drive [BLOCKS [SECONDS]]\n");
        return 2;
    }
    setvbuf(stdout, NULL, _IOLBF, 0);
    kept = rehearsal() && kept;
    kept = lateness(blocks, false) && kept;
    kept = lateness(blocks, true) && kept;
    kept = rest(seconds) && kept;
    return kept ? 0 : 1;
}
