/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run that is killed again and again: what was acknowledged is there, once, and the time goes on
 * as it really is.
 *
 * A life is a book of its own and a dozen processes one after the other, each of which takes up
 * what the one before left, and is killed (SIGKILL) at a moment that is drawn: while it presses, as
 * it takes a run up, as it closes one, as it begins one. The last closes what is open and ends by
 * itself. The clock goes hundreds of times faster than the real one and is the same for all of a
 * life, as the machine's is; in every third life each process is at another boot. */
#include <sched.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "../book/book_aid.h"
#include "kill_child.h"
#include "kill_known.h"
#include "torture.h"

enum { KILLS_IN_A_LIFE = 10, LIVES = 6, LIVES_OF_TORTURE = 100, STUCK_MS = 20000 };

static struct figures {
    int kills, by_goal[KILL_LAST + 1], remaining;
    int64_t acknowledged, lost, off_ms;
} figures;

struct life {
    int number;
    char name[32];
    bool reboots;
    uint64_t seed;
    struct kill_order order;
    struct known known;
};

/* ---- the moment ---- */

static int64_t real_us(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

/* A moment within what begins now: nothing tells of it from inside. */
static void let_pass(int64_t us)
{
    int64_t until_us = real_us() + us;

    while (real_us() < until_us)
        sched_yield();
}

/* What it is killed after: so many of these, and then a moment more. */
struct moment {
    enum told_kind kind;
    int times;
    int64_t then_us;
};

static enum kill_goal draw(uint64_t *seed, struct moment *out)
{
    enum kill_goal goal = (enum kill_goal)kill_random(seed, 2 * KILL_LAST);

    switch (goal) {
    case KILL_TAKING:
        *out = (struct moment){ TOLD_TAKING, 1, kill_random(seed, 12000) };
        break;
    case KILL_CLOSING:
        *out = (struct moment){ TOLD_CLOSING, 1, kill_random(seed, 6000) };
        break;
    case KILL_BEGINNING:
        *out = (struct moment){ TOLD_BEGINNING, 1, kill_random(seed, 12000) };
        break;
    default:
        *out = (struct moment){ kill_random(seed, 2) == 0 ? TOLD_ROW : TOLD_SEEN,
                                1 + kill_random(seed, 40), kill_random(seed, 3000) };
        return KILL_PRESSING;
    }
    return goal;
}

/* ---- one process ---- */

/* Takes in all it tells; true: what was waited for came. */
static bool hear(struct life *life, int fd, struct moment moment)
{
    int64_t until_us = real_us() + INT64_C(1000) * STUCK_MS;
    struct told told;
    bool end = false;

    while (!end && real_us() < until_us) {
        if (!told_next(fd, 100, &told, &end))
            continue;
        known_take(&life->known, &told);
        /* Where nothing was open it begins one instead. */
        if (told.kind == TOLD_BEGINNING && moment.kind == TOLD_TAKING)
            moment.kind = TOLD_BEGINNING;
        if (told.kind == moment.kind && --moment.times == 0)
            return true;
    }
    return false;
}

static void hear_out(struct life *life, int fd)
{
    (void)hear(life, fd, (struct moment){ TOLD_WRONG, 1000, 0 });
    close(fd);
}

static void kill_one(struct life *life)
{
    struct moment moment = { TOLD_ROW, 1, 0 };
    int fd, status = 0;
    bool came;
    pid_t child;

    life->order.goal = draw(&life->seed, &moment);
    life->order.seed = life->seed;
    if (life->reboots)
        kill_clock_reboot(&life->order.clock);
    child = kill_child(&life->order, figures.kills, &fd);
    assert_true(child > 0);
    came = hear(life, fd, moment);
    if (came)
        let_pass(moment.then_us);
    kill(child, SIGKILL);
    assert_int_equal(waitpid(child, &status, 0), child);
    hear_out(life, fd);
    if (!came || !WIFSIGNALED(status) || WTERMSIG(status) != SIGKILL)
        torture_wrong(life->name, "kill %d: it ended before it could be killed, status %d",
                      figures.kills, status);
    known_check(&life->known, life->order.path, false);
    figures.kills++;
    figures.by_goal[life->order.goal]++;
}

static void end_life(struct life *life)
{
    int fd, status = 0;
    pid_t child;

    life->order.goal = KILL_LAST;
    life->order.seed = life->seed;
    child = kill_child(&life->order, -1, &fd);
    assert_true(child > 0);
    if (!hear(life, fd, (struct moment){ TOLD_ENDED, 1, 0 })) {
        torture_wrong(life->name, "the last process does not end by itself");
        kill(child, SIGKILL);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    hear_out(life, fd);
    if (status != 0)
        torture_wrong(life->name, "the last process ended with status %d", status);
    known_check(&life->known, life->order.path, true);
}

static void live(int number)
{
    static struct life life;
    char book[32];

    memset(&life, 0, sizeof life);
    life.number = number;
    snprintf(life.name, sizeof life.name, "life %d", number);
    if (!torture_wants(life.name))
        return;
    snprintf(book, sizeof book, "book-%d.db", number);
    life.seed = torture_seed() * 1000003 + (uint64_t)number * 7919 + 1;
    life.reboots = number % 3 == 2;
    kill_clock(&life.order.clock, 100 + kill_random(&life.seed, 900));
    life.order.path = aid_path(book);
    known_begin(&life.known, life.name);
    for (int i = 0; i < KILLS_IN_A_LIFE; i++)
        kill_one(&life);
    end_life(&life);
    figures.acknowledged += life.known.acknowledged;
    figures.lost += life.known.lost;
    figures.remaining += life.known.remaining;
    if (life.known.remaining_off_ms > figures.off_ms)
        figures.off_ms = life.known.remaining_off_ms;
    known_clear(&life.known);
}

static void test_kills(void **state)
{
    int lives = torture() || torture_alone() ? LIVES_OF_TORTURE : LIVES;

    (void)state;
    for (int i = 0; i < lives; i++)
        live(i);
    assert_int_equal(torture_wrongs(), 0);
    torture_figure("%d kills (%d in taking up, %d in closing, %d in beginning), %lld events "
                   "acknowledged, %lld lost; %d remaining times compared, off by %lld ms at most",
                   figures.kills, figures.by_goal[KILL_TAKING], figures.by_goal[KILL_CLOSING],
                   figures.by_goal[KILL_BEGINNING], (long long)figures.acknowledged,
                   (long long)figures.lost, figures.remaining, (long long)figures.off_ms);
    assert_true(torture_alone() || figures.remaining > figures.kills / 10);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_kills, aid_begin, aid_end),
    };

    (void)argc;
    torture_begin(argv[0]);
    return cmocka_run_group_tests(tests, NULL, NULL);
}
