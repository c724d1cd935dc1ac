/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: phases and pulses of simulated shots of every style are found as often as
 * docs/segment.md says, less what chance does to so few shots.  The whole table:
 * bench/eval_findings. */
#include <support/check.h>

#include <shottrace/puck/recipe.h>

#include "support/findings.h"

enum { SHOTS = 4 }; /* a style */

/* The shares in docs/segment.md are about 0.97 (clean, typical): five or more of 40 shots are then
 * missed in 8 of 1000 such sets (binomial); an F1 of 0.9 lets four be missed and as many be false.
 */
static void expect(shot_grade grade, double least) {
    findings_score score = {0};
    for (int style = 0; style < SHOT_STYLE_COUNT; style++)
        for (uint64_t i = 0; i < SHOTS; i++)
            findings_judge_brewed("clean | segment | pulses", style, grade, 2000, i, &score);
    assert_int_equal(score.failures, 0);
    for (int i = FINDING_WATER; i <= FINDING_RELEASE; i++)
        if (!(finding_f1(&score.of[i]) >= least))
            fail_msg("%s: F1 %.3f, least %.3f", finding_name((finding)i), finding_f1(&score.of[i]),
                     least);
    assert_true((double)score.pulse_exact >= least * (double)score.pulsed);
    findings_score_free(&score);
}

static void phases_on_clean_logs(void **state) {
    expect(SHOT_GRADE_CLEAN, 0.9);
}

static void phases_on_typical_logs(void **state) {
    expect(SHOT_GRADE_TYPICAL, 0.88);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(phases_on_clean_logs),
        cmocka_unit_test(phases_on_typical_logs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
