/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bounded queues between threads. */
#include "aid.h"

#include <pthread.h>
#include <sched.h>
#include <stdatomic.h>

#include "wetside/drive/queue.h"

/* Method: more puts than room, around the ring several times: order is kept, a full queue says so
 * and loses nothing it had taken. */
static void test_order_and_room(void **state)
{
    struct ws_queue queue;
    int next_in = 0, next_out = 0, item;

    (void)state;
    assert_int_equal(ws_queue_open(&queue, sizeof item, 5), WS_OK);
    for (int round = 0; round < 7; round++) {
        while (ws_queue_put(&queue, &next_in))
            next_in++;
        assert_int_equal(ws_queue_count(&queue), 5);
        for (int i = 0; i < 3; i++) {
            assert_true(ws_queue_take(&queue, &item));
            assert_int_equal(item, next_out++);
        }
    }
    while (ws_queue_take(&queue, &item))
        assert_int_equal(item, next_out++);
    assert_int_equal(next_out, next_in);
    ws_queue_free(&queue);
}

static bool merge_equal_tens(void *last, const void *item)
{
    int *have = last;
    int more = *(const int *)item;

    if (*have / 10 != more / 10)
        return false;
    *have = more;
    return true;
}

/* Method: items of the same ten merge into the last one only, also when the queue is full; others
 * take a place. */
static void test_merging(void **state)
{
    static const int put[] = { 11, 12, 25, 13, 19 };
    struct ws_queue queue;
    int item = 34;

    (void)state;
    assert_int_equal(ws_queue_open(&queue, sizeof item, 3), WS_OK);
    for (int i = 0; i < 5; i++)
        assert_true(ws_queue_put_or_merge(&queue, &put[i], merge_equal_tens));
    assert_false(ws_queue_put_or_merge(&queue, &item, merge_equal_tens));
    assert_true(ws_queue_take(&queue, &item) && item == 12);
    assert_true(ws_queue_take(&queue, &item) && item == 25);
    assert_true(ws_queue_take(&queue, &item) && item == 19);
    assert_false(ws_queue_take(&queue, &item));
    ws_queue_free(&queue);
}

struct sum {
    struct ws_queue queue;
    long total[2];
    atomic_bool closed;
};

struct taker {
    struct sum *sum;
    int which;
};

static void *take_all(void *self)
{
    struct taker *taker = self;
    bool closed;
    int item;

    do {
        closed = atomic_load(&taker->sum->closed);
        while (ws_queue_take(&taker->sum->queue, &item))
            taker->sum->total[taker->which] += item;
        sched_yield();
    } while (!closed);
    return NULL;
}

/* Method: two threads take what a third puts, until it has put all and they have emptied the queue.
 * Nothing is lost or taken twice: the sums add up. */
static void test_takers(void **state)
{
    struct sum sum = { .closed = false };
    struct taker taker[2] = { { &sum, 0 }, { &sum, 1 } };
    pthread_t thread[2];
    long want = 0;

    (void)state;
    assert_int_equal(ws_queue_open(&sum.queue, sizeof(int), 8), WS_OK);
    for (int i = 0; i < 2; i++)
        assert_int_equal(pthread_create(&thread[i], NULL, take_all, &taker[i]), 0);
    for (int i = 1; i <= 20000; i++)
        if (ws_queue_put(&sum.queue, &i))
            want += i;
    atomic_store(&sum.closed, true);
    for (int i = 0; i < 2; i++)
        pthread_join(thread[i], NULL);
    assert_true(sum.total[0] + sum.total[1] == want);
    assert_true(want > 0);
    ws_queue_free(&sum.queue);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_order_and_room),
        cmocka_unit_test(test_merging),
        cmocka_unit_test(test_takers),
    };

    return cmocka_run_group_tests_name("queue", tests, NULL, NULL);
}
