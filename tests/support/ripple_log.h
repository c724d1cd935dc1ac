/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A log of a shot by formulas with a ripple, and what is found in it. */
#ifndef SHOT_TEST_RIPPLE_LOG_H
#define SHOT_TEST_RIPPLE_LOG_H

#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include <shottrace/signal/random.h>

typedef struct log_of {
    double rate, jitter; /* Hz, of the interval */
    double amplitude, frequency, from, to;
    double noise, step;
} log_of;

/* A shot of 30 s: ramp, slow decline, release, with a ripple in between. */
static inline double shot_at(double t) {
    if (t < 5)
        return 1.8 * t;
    return t < 27 ? 9 - 0.05 * (t - 5) : fmax(0, 7.9 - 8 * (t - 27));
}

static inline void write_log(log_of l, shot_random *random, shot_text *in) {
    const double two_pi = 6.283185307179586;
    const double phase = shot_random_uniform(random);
    shot_text_add(in, "time [s],pressure [bar]\n");
    for (int i = 0; i < 30 * l.rate; i++) {
        const double t =
            round(1e4 * (i + l.jitter * shot_random_between(random, -1, 1)) / l.rate) / 1e4;
        double y = shot_at(t) + l.noise * shot_random_normal(random);
        if (t >= l.from && t < l.to)
            y += l.amplitude * sin(two_pi * (l.frequency * t + phase));
        shot_text_add_number(in, t);
        shot_text_add(in, ",");
        shot_text_add_number(in, l.step > 0 ? round(y / l.step) * l.step : y);
        shot_text_add(in, "\n");
    }
}

/* What was found in it: the first mark, how many there are. */
typedef struct found {
    int marks;
    double from, to, value, low, high;
    double from_low, from_high, to_low, to_high;
} found;

static inline found look(const char *chain, log_of l, shot_random *random,
                         const char *wanted_note) {
    shot_text in = {0};
    write_log(l, random, &in);
    feed result = feed_log(chain, &in);
    const char *mark = mark_line(result.out.bytes, "ripple", 0);
    const found f = {mark_count(result.out.bytes, "ripple"),
                     mark_number(mark, "from"),
                     mark_number(mark, "to"),
                     mark_number(mark, "value"),
                     mark_number(mark, "value.low"),
                     mark_number(mark, "value.high"),
                     mark_number(mark, "from.low"),
                     mark_number(mark, "from.high"),
                     mark_number(mark, "to.low"),
                     mark_number(mark, "to.high")};
    if (wanted_note != NULL && (mark == NULL || strstr(mark, wanted_note) == NULL)) {
        print_error("no '%s' in %s\n", wanted_note, mark ? mark : result.out.bytes);
        fail();
    }
    feed_free(&result);
    return f;
}

#endif
