/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the Bayes factor of an opening in the last moments is large where there is one, is as
 * seldom large without as Markov's inequality says, and gathers what two channels show. */
#include <support/check.h>
#include <support/held_brew.h>

#include "detect/surge_latest.h"

enum { SAMPLES = 60 };
static const double pressure = 9, conductance = 0.25, rate = 10; /* bar, ml/s/bar, Hz */

/* Flow at held pressure, of which an opening of relative size `gain` adds to the last 0.8 s within
 * 0.4 s. */
static void brew(held_brew *self, double noise, double gain, uint64_t seed) {
    held_brew_make(self, SAMPLES, SAMPLES / rate - 0.8, 0.4, gain, noise, seed);
}

static surge_latest find(held_brew *first, held_brew *second) {
    conductance_data *channels[] = {&first->data, second != NULL ? &second->data : NULL};
    surge_latest out;
    const double end = first->t[SAMPLES - 1];
    assert_int_equal(
        surge_latest_find(channels, second != NULL ? 2 : 1, end - 1.5, end - 0.5, &out), SHOT_OK);
    return out;
}

/* A fifth of the resistance is a gain of a quarter: four samples behind it, of noise of 3 %, know
 * it to 0.25 +- 0.015 with its shape known, and to a factor of two without. */
static void an_opening_is_told(void **state) {
    held_brew flow;
    brew(&flow, 0.03 * conductance * pressure, 0.25, 1);
    const surge_latest found = find(&flow, NULL);
    assert_true(found.evidence > log(1000));
    assert_close(found.opening.onset, SAMPLES / rate - 0.8, 0.3);
    assert_in_range((int)(100 * found.gain), 12, 50);
}

/* P(Bayes factor >= 20) <= 1 / 20 (Markov), so that 200 logs have 10 +- 3. */
static void noise_seldom_looks_like_one(void **state) {
    int high = 0;
    for (uint64_t seed = 0; seed < 200; seed++) {
        held_brew flow;
        brew(&flow, 0.05 * conductance * pressure, 0, 100 + seed);
        high += find(&flow, NULL).evidence > log(20);
    }
    assert_in_range(high, 0, 16);
}

static void two_channels_tell_more_than_either(void **state) {
    held_brew one, two;
    brew(&one, 0.06 * conductance * pressure, 0.25, 3);
    brew(&two, 0.06 * conductance * pressure, 0.25, 4);
    const double both = find(&one, &two).evidence;
    assert_true(both > find(&one, NULL).evidence && both > find(&two, NULL).evidence);
}

static void no_onset_is_nothing_to_tell(void **state) {
    held_brew flow;
    surge_latest out;
    brew(&flow, 0.1, 0.25, 5);
    conductance_data *channels[] = {&flow.data};
    assert_int_equal(surge_latest_find(channels, 1, 3, 3, &out), SHOT_OK);
    assert_true(out.evidence < 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_opening_is_told),
        cmocka_unit_test(noise_seldom_looks_like_one),
        cmocka_unit_test(two_channels_tell_more_than_either),
        cmocka_unit_test(no_onset_is_nothing_to_tell),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
