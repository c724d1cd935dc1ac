/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: shot-clean changes what it lists and nothing else, and takes a zero from an idle part
 * at the start alone: where there is none, the channel stays and a note says why. */
#include <support/feed.h>

#include <stdio.h>
#include <stdlib.h>

#include <shottrace/signal/random.h>

/* ---- what is changed is listed ---- */

enum { ROWS = 300, CHANNELS = 3, MOST = 2 * ROWS };

static const char *const names[CHANNELS] = {"pressure", "flow", "mood"};

typedef struct row {
    double t, y[CHANNELS];
    bool late, again; /* it came behind later ones; its time was there already */
} row;

/* A log with spikes in its pressure, rows that come late and rows of a time that was there. */
static size_t make_log(shot_random *random, row *log) {
    size_t n = 0;
    for (int i = 0; i < ROWS; i++) {
        row one = {.t = i / 10.0};
        one.y[0] = 5 + 0.02 * shot_random_normal(random);
        one.y[1] = shot_random_chance(random, 0.1) ? NAN : 2 + 0.05 * shot_random_normal(random);
        one.y[2] = (double)shot_random_below(random, 7);
        one.y[0] += i % 37 == 18 ? 4 : 0;
        log[n++] = one;
        if (i % 41 == 20 && i % 37 < 10) {
            log[n] = one;
            log[n].again = true;
            log[n++].y[0] += shot_random_chance(random, 0.5) ? 0.5 : 0;
        } else if (i % 53 == 30 && i % 37 != 18 && !log[n - 2].again) {
            const row held = log[n - 2];
            log[n - 2] = log[n - 1];
            log[n - 1] = held;
            log[n - 1].late = true;
        }
    }
    return n;
}

static shot_text written(const row *log, size_t n) {
    shot_text text = {0};
    shot_text_add(&text, "time,pressure,flow,mood\n");
    for (size_t i = 0; i < n; i++) {
        shot_text_add_number(&text, log[i].t);
        for (size_t c = 0; c < CHANNELS; c++) {
            shot_text_add(&text, ",");
            shot_text_add_number(&text, log[i].y[c]);
        }
        shot_text_add(&text, "\n");
    }
    return text;
}

/* The field of a line of text, NaN where empty. */
static double field(const char *line, size_t number) {
    double value = NAN;
    for (; number > 0; number--)
        line = strchr(line, ',') + 1;
    shot_number_read(line, line + strcspn(line, ",\n"), &value);
    return value;
}

/* Is there such a mark? */
static bool is_marked(const char *out, const char *kind, double t, const char *channel) {
    char start[40];
    snprintf(start, sizeof start, "# mark: %s ", kind);
    for (const char *c = out; (c = strstr(c, start)) != NULL; c++) {
        const char *from = strstr(c, " from=") + 6, *end = strchr(c, '\n');
        const char *of = strstr(c, " channel=");
        if (strtod(from, NULL) == t &&
            (channel == NULL ||
             (of != NULL && of < end && strncmp(of + 9, channel, strlen(channel)) == 0)))
            return true;
    }
    return false;
}

static size_t count_marks(const char *out, const char *kind) {
    char start[40];
    size_t count = 0;
    snprintf(start, sizeof start, "# mark: %s ", kind);
    for (const char *c = out; (c = strstr(c, start)) != NULL; c++)
        count++;
    return count;
}

/* The first row of that time in the log. */
static const row *row_at(const row *log, size_t n, double t) {
    for (size_t i = 0; i < n; i++)
        if (log[i].t == t)
            return &log[i];
    fail_msg("a row at %g s was invented", t);
    return NULL;
}

/* Each field of the output is that of the input to the bit, or a mark says what was done; a marked
 * spike is missing, left (fate 'k') or another value (fate 'r').  `spikes` counts them. */
static size_t check_rows(const char *out, const row *log, size_t n, char fate, size_t *spikes) {
    size_t rows = 0;
    double last = -1;
    for (const char *line = strstr(out, "\ntime") + 1; line[0] != '\0';
         line = strchr(line, '\n') + 1) {
        if (line[0] == '#' || line[0] == 't')
            continue;
        const double t = field(line, 0);
        const row *was = row_at(log, n, t);
        assert_true(t > last);
        last = t;
        rows++;
        for (size_t c = 0; c < CHANNELS; c++) {
            const double is = field(line, c + 1);
            const bool same = is == was->y[c] || (isnan(is) && isnan(was->y[c]));
            const bool spike = c < 2 && is_marked(out, "spike", t, names[c]);
            *spikes += spike;
            if (spike && fate != 'k')
                assert_true(fate == 'r' ? !isnan(is) && !same : isnan(is));
            else if (!same)
                assert_true(is_marked(out, "repeat", t, NULL));
        }
    }
    return rows;
}

static void every_change_is_listed_and_nothing_else_is_changed(void **state) {
    static const char *const chains[] = {"clean --marks", "clean --marks --keep",
                                         "clean --marks --replace"};
    shot_random random = shot_random_at(71, 1);
    size_t found = 0;
    for (int trial = 0; trial < 30; trial++) {
        row log[MOST];
        size_t late = 0, again = 0, spikes = 0;
        const size_t n = make_log(&random, log);
        for (size_t i = 0; i < n; i++) {
            late += log[i].late;
            again += log[i].again;
        }
        shot_text in = written(log, n);
        feed got = feed_chain(chains[trial % 3], in.bytes, in.length, 0);
        assert_int_equal(got.status, SHOT_OK);
        assert_int_equal(check_rows(got.out.bytes, log, n, "mkr"[trial % 3], &spikes), n - again);
        assert_int_equal(count_marks(got.out.bytes, "spike"), spikes);
        assert_int_equal(count_marks(got.out.bytes, "repeat"), again);
        assert_int_equal(count_marks(got.out.bytes, "disorder"), late);
        assert_true(late > 0 && again > 0);
        found += spikes;
        feed_free(&got);
        shot_text_free(&in);
    }
    assert_true(found > 200); /* 8 were planted in each log */
}

/* ---- the zero ---- */

enum { SECONDS = 20 };

/* Pressure at 10 Hz with noise of 0.01 bar about a course, and a flow that must not change. */
static shot_text course(double (*pressure)(double t)) {
    shot_text text = {0};
    shot_random random = shot_random_at(71, 2);
    shot_text_add(&text, "time [s],pressure [bar],flow [ml/s]\n");
    for (int i = 0; i < 10 * SECONDS; i++) {
        const double p = pressure(i / 10.0);
        shot_text_add_format(&text, "%g,", i / 10.0);
        if (!isnan(p))
            shot_text_add_format(&text, "%.2f", p + 0.01 * shot_random_normal(&random));
        shot_text_add_format(&text, ",%.2f\n", 1 + 0.1 * shot_random_normal(&random));
    }
    return text;
}

static double idle_first(double t) {
    return 0.31 + (t < 3 ? 0 : fmin(9, 3 * (t - 3)));
}

static double idle_last(double t) {
    return t < 14 ? 9 : 0.31;
}

static double idle_between(double t) {
    return t < 4 ? 2 + 2 * t : t < 12 ? 0.31 : 9;
}

static double rises_at_once(double t) {
    return 0.31 + fmin(9, 6 * t);
}

static double never_there(double t) {
    (void)t;
    return NAN;
}

static void a_zero_comes_from_an_idle_start_alone(void **state) {
    static const struct {
        double (*pressure)(double t);
        const char *note;
        bool taken;
    } cases[] = {
        {idle_first, "pressure: a zero of 0.3", true},
        {idle_last, "pressure keeps its zero: the log starts at 9", false},
        {idle_between, "pressure keeps its zero: fewer than 5 samples at the start", false},
        {rises_at_once, "pressure keeps its zero: fewer than 5 samples at the start", false},
        {never_there, "pressure keeps its zero: fewer than 5 samples at the start", false},
    };
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        shot_text in = course(cases[k].pressure);
        feed with = feed_chain("clean --zero pressure", in.bytes, in.length, 0);
        feed without = feed_chain("clean", in.bytes, in.length, 0);
        assert_int_equal(with.status, SHOT_OK);
        if (strstr(with.out.bytes, cases[k].note) == NULL)
            fail_msg("case %zu: %s", k, strstr(with.out.bytes, "# note"));
        const char *a = strstr(with.out.bytes, "\ntime"), *b = strstr(without.out.bytes, "\ntime");
        for (; *a != '\0' && *a != '#'; a = strchr(a, '\n') + 1, b = strchr(b, '\n') + 1) {
            if (*a == '\n' || *a == 't')
                continue;
            const double shift = field(b, 1) - field(a, 1);
            assert_true(field(a, 2) == field(b, 2));
            if (cases[k].taken)
                assert_close(shift, 0.31, 0.01); /* the median of noise of 0.01 bar */
            else if (!isnan(shift))
                assert_true(shift == 0);
        }
        feed_free(&with);
        feed_free(&without);
        shot_text_free(&in);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_change_is_listed_and_nothing_else_is_changed),
        cmocka_unit_test(a_zero_comes_from_an_idle_start_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
