/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what shot-clean writes does not depend on how bytes arrive; real logs of every style
 * keep their ramps and pulses; planted spikes are found. */
#include <support/feed.h>

#include <stdlib.h>

#include <shottrace/puck/synth.h>
#include <shottrace/signal/random.h>

/* A simulated shot as a trace, with spikes of 3 to 8 bar planted into the pressure at samples
 * `every` apart (0: none). */
static shot_text trace_of(shot_style style, shot_grade grade, uint64_t seed, size_t every) {
    shot_synth *shot;
    shot_text text = {0};
    shot_random random = shot_random_at(seed, 99);
    assert_int_equal(shot_synth_new(style, grade, seed, 0, &shot), SHOT_OK);
    const shot_log *log = shot->log;
    for (size_t c = 0; c < log->columns; c++)
        shot_text_add_format(&text, "%s%s [%s]", c ? "," : "", log->name[c], log->unit[c]);
    for (size_t r = 0; r < log->rows; r++)
        for (size_t c = 0; c < log->columns; c++) {
            double value = log->column[c][r];
            if (every > 0 && strcmp(log->name[c], "pressure") == 0 && r % every == every / 2)
                value += (3 + 5 * shot_random_uniform(&random)) *
                         (shot_random_chance(&random, 0.5) ? 1 : -1);
            shot_text_add(&text, c ? "," : "\n");
            shot_text_add_number(&text, value);
        }
    shot_text_add(&text, "\n");
    shot_synth_free(shot);
    return text;
}

static void blocks_carry_no_meaning(void **state) {
    for (int style = 0; style < 4; style++) {
        shot_text in = trace_of((shot_style)style, SHOT_GRADE_HARSH, 1003, 40);
        feed whole = feed_chain("clean --marks --zero pressure", in.bytes, in.length, 0);
        assert_int_equal(whole.status, SHOT_OK);
        for (size_t block = 1; block < 4000; block = 3 * block + 10) {
            feed cut = feed_chain("clean --marks --zero pressure", in.bytes, in.length, block);
            assert_int_equal(cut.status, SHOT_OK);
            assert_string_equal(cut.out.bytes, whole.out.bytes);
            feed_free(&cut);
        }
        feed_free(&whole);
        shot_text_free(&in);
    }
}

static size_t count_of(const char *text, const char *word) {
    size_t count = 0;
    for (const char *c = text; (c = strstr(c, word)) != NULL; c++)
        count++;
    return count;
}

/* Clean logs have no spikes: at most one sample in 10,000 may be taken for one. */
static void real_ramps_and_pulses_stay(void **state) {
    size_t taken = 0, rows = 0;
    for (int style = 0; style < 10; style++)
        for (uint64_t seed = 1000; seed < 1005; seed++) {
            shot_text in = trace_of((shot_style)style, SHOT_GRADE_CLEAN, seed, 0);
            feed got = feed_chain("clean --keep", in.bytes, in.length, 0);
            taken += count_of(got.out.bytes, "# mark: spike ");
            rows += count_of(got.out.bytes, "\n");
            feed_free(&got);
            shot_text_free(&in);
        }
    print_message("%zu samples taken for spikes in %zu rows\n", taken, rows);
    assert_true(taken * 10000 <= rows * 4);
}

/* Spikes of 3 to 8 bar, one in 60 samples: nine in ten are found (one beside a fast edge cannot be
 * told from it). */
static void planted_spikes_are_found(void **state) {
    size_t found = 0, planted = 0;
    for (uint64_t seed = 1000; seed < 1010; seed++) {
        shot_text in = trace_of(SHOT_STYLE_RESTRICTOR, SHOT_GRADE_CLEAN, seed, 60);
        feed got = feed_chain("clean --keep --channel pressure", in.bytes, in.length, 0);
        found += count_of(got.out.bytes, "# mark: spike ");
        planted += count_of(in.bytes, "\n") / 60;
        feed_free(&got);
        shot_text_free(&in);
    }
    print_message("%zu spikes found, %zu planted\n", found, planted);
    assert_true(10 * found >= 9 * planted && found <= planted + planted / 10);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(blocks_carry_no_meaning),
        cmocka_unit_test(real_ramps_and_pulses_stay),
        cmocka_unit_test(planted_spikes_are_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
