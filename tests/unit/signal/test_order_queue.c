/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the order queue holds the last numbers in order through any sequence of coming and
 * going, with many equal ones. */
#include <support/check.h>

#include <string.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/sample_quantile.h>
#include <signal/order_queue.h>

enum { ROOM = 37, STEPS = 20000 };

/* The numbers first..last-1 of the stream are those held. */
static void check_held(const order_queue *queue, const double *stream, size_t first, size_t last) {
    double sorted[ROOM];
    assert_int_equal(queue->count, last - first);
    memcpy(sorted, stream + first, (last - first) * sizeof *sorted);
    shot_sample_quantile_sort(sorted, last - first);
    for (size_t k = 0; k < last - first; k++)
        assert_true(queue->sorted[k] == sorted[k]);
}

static void holds_the_last_in_order(void **state) {
    static double stream[STEPS];
    shot_random random = shot_random_at(22, 0);
    order_queue queue = {0};
    size_t first = 0, last = 0;
    assert_int_equal(order_queue_init(&queue, ROOM), SHOT_OK);
    while (last < STEPS) {
        /* now a few values only, now all different */
        const double value =
            last / 1000 % 2 ? (double)shot_random_below(&random, 4) : shot_random_normal(&random);
        const bool drop = shot_random_chance(&random, 0.5) && last > first;
        const bool push = last - first < ROOM && shot_random_chance(&random, 0.5);
        if (push || (drop && last - first == ROOM))
            stream[last] = value;
        if (drop && (push || last - first == ROOM)) {
            order_queue_slide(&queue, value);
            first++, last++;
        } else if (push) {
            order_queue_push(&queue, value);
            last++;
        } else if (drop) {
            order_queue_drop(&queue);
            first++;
        }
        check_held(&queue, stream, first, last);
    }
    order_queue_clear(&queue);
    assert_int_equal(queue.count, 0);
    order_queue_free(&queue);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(holds_the_last_in_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
