/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a row comes out no later than `--latency` says, in the time of the log: at any rate,
 * with jitter, with a scale that sends once a second and one that falls silent, at the start and
 * later. */
#include <support/check.h>
#include <support/feed.h>

#include <math.h>
#include <stdio.h>

#include <shottrace/signal/random.h>

typedef struct telling {
    const char *name;
    double rate, jitter;        /* Hz; of the time between rows */
    double scale_every;         /* s between weights; 0: one a row */
    double silent_from, silent; /* s: no weights for so long */
} telling;

static const telling tellings[] = {
    {"2 Hz", 2, 0, 0, 0, 0},          {"10 Hz", 10, 0, 0, 0, 0},
    {"100 Hz", 100, 0, 0, 0, 0},      {"10 Hz, jitter", 10, 0.3, 0, 0, 0},
    {"a slow scale", 10, 0, 1, 0, 0}, {"a slow scale, 50 Hz", 50, 0.3, 1, 0, 0},
    {"silence", 10, 0, 0, 10, 4},     {"silence, 50 Hz", 50, 0.3, 0, 10, 4},
};

typedef struct listener {
    shot_sink sink;
    double now, at_start, later; /* s: of the row that went in last; how late the others came */
    bool over;
} listener;

static shot_status hear(shot_sink *sink, const shot_block *block, shot_error *error) {
    listener *self = (listener *)sink;
    (void)error;
    for (size_t i = 0; i < block->rows && !self->over; i++) {
        double *most = block->column[0][i] < 9 ? &self->at_start : &self->later;
        *most = fmax(*most, self->now - block->column[0][i]);
    }
    return SHOT_OK;
}

static const shot_sink_calls calls = {.rows = hear};

static bool has_weight(const telling *how, double t, double last) {
    if (t >= how->silent_from && t < how->silent_from + how->silent)
        return false;
    return how->scale_every == 0 || !(t - last < how->scale_every - 0.5 / how->rate);
}

static void push(shot_chain *chain, const char *line) {
    assert_int_equal(shot_chain_push(chain, line, strlen(line), NULL), SHOT_OK);
    assert_int_equal(shot_chain_pause(chain, NULL), SHOT_OK);
}

/* 30 s of a log, a row at a time. */
static listener listen(const char *filters, const telling *how) {
    listener heard = {.sink = {&calls}};
    const shot_chain_ends ends = {.sink = &heard.sink};
    shot_random random = shot_random_at(3, 1);
    shot_chain *chain = NULL;
    double last = -INFINITY;
    assert_int_equal(shot_chain_new(filters, &ends, &chain, NULL), SHOT_OK);
    push(chain, "time [s],pressure [bar],weight [g]\n");
    for (double k = 0; k < 30 * how->rate; k++) {
        const double t = (k + how->jitter * shot_random_uniform(&random)) / how->rate;
        const double noise = 0.02 * shot_random_normal(&random);
        char row[80], weight[32] = "";
        heard.now = t;
        if (has_weight(how, t, last)) {
            snprintf(weight, sizeof weight, "%.2f", t + noise);
            last = t;
        }
        snprintf(row, sizeof row, "%.4f,%.2f,%s\n", t, 9 + noise, weight);
        push(chain, row);
    }
    heard.over = true;
    assert_int_equal(shot_chain_finish(chain, NULL), SHOT_OK);
    shot_chain_free(chain);
    return heard;
}

static double slowest(const telling *how) {
    return fmax(how->scale_every, 1 / how->rate);
}

/* What is told, for the log at hand: rows at the start and later. */
typedef struct limit {
    double at_start, later; /* s */
} limit;

static limit of_clean(const telling *how) {
    const double spacing = slowest(how), row = 2 / how->rate, silent = how->silent > 0 ? 3 : 0;
    const bool sparse = spacing > 1.0 / 6;
    return (limit){sparse ? 0.5 + 4 * spacing : 1,
                   fmax(silent, sparse ? 0.5 + 2 * spacing : 1) + row};
}

static limit of_fit_in_time(const telling *how) {
    return (limit){0.7 + 1 / how->rate, 0.35 + 1 / how->rate};
}

static limit of_fit_in_samples(const telling *how) {
    return (limit){10 * slowest(how), 5 * slowest(how) + how->silent};
}

static limit of_resample(const telling *how) {
    return (limit){8 * slowest(how) + 1, 2 * slowest(how) + 1};
}

static void rows_come_no_later_than_is_told(void **state) {
    static const struct {
        const char *filters;
        limit (*told)(const telling *how);
    } cases[] = {{"clean", of_clean},
                 {"smooth --window 0.7s", of_fit_in_time},
                 {"diff", of_fit_in_time},
                 {"smooth --window 11", of_fit_in_samples},
                 {"resample --rate 10", of_resample}};
    (void)state;
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++)
        for (size_t i = 0; i < sizeof tellings / sizeof *tellings; i++) {
            const telling *how = &tellings[i];
            const listener got = listen(cases[c].filters, how);
            const limit told = cases[c].told(how);
            const double row = (1 + 2 * how->jitter) / how->rate;
            if (!(got.at_start <= fmax(told.at_start, told.later) + row &&
                  got.later <= told.later + row))
                fail_msg("%s, %s: rows came %.3f s late at the start and %.3f s later, told %.3f "
                         "and %.3f",
                         cases[c].filters, how->name, got.at_start, got.later, told.at_start,
                         told.later);
        }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(rows_come_no_later_than_is_told)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
