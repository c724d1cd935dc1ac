/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a logger that says its last row again and again while it has lost its sensors dates
 * nothing by that: what happened meanwhile gets an interval that holds it. */
#include <support/check.h>
#include <support/feed.h>
#include <support/mark_text.h>

#include <shottrace/puck/synth.h>

static const char chain[] = "clean | segment";
static const char note[] = "the logger had lost its sensors";

/* Rows from `from` to `to`, s, say what the first of them said. */
static shot_text trace_of(const shot_log *log, double from, double to) {
    shot_text text = {0};
    size_t first = 0;
    while (first < log->rows && log->column[0][first] < from)
        first++;
    for (size_t c = 0; c < log->columns; c++)
        shot_text_add_format(&text, "%s%s [%s]", c ? "," : "", log->name[c], log->unit[c]);
    for (size_t r = 0; r < log->rows; r++)
        for (size_t c = 0; c < log->columns; c++) {
            const bool froze = c > 0 && r > first && log->column[0][r] < to;
            shot_text_add(&text, c > 0 ? "," : "\n");
            shot_text_add_number(&text, log->column[c][froze ? first : r]);
        }
    shot_text_add(&text, "\n");
    return text;
}

static double told(const feed *got, const char *kind, const char *key) {
    const char *line = final_line(got->out.bytes, kind, 0);
    return line == NULL ? NAN : mark_number(line, key);
}

/* Whether the loss was seen; if so, the moment lies in its interval. */
static bool holds_moment(const shot_log *log, double moment, const char *kind, const char *low,
                         const char *high) {
    shot_text text = trace_of(log, moment - 0.4, moment + 0.9);
    feed froze = feed_log(chain, &text);
    const bool seen = strstr(froze.out.bytes, note) != NULL;
    if (seen && !(told(&froze, kind, low) <= moment && told(&froze, kind, high) >= moment))
        fail_msg("%s at %.3f s is not in %.3f to %.3f", kind, moment, told(&froze, kind, low),
                 told(&froze, kind, high));
    feed_free(&froze);
    return seen;
}

/* In 3 of 4 logs at least: in some, rows at rest say the same for good. */
static void what_happens_meanwhile_is_held(void **state) {
    int moments = 0, seen = 0;
    (void)state;
    for (uint64_t s = 0; s < 12; s++) {
        shot_synth *shot;
        const shot_grade grade = s % 2 ? SHOT_GRADE_TYPICAL : SHOT_GRADE_CLEAN;
        assert_int_equal(shot_synth_new(SHOT_STYLE_RESTRICTOR, grade, 1408, s, &shot), SHOT_OK);
        shot_text text = trace_of(shot->log, INFINITY, INFINITY);
        feed whole = feed_log(chain, &text);
        assert_null(strstr(whole.out.bytes, note));
        const double water = told(&whole, "preinfusion", "from"), end = told(&whole, "brew", "to");
        if (water - shot->log->column[0][0] > 1) { /* rows that begin a log may well stand */
            moments++;
            seen += holds_moment(shot->log, water, "preinfusion", "from.low", "from.high");
        }
        if (!isnan(end)) {
            moments++;
            seen += holds_moment(shot->log, end, "brew", "to.low", "to.high");
        }
        feed_free(&whole);
        shot_synth_free(shot);
    }
    assert_true(moments > 12 && 4 * seen >= 3 * moments);
}

/* A gauge of coarse figures and a scale at rest between pulses say the same for good. */
static void rest_is_no_loss(void **state) {
    shot_text text = {0};
    (void)state;
    shot_text_add(&text, "time [s],pressure [bar],flow [ml/s]\n");
    for (int i = 0; i < 400; i++) {
        const bool runs = i > 40 && i < 360 && (i < 200 ? i / 20 % 2 == 0 : true);
        shot_text_add_format(&text, "%.1f,%.1f,%.1f\n", 0.1 * i, runs ? 4.0 + i % 20 * 0.2 : 0.0,
                             runs ? 3.0 - i % 3 * 0.1 : 0.0);
    }
    feed got = feed_log(chain, &text);
    assert_null(strstr(got.out.bytes, note));
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_happens_meanwhile_is_held),
        cmocka_unit_test(rest_is_no_loss),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
