/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: rows that a logger stamps when it receives several at once give the facts that they
 * give with times of their own, in whatever blocks they come. */
#include <support/check.h>
#include <support/feed.h>
#include <support/mark_text.h>
#include <support/turns.h>

#include <shottrace/puck/synth.h>
#include <shottrace/signal/random.h>

static const char chain[] = "clean | segment | surges";

/* A row is stamped with the time of the last of the 3 to 5 that are received together, and up to a
 * tenth of the spacing more than the row before. */
static void stamp(const shot_log *log, uint64_t seed, double *time) {
    shot_random random = shot_random_at(seed, 7);
    const double *t = log->column[0];
    const double spacing = (t[log->rows - 1] - t[0]) / (double)(log->rows - 1);
    for (size_t r = 0, last = 0; r < log->rows; r++) {
        const bool first = r == 0 || r > last;
        if (first) {
            last = r + 2 + shot_random_below(&random, 3);
            last = last < log->rows ? last : log->rows - 1;
        }
        time[r] = first ? t[last] : time[r - 1] + spacing / 10 * shot_random_uniform(&random);
    }
}

static shot_text trace_of(const shot_log *log, const double *time) {
    shot_text text = {0};
    for (size_t c = 0; c < log->columns; c++)
        shot_text_add_format(&text, "%s%s [%s]", c ? "," : "", log->name[c], log->unit[c]);
    for (size_t r = 0; r < log->rows; r++)
        for (size_t c = 0; c < log->columns; c++) {
            shot_text_add(&text, c > 0 ? "," : "\n");
            shot_text_add_number(&text, c > 0 ? log->column[c][r] : time[r]);
        }
    shot_text_add(&text, "\n");
    return text;
}

static shot_text trace_in_bursts(const shot_log *log, uint64_t seed) {
    double *time = test_malloc(log->rows * sizeof *time);
    stamp(log, seed, time);
    shot_text text = trace_of(log, time);
    test_free(time);
    return text;
}

/* Means over bursts may hide a surge, but nothing new is found in them. */
static void compare(const char *even, const char *bursts, const char *kind, double within) {
    const int all = final_count(even, kind), found = final_count(bursts, kind);
    if (found > all || (found < all && strcmp(kind, "surge") != 0))
        fail_msg("%d of %s, in bursts %d", all, kind, found);
    for (int i = 0; i < found && found == all; i++) {
        const double a = mark_number(final_line(even, kind, i), "from");
        const double b = mark_number(final_line(bursts, kind, i), "from");
        if (fabs(a - b) > within)
            fail_msg("%s at %.3f s, in bursts at %.3f s", kind, a, b);
    }
}

/* A burst holds some 0.2 s, and a mean over it says no more. */
static void facts_of_rows_received_in_bursts(void **state) {
    static const char *const kinds[] = {"preinfusion", "brew", "release", "first-drip", "surge"};
    (void)state;
    for (uint64_t s = 0; s < turns(4); s++) {
        shot_synth *shot;
        const shot_grade grade = SHOT_GRADE_CLEAN;
        assert_int_equal(shot_synth_new(SHOT_STYLE_FREE, grade, 1407, s, &shot), SHOT_OK);
        shot_text text = trace_of(shot->log, shot->log->column[0]);
        feed even = feed_log(chain, &text);
        text = trace_in_bursts(shot->log, s);
        feed bursts = feed_log(chain, &text);
        for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++)
            compare(even.out.bytes, bursts.out.bytes, kinds[k], 0.6);
        assert_non_null(strstr(bursts.out.bytes, "come in such bursts"));
        assert_null(strstr(even.out.bytes, "come in such bursts"));
        feed_free(&even);
        feed_free(&bursts);
        shot_synth_free(shot);
    }
}

static void blocks_carry_no_meaning(void **state) {
    shot_synth *shot;
    (void)state;
    assert_int_equal(shot_synth_new(SHOT_STYLE_SOAK, SHOT_GRADE_TYPICAL, 1407, 9, &shot), SHOT_OK);
    shot_text text = trace_in_bursts(shot->log, 3);
    feed whole = feed_chain("clean", text.bytes, text.length, 0);
    assert_int_equal(whole.status, SHOT_OK);
    for (size_t block = 1; block < 4000; block = 3 * block + 10) {
        feed cut = feed_chain("clean", text.bytes, text.length, block);
        assert_string_equal(cut.out.bytes, whole.out.bytes);
        feed_free(&cut);
    }
    feed_free(&whole);
    shot_text_free(&text);
    shot_synth_free(shot);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(facts_of_rows_received_in_bursts),
        cmocka_unit_test(blocks_carry_no_meaning),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
