/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: on noise without a surge there are no more alarms than the rate that is stated. */
#include <support/surge_shot.h>

#include <support/mark_text.h>

static int alarms_of(plan p, int shots) {
    int alarms = 0;
    for (int i = 0; i < shots; i++) {
        p.seed = (uint64_t)(1000 * p.rate) + (uint64_t)i;
        feed got = surges(&p, "surges");
        alarms += final_count(got.out.bytes, "surge");
        feed_free(&got);
    }
    return alarms;
}

/* Without a surge, a rate of 1 % is one alarm in a hundred shots; more than three in 61 have a
 * chance of 0.3 % (binomial), so they are a fault. */
static void the_alarm_rate_is_kept_on_white_noise(void **state) {
    int alarms = 0;
    alarms += alarms_of((plan){.meter = true, .rate = 2, .noise = 0.08}, 24);
    alarms += alarms_of((plan){.meter = true, .rate = 10, .noise = 0.08}, 24);
    alarms += alarms_of((plan){.meter = true, .rate = 50, .noise = 0.08}, 12);
    alarms += alarms_of((plan){.meter = true, .rate = 1000, .noise = 0.08}, 1);
    assert_true(alarms <= 3);
}

static void and_on_noise_that_drifts(void **state) {
    int alarms = 0;
    alarms += alarms_of((plan){.meter = true, .rate = 2, .noise = 0.08, .drifts = true}, 24);
    alarms += alarms_of((plan){.meter = true, .rate = 10, .noise = 0.08, .drifts = true}, 24);
    alarms += alarms_of((plan){.meter = true, .rate = 50, .noise = 0.08, .drifts = true}, 12);
    alarms += alarms_of((plan){.meter = true, .rate = 1000, .noise = 0.08, .drifts = true}, 1);
    assert_true(alarms <= 3);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_alarm_rate_is_kept_on_white_noise),
        cmocka_unit_test(and_on_noise_that_drifts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
