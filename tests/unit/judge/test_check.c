/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the figures of a log whose faults are known. */
#include <support/feed.h>

#include <shottrace/signal/detectable.h>
#include <shottrace/signal/random.h>
#include <shottrace/trace/block.h>

#include "judge/check_parts.h"

enum { RATE = 20, SECONDS = 40 };
static const double noise = 0.05;

/* Pressure of known noise, in steps of 0.001, with a zero of 0.2, a gap and a stretch over 8.9 bar
 * that is clipped; a weight that comes at 2 g/s from 8 s on. */
static shot_text made(void) {
    shot_text text = {0};
    shot_random random = shot_random_at(3, 0);
    shot_text_add(&text, "# shot: q\ntime [s],pressure [bar],weight [g]\n");
    for (int i = 0; i < RATE * SECONDS; i++) {
        const double t = (double)i / RATE;
        const double shape = t < 4 ? 0.2 : t < 6 ? 0.2 + 3 * (t - 4) : t < 34 ? 6.2 : 0.2;
        const double p = t >= 20 && t < 24 ? 8.9 : shape + noise * shot_random_normal(&random);
        const double w = (t < 8 ? 0 : 2 * (t - 8)) + 0.02 * shot_random_normal(&random);
        if (t < 28 || t > 29.01)
            shot_text_add_format(&text, "%.2f,%.3f,%.2f\n", t, p, w);
    }
    return text;
}

static double value(const feed *got, const char *start) {
    const char *row = strstr(got->out.bytes, start);
    double out = NAN;
    if (row == NULL)
        fail_msg("there is no row %s", start);
    shot_number_read(row + strlen(start), got->out.bytes + got->out.length, &out);
    return out;
}

/* The noise of 780 samples is known to 1 / sqrt(2 * 780) = 2.5 % by moments, and to about 1.6 times
 * that by medians (their efficiency is 0.37): three of these are 13 %. */
static void figures_of_a_known_log(void **state) {
    shot_text in = made();
    feed got = feed_chain("check --format csv --mains 50", in.bytes, in.length, 0);
    assert_int_equal(got.status, SHOT_OK);
    assert_close(value(&got, "q,pressure,rate,"), RATE, 0); /* rounding of times is not in it */
    assert_close(value(&got, "q,pressure,jitter,"), 0, 0);
    assert_close(value(&got, "q,pressure,gaps,"), 1, 0);
    assert_close(value(&got, "q,pressure,gap.longest,"), 1.1, 1e-6);
    assert_close(value(&got, "q,pressure,resolution,"), 0.001, 1e-9);
    assert_rel(value(&got, "q,pressure,noise,"), noise, 0.13);
    /* the median of 40 samples: 1.25 noise / sqrt(40), three of these */
    assert_close(value(&got, "q,pressure,zero,"), 0.2, 3 * 1.25 * noise / sqrt(40));
    assert_close(value(&got, "q,pressure,clipped,"), 4 - 1.0 / RATE, 1e-6);
    assert_close(value(&got, "q,pressure,stuck,"), 0, 0);
    assert_close(value(&got, "q,pressure,alias,"), 10, 0);          /* 50 - 2 * 20 */
    assert_true(isnan(value(&got, "q,,surge.smallest,")) == false); /* by the weight */
    feed_free(&got);
    shot_text_free(&in);
}

/* The limits are those of the kernel with the figures that were printed. */
static void limits_follow_from_the_figures(void **state) {
    shot_text in = made();
    feed got = feed_chain("check --format csv --span 3s", in.bytes, in.length, 0);
    const double sd = value(&got, "q,weight,noise,"), rate = value(&got, "q,weight,rate,");
    const double factor = shot_detectable_factor(0.05, (SECONDS - 1.0 / RATE) / 3, 0.9);
    if (value(&got, "q,weight,noise.correlation,") == 0)
        assert_rel(value(&got, "q,weight,knee.smallest,"),
                   factor * shot_detectable_bend(sd, 1, rate, 3), 1e-9);
    /* 2 g/s to a few per cent, since the median slope is taken */
    const double bend = shot_detectable_bend_time(sd, 1, rate, 3, 2);
    assert_rel(value(&got, "q,,drip.time.error,"), 1.96 * hypot(bend, 1 / (rate * sqrt(12))), 0.1);
    feed_free(&got);
    shot_text_free(&in);
}

/* Times that fall or repeat are counted, and the rest is judged all the same. */
static void a_log_out_of_order(void **state) {
    static const char in[] = "time,pressure\n0,1\n0.1,2\n0.1,2\n0.3,4\n0.2,3\n0.4,5\n0.5,7\n";
    feed got = feed_chain("check --format csv", in, strlen(in), 0);
    assert_int_equal(got.status, SHOT_OK);
    assert_close(value(&got, "1,,rows,"), 7, 0);
    assert_close(value(&got, "1,,times.repeated,"), 1, 0);
    assert_close(value(&got, "1,,times.falling,"), 1, 0);
    assert_close(value(&got, "1,pressure,samples,"), 6, 0);
    assert_close(value(&got, "1,pressure,rate,"), 10, 1e-9);
    feed_free(&got);
}

/* Of three rows at once, every 0.3 s, two have no time of their own, from the 34th on: sixteen
 * spacings tell the mean one, sixteen more that a third of them is far shorter. */
static void rows_that_come_in_bursts_are_counted(void **state) {
    shot_text in = {0};
    shot_text_add(&in, "time,pressure\n");
    for (int i = 0; i < 60; i++)
        shot_text_add_format(&in, "%.3f,%d\n", 0.3 * (i / 3) + 0.001 * (i % 3), i % 7);
    feed got = feed_chain("check --format csv", in.bytes, in.length, 0);
    assert_close(value(&got, "1,,times.near,"), (60 - 33) * 2 / 3, 0);
    assert_non_null(strstr(got.out.bytes, "several at once"));
    feed_free(&got);
    shot_text_free(&in);
}

/* Rows 21 to 30 say what row 20 said, and the next one is far from that. */
static void rows_that_say_it_again_are_counted(void **state) {
    shot_random random = shot_random_at(5, 0);
    shot_text in = {0};
    shot_text_add(&in, "time,pressure,flow\n");
    double pressure = 0, flow = 0;
    for (int i = 0; i < 60; i++) {
        if (i <= 20 || i > 30) {
            pressure = (i > 30 ? 9 : 2) + 0.05 * shot_random_normal(&random);
            flow = 3 + 0.05 * shot_random_normal(&random);
        }
        shot_text_add_format(&in, "%.1f,%.3f,%.3f\n", i / 10.0, pressure, flow);
    }
    feed got = feed_chain("check --format csv", in.bytes, in.length, 0);
    assert_close(value(&got, "1,,rows.frozen,"), 10, 0);
    assert_non_null(strstr(got.out.bytes, "lost its sensors"));
    feed_free(&got);
    shot_text_free(&in);
}

/* Pressure and flow go to nothing from row 21 to 24 and come back. */
typedef struct zeros {
    double rest;    /* of pressure and flow before the shot ... */
    int rows, lost; /* ... in so many rows; of the gap, those that are a loss */
    bool wanted;    /* the pressure that was asked for goes with them ... */
    bool loses;     /* ... and the weight */
} zeros;

static void expect_losses(const zeros *one) {
    shot_text in = {0};
    shot_text_add(&in, "time,pressure,flow,weight,wanted.pressure\n");
    for (int i = 0; i < 60; i++) {
        const bool before = i<one->rows, zero = i> 20 && i < 25, on = !before && !zero;
        const double rest = before ? one->rest : 0;
        shot_text_add_format(&in, "%.1f,%.2f,%.2f,%.1f,%d\n", i / 10.0, on ? 9 + i % 2 * 0.1 : rest,
                             on ? 3 + i % 3 * 0.1 : rest, one->loses && on ? 20 + 0.2 * i : 0,
                             one->wanted && on ? 9 : 0);
    }
    feed got = feed_chain("check --format csv", in.bytes, in.length, 0);
    assert_close(value(&got, "1,,rows.frozen,"), one->lost, 0);
    feed_free(&got);
    shot_text_free(&in);
}

/* It is the pump that stands where the log shows as much before the shot, or shows no rest, also
 * where that was asked of it; but not where the weight goes and comes back as well, or where rest
 * looks otherwise. */
static void zeros_are_a_loss_where_no_stop_explains_them(void **state) {
    static const zeros logs[] = {
        {.rows = 5},
        {.rows = 5, .loses = true, .lost = 4},
        {.rows = 0},
        {.rows = 0, .loses = true, .lost = 4},
        {.rows = 5, .wanted = true},
        {.rows = 0, .wanted = true},
        {.rows = 1, .wanted = true},
        {.rows = 5, .rest = 0.02, .lost = 4},
    };
    for (size_t i = 0; i < sizeof logs / sizeof *logs; i++)
        expect_losses(&logs[i]);
}

/* In order, and of rows of one time the first, whatever a sort makes of equal ones. */
static void rows_are_put_in_order(void **state) {
    static const double log[][2] = {{3, 30}, {1, 10}, {2, 20}, {1, 11}, {2, 21}, {1, 12}, {0, 0}};
    shot_rows rows;
    assert_int_equal(shot_rows_init(&rows, 2), SHOT_OK);
    for (size_t i = 0; i < sizeof log / sizeof *log; i++)
        assert_int_equal(shot_rows_append_row(&rows, log[i]), SHOT_OK);
    assert_int_equal(check_put_in_order(&rows), SHOT_OK);
    assert_int_equal(rows.rows, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_close(rows.column[0][i], (double)i, 0);
        assert_close(rows.column[1][i], 10 * (double)i, 0);
    }
    shot_rows_free(&rows);
}

/* Nothing, one row, no channel: said, not invented. */
static void next_to_nothing(void **state) {
    static const char *const logs[] = {"time,pressure\n", "time,pressure\n0,9\n", "time\n0\n1\n",
                                       "time,weight\n0,\n1,\n2,\n"};
    for (size_t i = 0; i < sizeof logs / sizeof *logs; i++) {
        feed got = feed_chain("check --format csv", logs[i], strlen(logs[i]), 0);
        assert_int_equal(got.status, SHOT_OK);
        assert_true(isnan(value(&got, "1,,surge.smallest,")));
        assert_null(strstr(got.out.bytes, "knee.smallest"));
        feed_free(&got);
        got = feed_chain("check", logs[i], strlen(logs[i]), 0);
        assert_non_null(strstr(got.out.bytes, "surge: not to be told"));
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(figures_of_a_known_log),
        cmocka_unit_test(limits_follow_from_the_figures),
        cmocka_unit_test(a_log_out_of_order),
        cmocka_unit_test(rows_that_come_in_bursts_are_counted),
        cmocka_unit_test(rows_that_say_it_again_are_counted),
        cmocka_unit_test(zeros_are_a_loss_where_no_stop_explains_them),
        cmocka_unit_test(rows_are_put_in_order),
        cmocka_unit_test(next_to_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
