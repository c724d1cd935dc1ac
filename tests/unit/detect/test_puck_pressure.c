/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: behind a restrictor a meter that lags or counts over a gate makes no soak out of the
 * start of the pump, and the intervals hold what such a meter leaves open; a pump's ripple is no
 * crossing of a level; where the basket was full before, no restrictor is seen in what runs later.
 *
 * The rig by physics alone: a pump that comes to 8.8 bar at 2 s, an orifice with loss k Q^2 (ISO
 * 5167-1), a basket of 20 ml, then a puck of constant resistance with an elastic room (Darcy 1856).
 */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>
#include <string.h>

#include <shottrace/signal/random.h>

enum { STEPS = 30000 };
#define STEP 0.001 /* s */

/* One course, without noise. */
typedef struct rig {
    double pump[STEPS], puck[STEPS], flow[STEPS];
    double full, reached; /* s */
} rig;

/* Full pressure by the definition of docs/format.md, of a puck that only rises while the pump runs.
 */
static double reached_at(const rig *self) {
    const int next = (int)(3 / STEP), end = (int)(25 / STEP);
    int level = 0, i = 0;
    while (level + next < end && (self->puck[level] < 0.6 * self->puck[end - 1] ||
                                  self->puck[level + next] > 1.03 * self->puck[level]))
        level++;
    while (self->puck[i] < 0.95 * self->puck[level])
        i++;
    return i * STEP;
}

static void run_rig(double k, rig *out) {
    static const double room = 1, resists = 3.5, basket = 20; /* ml/bar, bar.s/ml, ml */
    double water = 0, puck = 0;
    *out = (rig){.full = NAN, .reached = NAN};
    for (int i = 0; i < STEPS; i++) {
        const double t = i * STEP, up = 8.8 * (1 - exp(-(t - 2) / 0.2));
        const double pump = t < 2 ? 0 : t > 25 ? puck : up;
        const double flow = t > 25 || pump <= puck ? 0 : sqrt((pump - puck) / k);
        water += flow * STEP;
        if (water > basket) {
            out->full = isnan(out->full) ? t : out->full;
            puck += (flow - puck / resists - (t > 25 ? 10 * puck : 0)) / room * STEP;
        }
        out->pump[i] = t > 25 ? puck : pump, out->puck[i] = puck, out->flow[i] = flow;
    }
    out->reached = reached_at(out);
}

/* What a meter shows: behind a first-order lag, or counts of 0.25 ml over gates of half a second.
 */
typedef enum meter_kind { LAGS, COUNTS } meter_kind;

static feed log_of(const rig *self, double rate, meter_kind kind, uint64_t seed) {
    static const double lag = 0.4, gate = 0.5, count = 0.25; /* s, s, ml */
    shot_random random = shot_random_at(seed, 0);
    shot_text text = {0};
    double follows = 0, water = 0.1 * (double)seed, last = floor(water / count), figure = 0;
    shot_text_add(&text, "# gauge: pump\ntime,pressure,flow\n");
    for (int i = 0; i < STEPS; i++) {
        follows += (self->flow[i] - follows) * STEP / lag;
        water += self->flow[i] * STEP;
        if (i % (int)(gate / STEP) == 0) {
            figure = count * (floor(water / count) - last) / gate;
            last = floor(water / count);
        }
        if (i % (int)(1 / rate / STEP) != 0)
            continue;
        const double noise = 0.04 * shot_random_normal(&random);
        const double off = 0.05 * shot_random_normal(&random);
        shot_text_add_format(&text, "%.3f,%.3f,%.2f\n", i * STEP, self->pump[i] + noise,
                             kind == LAGS ? follows + off : figure);
    }
    return feed_log("segment", &text);
}

static bool holds(const char *mark, double truth) {
    return mark_number(mark, "to.low") <= truth && truth <= mark_number(mark, "to.high");
}

/* The least share that 20 logs with a coverage of 0.95 fall under in one of a thousand cases. */
enum { LOGS = 20, LEAST = 15 };

static void expect_held(double rate, meter_kind kind) {
    int fills = 0, reached = 0;
    for (int i = 0; i < LOGS; i++) {
        static rig self;
        run_rig(0.09 + 0.003 * i, &self);
        feed got = log_of(&self, rate, kind, (uint64_t)i);
        double from, to;
        assert_false(mark_of(got.out.bytes, "soak", &from, &to));
        fills += holds(last_line(got.out.bytes, "fill"), self.full);
        reached += holds(last_line(got.out.bytes, "preinfusion"), self.reached);
        feed_free(&got);
    }
    print_message("%g Hz: end of fill held %d, full pressure held %d of %d\n", rate, fills, reached,
                  (int)LOGS);
    assert_true(fills >= LEAST && reached >= LEAST);
}

static void a_meter_that_lags_makes_no_soak(void **state) {
    expect_held(10, LAGS);
    expect_held(20, LAGS);
}

static void a_meter_that_counts_makes_no_soak(void **state) {
    expect_held(20, COUNTS);
    expect_held(100, COUNTS);
}

/* The line to the restrictor takes water as well when the pump comes on, and nothing says where the
 * gauge sits. */
static void expect_charged(const rig *self, double rate, uint64_t seed) {
    shot_random random = shot_random_at(seed, 0);
    shot_text text = {0};
    shot_text_add(&text, "time,pressure,flow\n");
    for (int i = 0; i < STEPS; i += (int)(1 / rate / STEP)) {
        const double t = i * STEP, line = t > 2 && t < 25 ? 14 * exp(-(t - 2) / 0.15) : 0;
        const double noise = 0.03 * shot_random_normal(&random);
        const double off = 0.1 * shot_random_normal(&random);
        shot_text_add_format(&text, "%.3f,%.3f,%.2f\n", t, self->pump[i] + noise,
                             self->flow[i] + line + off);
    }
    feed got = feed_log("segment", &text);
    assert_non_null(strstr(got.out.bytes, "as if the gauge sat before a restrictor"));
    assert_close(mark_number(last_line(got.out.bytes, "preinfusion"), "to"), self->reached, 0.4);
    feed_free(&got);
}

static void a_line_that_is_charged_hides_no_restrictor(void **state) {
    static const double rates[] = {5, 10, 20, 50};
    static rig self;
    run_rig(0.12, &self);
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++)
        expect_charged(&self, rates[r], r);
}

/* In a fill of 4 s noise alone decides where the restrictor shows least. */
static void a_long_fill_hides_no_restrictor(void **state) {
    static rig self;
    run_rig(0.35, &self);
    for (uint64_t seed = 0; seed < 12; seed++)
        expect_charged(&self, 20, seed);
}

/* Strokes of a pump at 50 Hz, less a slip of 0.6 %, logged at 100 Hz, on a pressure that comes up
 * as an exponential.  Of 1 - exp(-u / T) what follows first exceeds no more than 3 % at 1 / 1.03.
 */
static void a_ripple_crosses_no_level(void **state) {
    const double pi = 3.14159265358979323846, way = 1 / 1.03;
    for (double takes = 0.2; takes < 0.55; takes += 0.1) {
        const double reached = 5 - takes * log(1 - 0.95 * way);
        double off = 0;
        for (uint64_t seed = 0; seed < LOGS; seed++) {
            shot_random random = shot_random_at(seed, 0);
            shot_text text = {0};
            shot_text_add(&text, "# gauge: puck\ntime,pressure\n");
            for (int i = 0; i < 3000; i++) {
                const double t = i * 0.01, noise = 0.06 * shot_random_normal(&random);
                const double up = 9 * (1 - exp(-(t - 5) / takes)), strokes = sin(2 * pi * 49.7 * t);
                shot_text_add_format(&text, "%.2f,%.3f\n", t,
                                     noise + (t > 5 && t < 25 ? up + 0.15 * strokes : 0));
            }
            feed got = feed_log("segment", &text);
            off += mark_number(last_line(got.out.bytes, "brew"), "from") - reached;
            feed_free(&got);
        }
        print_message("%.1f s: %+.3f s off in the mean\n", takes, off / LOGS);
        assert_close(off / LOGS, 0, 0.03);
    }
}

/* A pump without a restrictor wets the puck by 1.3 ml/s, which comes under 0.8 bar, and gives 8
 * ml/s at 17.6 s; the bed drinks for two seconds more.  What ran in slowly met less than any
 * restrictor takes that the fast flow may look like, and then the puck. */
static void a_basket_that_was_full_shows_no_restrictor(void **state) {
    shot_random random = shot_random_at(3, 3);
    shot_text text = {0};
    shot_text_add(&text, "time,pressure,flow\n");
    for (int i = 0; i < 400; i++) {
        const double t = 0.1 * i, u = t - 17.6;
        const double wetted = t < 12.5 ? 0 : 0.8 * (t - 12.5) / 5.1;
        const double p = u < 0 ? wetted : 0.8 + 6.7 * (1 - exp(-u / 0.5));
        const double drinks = 3.5 + 3 * exp(-fmax(0, u - 1) / 0.5);
        const double q = t < 3 ? 0 : u < 0 ? 1.3 : u < 1 ? 8 - 6.7 * exp(-u / 0.12) : drinks;
        shot_text_add_format(&text, "%.1f,%.1f,%.1f\n", t, p + 0.03 * shot_random_normal(&random),
                             q + 0.05 * shot_random_normal(&random));
    }
    feed got = feed_log("segment", &text);
    assert_null(strstr(got.out.bytes, "restrictor"));
    assert_close(mark_number(last_line(got.out.bytes, "brew"), "from"), 18.8, 0.25);
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_meter_that_lags_makes_no_soak),
        cmocka_unit_test(a_meter_that_counts_makes_no_soak),
        cmocka_unit_test(a_line_that_is_charged_hides_no_restrictor),
        cmocka_unit_test(a_long_fill_hides_no_restrictor),
        cmocka_unit_test(a_ripple_crosses_no_level),
        cmocka_unit_test(a_basket_that_was_full_shows_no_restrictor),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
