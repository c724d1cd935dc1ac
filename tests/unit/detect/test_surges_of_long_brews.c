/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: in a brew that is searched in pieces each surge is told once, wherever it lies beside
 * their borders, and nothing else. */
#include <support/check.h>
#include <support/feed.h>
#include <support/mark_text.h>

#include <math.h>

#include <shottrace/signal/random.h>

/* s: at the borders of the pieces, 80 s apart from the brew's beginning on at about 3 s, and
 * elsewhere. */
static const double onsets[] = {40, 83, 120, 162.8, 200, 243.2, 270};
enum { SURGES = sizeof onsets / sizeof *onsets };

static double conductance(double t) {
    double g = 0.25;
    for (int k = 0; k < SURGES; k++) {
        const double since = t - onsets[k];
        if (since > 0)
            g *= 1 + 0.3 * fmin(since / 0.6, 1) * exp(-fmax(0, since - 0.6) / 5);
    }
    return g;
}

/* Five minutes, five rows a second. */
static void write_long(shot_text *text) {
    shot_random random = shot_random_at(5, 0);
    shot_text_add(text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i <= 1500; i++) {
        const double t = i / 5.0, held = 9 * fmax(0, fmin((t - 1) / 2, fmin(1, (297 - t) / 0.3)));
        shot_text_add_format(text, "%.1f,%.2f,%.2f\n", t,
                             fmax(0, held) + 0.02 * shot_random_normal(&random),
                             fmax(0, held) * conductance(t) + 0.05 * shot_random_normal(&random));
    }
}

static void each_is_told_once(void **state) {
    shot_text text = {0};
    write_long(&text);
    feed got = feed_log("surges", &text);
    assert_int_equal(got.status, SHOT_OK);
    assert_int_equal(final_count(got.out.bytes, "surge"), SURGES);
    for (int k = 0; k < SURGES; k++) {
        double nearest = INFINITY;
        for (int i = 0; i < SURGES; i++)
            nearest =
                fmin(nearest,
                     fabs(mark_number(final_line(got.out.bytes, "surge", i), "from") - onsets[k]));
        assert_true(nearest < 0.5);
    }
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_is_told_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
