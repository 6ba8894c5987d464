/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One owner at any moment: two to five processes contend for one run, and are stopped, woken and
 * killed at random moments.
 *
 * A round is a book of its own with one run. Each process asks for the run (now and then with leave
 * to end who does not answer), holds it, journals, and lets it go when it is asked or when it is
 * stopped in order; a dead one is followed by another. The parent stops, wakes and kills. Then all
 * are woken, nobody asks any more, and a last one must get the run at its first asking, without
 * ending anybody.
 *
 * Each lock that is taken is noted in memory that all share, and its note is taken back before it
 * is let go: who gets the lock while another has a note, and lives, is a second owner. The journal
 * must have every event that was acknowledged, each once, in order of the owners' epochs; and
 * nobody may have written under the epoch of another. In each fifth round the lock file is removed
 * now and then, so that there are two who hold a lock: then the epochs alone tell who may write. */
#include <signal.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "../book/book_aid.h"
#include "handover_child.h"
#include "kill_child.h"
#include "kill_known.h"
#include "torture.h"

enum {
    ROUNDS = 12,
    ROUNDS_OF_TORTURE = 300,
    ACTS = 30,         /* of the parent in a round */
    ACT_APART_MS = 60, /* at most from one to the next */
    ANSWER_MS = 150,   /* what the processes wait for an answer: ten times less than 3 s and more */
    CALM_ANSWER_MS = 3000,
    PATIENCE_MS = 20000,
    EPOCHS = 1024,
    AT_ONCE = 5
};

static struct figures {
    int rounds, owners, stops, kills, ended, unlocked, remaining;
    int64_t acknowledged, lost;
} figures;

struct contender {
    pid_t pid; /* 0: none */
    int who;
    bool stopped, quiet;
};

static struct round {
    char name[32];
    uint64_t seed;
    int told[2], count, next_who;
    bool unlocks;
    struct contender_order order;
    struct arena *arena;
    struct contender contender[AT_ONCE + 1];
    struct known known;
    bool has[CONTENDERS][EPOCHS], wrote[CONTENDERS][EPOCHS];
} round_;

/* ---- hearing them ---- */

static void note_epoch(bool table[CONTENDERS][EPOCHS], const struct told *told)
{
    assert_true(told->who >= 0 && told->who < CONTENDERS);
    if (told->epoch >= 0 && told->epoch < EPOCHS)
        table[told->who][told->epoch] = true;
}

static void take(struct round *round, const struct told *told)
{
    known_take(&round->known, told);
    if (told->kind == TOLD_HAS) {
        figures.owners++;
        note_epoch(round->has, told);
    } else if (told->kind == TOLD_ROW) {
        note_epoch(round->wrote, told);
    }
    for (int i = 0; i <= AT_ONCE; i++)
        if (told->kind == TOLD_QUIET && round->contender[i].who == told->who)
            round->contender[i].quiet = true;
}

/* Those that have ended. Its note of the lock is taken back here, and only here. */
static void reap(struct round *round)
{
    for (int i = 0; i <= AT_ONCE; i++) {
        struct contender *one = &round->contender[i];
        int status;

        if (one->pid == 0 || waitpid(one->pid, &status, WNOHANG) != one->pid)
            continue;
        if (WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL)
            figures.ended++;
        else if (status != 0)
            torture_wrong(round->name, "process %d ended with status 0x%x", one->who, status);
        atomic_store(&round->arena->contender[one->who].dead, true);
        atomic_store(&round->arena->contender[one->who].holds, 0);
        *one = (struct contender){ .pid = 0 };
    }
}

static int64_t real_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* Hears them for so long, or until `enough` says so. */
static bool hear(struct round *round, int64_t most_ms, bool (*enough)(const struct round *round))
{
    int64_t until_ms = real_ms() + most_ms;
    struct told told;
    bool end;

    do {
        if (told_next(round->told[0], 2, &told, &end))
            take(round, &told);
        else if (enough != NULL && enough(round))
            return true;
        reap(round);
    } while (real_ms() < until_ms);
    return enough == NULL || enough(round);
}

static bool has_begun(const struct round *round)
{
    return atomic_load(&round->arena->run) != 0;
}

static bool all_quiet(const struct round *round)
{
    for (int i = 0; i < AT_ONCE; i++)
        if (round->contender[i].pid != 0 && !round->contender[i].quiet)
            return false;
    return true;
}

static bool last_has_ended(const struct round *round)
{
    return round->contender[AT_ONCE].pid == 0;
}

static bool all_have_ended(const struct round *round)
{
    for (int i = 0; i <= AT_ONCE; i++)
        if (round->contender[i].pid != 0)
            return false;
    return true;
}

/* ---- what is done to them ---- */

static void bring(struct round *round, int place, enum contender_part part)
{
    struct contender *one = &round->contender[place];

    if (round->next_who >= CONTENDERS)
        return;
    round->order.part = part;
    round->order.seed = round->seed + (uint64_t)round->next_who * 104729;
    *one = (struct contender){ .who = round->next_who++ };
    one->pid = contender_start(&round->order, one->who, round->told[1]);
    assert_true(one->pid > 0);
}

static void wake(struct contender *one)
{
    if (one->pid != 0 && one->stopped)
        kill(one->pid, SIGCONT);
    one->stopped = false;
}

/* The lock file goes, as if somebody had tidied up. */
static void remove_lock(struct round *round)
{
    char lock[300];

    snprintf(lock, sizeof lock, "%s-run-%lld.lock", round->order.path,
             (long long)atomic_load(&round->arena->run));
    if (unlink(lock) == 0)
        figures.unlocked++;
}

static void act(struct round *round)
{
    struct contender *one = &round->contender[kill_random(&round->seed, round->count)];

    if (round->unlocks && kill_random(&round->seed, 6) == 0)
        remove_lock(round);
    if (one->pid == 0) {
        bring(round, (int)(one - round->contender), CONTENDER_ANY);
    } else if (kill_random(&round->seed, 5) == 0) {
        kill(one->pid, SIGKILL);
        one->stopped = false;
        figures.kills++;
    } else if (one->stopped) {
        /* Some are stopped for longer than anybody's patience. */
        if (kill_random(&round->seed, 3) == 0)
            wake(one);
    } else {
        kill(one->pid, SIGSTOP);
        one->stopped = true;
        figures.stops++;
    }
}

/* ---- what must hold ---- */

/* What was handed over is written by who takes it, under the epoch it was made in: so who has
 * written as the owner of an epoch is who has said so as well. */
static void check_epochs(struct round *round)
{
    for (int epoch = 0; epoch < EPOCHS; epoch++) {
        int owners = 0;

        for (int who = 0; who < CONTENDERS; who++)
            owners += round->has[who][epoch] && round->wrote[who][epoch];
        if (owners > 1)
            torture_wrong(round->name, "%d processes have written as owners of epoch %d", owners,
                          epoch);
    }
}

static void end_round(struct round *round)
{
    atomic_store(&round->arena->answer_ms, CALM_ANSWER_MS);
    atomic_store(&round->arena->quiet, true);
    for (int i = 0; i < AT_ONCE; i++)
        wake(&round->contender[i]);
    if (!hear(round, PATIENCE_MS, all_quiet))
        torture_wrong(round->name, "a process does not come out of its asking");
    bring(round, AT_ONCE, CONTENDER_LAST);
    if (!hear(round, PATIENCE_MS, last_has_ended))
        torture_wrong(round->name, "the last one does not end");
    atomic_store(&round->arena->end, true);
    if (!hear(round, PATIENCE_MS, all_have_ended))
        torture_wrong(round->name, "a process does not end when it is told to");
    for (int i = 0; i <= AT_ONCE; i++)
        if (round->contender[i].pid != 0)
            kill(round->contender[i].pid, SIGKILL);
    hear(round, PATIENCE_MS, all_have_ended);
    known_check(&round->known, round->order.path, true);
    check_epochs(round);
}

static void play(int number)
{
    struct round *round = &round_;
    struct arena *arena = round->arena;
    char book[32];

    memset(round, 0, sizeof *round);
    round->arena = arena;
    memset(arena, 0, sizeof *arena);
    snprintf(round->name, sizeof round->name, "round %d", number);
    snprintf(book, sizeof book, "book-%d.db", number);
    if (!torture_wants(round->name))
        return;
    round->seed = torture_seed() * 1000003 + (uint64_t)number * 7919 + 1;
    round->count = 2 + kill_random(&round->seed, AT_ONCE - 1);
    round->unlocks = number % 5 == 4;
    atomic_store(&arena->answer_ms, ANSWER_MS);
    round->order = (struct contender_order){ .path = aid_path(book),
                                             .arena = arena,
                                             .by_lock = !round->unlocks };
    kill_clock(&round->order.clock, 60);
    known_begin(&round->known, round->name);
    assert_int_equal(pipe(round->told), 0);
    bring(round, 0, CONTENDER_FIRST);
    assert_true(hear(round, PATIENCE_MS, has_begun));
    for (int i = 1; i < round->count; i++)
        bring(round, i, CONTENDER_ANY);
    for (int i = 0; i < ACTS; i++) {
        hear(round, kill_random(&round->seed, ACT_APART_MS), NULL);
        act(round);
    }
    end_round(round);
    close(round->told[0]);
    close(round->told[1]);
    figures.rounds++;
    figures.acknowledged += round->known.acknowledged;
    figures.lost += round->known.lost;
    figures.remaining += round->known.remaining;
    known_clear(&round->known);
}

static void test_rounds(void **state)
{
    int rounds = torture() || torture_alone() ? ROUNDS_OF_TORTURE : ROUNDS;

    (void)state;
    round_.arena =
        mmap(NULL, sizeof *round_.arena, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    assert_true(round_.arena != MAP_FAILED);
    for (int i = 0; i < rounds; i++)
        play(i);
    assert_int_equal(torture_wrongs(), 0);
    torture_figure(
        "%d rounds, %d owners after one another, never two; %d stopped, %d killed (%d by "
        "who asked), %d lock files removed; %lld events acknowledged, %lld lost",
        figures.rounds, figures.owners, figures.stops, figures.ended, figures.ended - figures.kills,
        figures.unlocked, (long long)figures.acknowledged, (long long)figures.lost);
    munmap(round_.arena, sizeof *round_.arena);
    assert_true(figures.owners > 2 * figures.rounds);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_rounds, aid_begin, aid_end),
    };

    (void)argc;
    torture_begin(argv[0]);
    return cmocka_run_group_tests(tests, NULL, NULL);
}
