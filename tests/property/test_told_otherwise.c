/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the same shot told otherwise gives the same facts (metamorphic testing: Chen, Cheung &
 * Yiu 1998, HKUST-CS98-01).  Other units, another order of columns, a scale that does not start at
 * 0 and a column that nobody knows change no figure; another hour of the clock, one row that the
 * logger lost and a hand at the scale change none by more than its interval. */
#include <support/check.h>
#include <support/feed.h>
#include <support/mark_text.h>

#include <shottrace/puck/synth.h>

typedef struct telling {
    const char *name;
    bool exact; /* figures are the same, but for rounding in the last digits of samples */
    bool backwards, stranger; /* the columns; one more */
    double shift, tared;      /* s; g */
    double bar;               /* in the unit of its pressure */
    const char *unit;
    double lost;    /* share of the highest pressure behind which a row is all zeros; NaN: none */
    double put, at; /* g that come onto the scale, or go, at that share of the rows */
} telling;

static const telling plain = {"plain", true, false, false, 0, 0, 1, "bar", NAN, 0, 0};

static const telling tellings[] = {
    {"kPa", true, false, false, 0, 0, 100, "kPa", NAN, 0, 0},
    {"columns backwards", true, true, false, 0, 0, 1, "bar", NAN, 0, 0},
    {"a column that nobody knows", true, false, true, 0, 0, 1, "bar", NAN, 0, 0},
    {"a cup on the scale", true, false, false, 0, 128, 1, "bar", NAN, 0, 0},
    {"an hour of the day", false, false, false, 36000, 0, 1, "bar", NAN, 0, 0},
    {"a clock of 500,000 s", false, false, false, 500000, 0, 1, "bar", NAN, 0, 0},
    {"before the clock's zero", false, false, false, -500.25, 0, 1, "bar", NAN, 0, 0},
    {"a lost row", false, false, false, 0, 0, 1, "bar", 0.6, 0, 0},
    {"a jug before the drops", false, false, false, 0, 0, 1, "bar", NAN, 40, 0.1},
    {"a jug in the stream", false, false, false, 0, 0, 1, "bar", NAN, 40, 0.6},
    {"a tare in the stream", false, false, false, 0, 0, 1, "bar", NAN, -12, 0.7},
    {"a cup taken off", false, false, false, 0, 0, 1, "bar", NAN, -150, 0.97},
};

static double told(const shot_log *log, size_t c, size_t r, const telling *how, size_t lost) {
    const double value = log->column[c][r];
    if (c == 0)
        return value + how->shift;
    if (r == lost)
        return 0;
    if (strcmp(log->name[c], "pressure") == 0)
        return value * how->bar;
    const double put = (double)r >= how->at * (double)log->rows ? how->put : 0;
    return strcmp(log->name[c], "weight") == 0 ? value + how->tared + put : value;
}

/* The row behind the one whose pressure first exceeds that share of its highest. */
static size_t lost_row(const shot_log *log, const telling *how) {
    size_t up = 0;
    double most = 0;
    if (isnan(how->lost))
        return SIZE_MAX;
    for (size_t r = 0; r < log->rows; r++)
        most = fmax(most, log->column[1][r]);
    while (up < log->rows && !(log->column[1][up] > how->lost * most))
        up++;
    return up + 1;
}

static shot_text trace_of(const shot_log *log, const telling *how) {
    shot_text text = {0};
    const size_t lost = lost_row(log, how);
    for (size_t r = 0; r <= log->rows; r++) {
        for (size_t k = 0; k < log->columns; k++) {
            const size_t c = k == 0 || !how->backwards ? k : log->columns - k;
            const bool pressure = strcmp(log->name[c], "pressure") == 0;
            shot_text_add(&text, k > 0 ? "," : "");
            if (r == 0)
                shot_text_add_format(&text, "%s [%s]", log->name[c],
                                     pressure ? how->unit : log->unit[c]);
            else
                shot_text_add_number(&text, told(log, c, r - 1, how, lost));
        }
        shot_text_add(&text, !how->stranger ? "\n" : r == 0 ? ",fan [rpm]\n" : ",700\n");
    }
    return text;
}

/* An instant or a size, with its interval. */
typedef struct figure {
    double value, low, high;
} figure;

static figure figure_of(const char *line, const char *key, double shift) {
    char low[32], high[32];
    snprintf(low, sizeof low, "%s.low", key);
    snprintf(high, sizeof high, "%s.high", key);
    return (figure){mark_number(line, key) - shift, mark_number(line, low) - shift,
                    mark_number(line, high) - shift};
}

static void compare(const figure *a, const figure *b, const telling *how, const char *what) {
    assert_int_equal(isnan(a->value), isnan(b->value));
    if (isnan(a->value))
        return;
    if (!isnan(b->low) && !(b->low <= b->value && b->value <= b->high))
        fail_msg("%s, %s: %.4f is not in %.4f to %.4f", how->name, what, b->value, b->low, b->high);
    const double near = 1e-4 * (1 + fabs(a->value));
    const double least = how->exact || isnan(b->high) ? a->value - near : a->low;
    const double most = how->exact || isnan(b->high) ? a->value + near : a->high;
    if (!(b->high >= least && b->low <= most) && !(b->value >= least && b->value <= most))
        fail_msg("%s, %s: %.4f (%.4f to %.4f), told otherwise %.4f (%.4f to %.4f)", how->name, what,
                 a->value, a->low, a->high, b->value, b->low, b->high);
    if (how->exact)
        assert_close(b->value, a->value, near);
}

static void compare_kind(const char *one, const char *other, const char *kind, const telling *how) {
    static const char *const keys[] = {"from", "to"};
    const int count = final_count(one, kind);
    if (final_count(other, kind) != count)
        fail_msg("%s: %d of %s, told otherwise %d", how->name, count, kind,
                 final_count(other, kind));
    for (int i = 0; i < count; i++) {
        const char *a = final_line(one, kind, i), *b = final_line(other, kind, i);
        for (size_t k = 0; k < 2; k++) {
            const figure was = figure_of(a, keys[k], 0), is = figure_of(b, keys[k], how->shift);
            compare(&was, &is, how, kind);
        }
        const figure was = figure_of(a, "value", 0), is = figure_of(b, "value", 0);
        compare(&was, &is, how, kind);
    }
}

static const char chain[] = "clean | segment | surges";

static void facts_are_the_same_however_a_shot_is_told(void **state) {
    static const char *const kinds[] = {"preinfusion", "fill",       "soak", "brew",
                                        "release",     "first-drip", "surge"};
    const shot_style styles[] = {SHOT_STYLE_RESTRICTOR, SHOT_STYLE_SOAK, SHOT_STYLE_FREE};
    int surges = 0;
    (void)state;
    for (size_t s = 0; s < sizeof styles / sizeof *styles; s++) {
        shot_synth *shot;
        assert_int_equal(shot_synth_new(styles[s], SHOT_GRADE_TYPICAL, 1404, s, &shot), SHOT_OK);
        shot_text text = trace_of(shot->log, &plain);
        feed one = feed_log(chain, &text);
        surges += final_count(one.out.bytes, "surge");
        for (size_t i = 0; i < sizeof tellings / sizeof *tellings; i++) {
            text = trace_of(shot->log, &tellings[i]);
            feed other = feed_log(chain, &text);
            for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++)
                compare_kind(one.out.bytes, other.out.bytes, kinds[k], &tellings[i]);
            feed_free(&other);
        }
        feed_free(&one);
        shot_synth_free(shot);
    }
    assert_true(surges > 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(facts_are_the_same_however_a_shot_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
