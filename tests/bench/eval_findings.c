/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How good are the findings, over many simulated shots with known truth?
 *
 *     eval_findings [CHAIN [SEED [SHOTS [STYLE [GRADE]]]]]
 *
 * prints, for either generator and each grade of logger, F1, median errors, coverage of the 95 %
 * intervals, their median width and the narrowest that it could be (support/ideal.h, and for surges
 * support/ideal_opening.h), the median of
 * their ratio, and the error that 95 % of the hits stay below; then size and
 * false alarms of surges, pulses, and what was told while the shot ran (with a chain that holds no
 * rows back, such as "segment").  Seeds 1000 to 1999 are for tuning, 2000 to 2999 for the figures
 * that are quoted.  SHOTS is for each style; a STYLE of -1 is all of them; GRADE is 0 (clean) to 2
 * (harsh).
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <shottrace/puck/recipe.h>
#include <shottrace/signal/proportion.h>

#include "support/analytic_shot.h"
#include "support/findings.h"

static const char *const grades[] = {"clean", "typical", "harsh"};

static void print_share(const char *what, size_t hits, size_t n) {
    double low = NAN, high = NAN;
    if (n > 0)
        shot_proportion_wilson(hits, n, 0.95, &low, &high);
    printf("  %-28s %6.3f  [%.3f, %.3f]  of %zu\n", what, n ? (double)hits / (double)n : NAN, low,
           high, n);
}

static void print_finding(finding which, const finding_score *score) {
    size_t n = score->hits + score->misses + score->false_ones;
    double low = NAN, high = NAN;
    if (n == 0)
        return;
    /* F1 = 2 h / (2 h + m + f) is a monotone function of h / n, so its interval is that one's. */
    shot_proportion_wilson(score->hits, n, 0.95, &low, &high);
    printf("%-17s %6.3f  %.3f-%.3f %6zu %5zu %5zu  %8.3f   %6.3f %8.3f %8.3f  %6.2f  %8.3f\n",
           finding_name(which), finding_f1(score), 2 * low / (1 + low), 2 * high / (1 + high),
           score->hits, score->misses, score->false_ones, numbers_median(&score->error),
           score->intervals ? (double)score->covered / (double)score->intervals : NAN,
           numbers_median(&score->width), numbers_median(&score->ideal),
           numbers_median(&score->ratio), numbers_quantile(&score->error, 0.95));
}

static void print_live(live_finding which, const live_score *score) {
    double events = (double)score->events;
    if (score->told > 0)
        printf(
            "  live %-13s in %.1f s: %.3f of %zu; told at all %.3f; misplaced %.3f a shot; median "
            "delay %.2f s\n",
            live_finding_name(which), live_finding_limit(which), (double)score->in_time / events,
            score->events, (double)score->told / events,
            (double)score->misplaced / (double)score->shots, numbers_median(&score->delay));
}

/* F1 that knees could have at most, support/knee_limit.h. */
static void print_knee_limit(const knee_limit *limit) {
    if (limit->knees == 0)
        return;
    printf("  knees, F1 at most:");
    for (int i = 0; i < KNEE_LIMIT_COUNT; i++)
        printf("%s %s %.3f", i > 0 ? ";" : "", knee_limit_name((knee_limit_case)i),
               knee_limit_f1(limit, (knee_limit_case)i));
    printf("\n");
}

static void print_unshown(const findings_score *score) {
    printf("  not counted, too short or without the channel that shows it:");
    for (int i = 0; i < FINDING_COUNT; i++)
        if (score->of[i].unshown > 0)
            printf(" %s %zu", finding_name((finding)i), score->of[i].unshown);
    printf("\n");
}

static void print_score(const char *title, const findings_score *score) {
    printf("\n%s, %zu shots\n%-17s %6s  %-11s %6s %5s %5s  %8s   %6s %8s %8s  %6s  %8s\n", title,
           score->shots, "finding", "F1", "95 %", "hits", "miss", "false", "error", "cover",
           "width", "ideal", "ratio", "err 95 %");
    for (int i = 0; i < FINDING_COUNT; i++)
        print_finding((finding)i, &score->of[i]);
    printf("  surge size, median relative error %.3f, coverage %.3f; pulse period %.4f\n",
           numbers_median(&score->surge_size),
           score->surge_sized ? (double)score->surge_size_covered / (double)score->surge_sized
                              : NAN,
           numbers_median(&score->pulse_period));
    print_share("false surges a quiet shot", score->quiet_surges, score->quiet);
    print_share("pulse count exact", score->pulse_exact, score->pulsed);
    for (int i = 0; i < LIVE_COUNT; i++)
        print_live((live_finding)i, &score->live[i]);
    print_knee_limit(&score->knee_limit);
    print_unshown(score);
    if (score->failures > 0)
        printf("  %zu shots FAILED\n", score->failures);
}

typedef void (*judge)(const char *chain, int kind, shot_grade grade, uint64_t seed, uint64_t index,
                      findings_score *score);

static void evaluate(const char *chain, const char *generator, judge judge_one, int kinds, int only,
                     int only_grade, uint64_t seed, uint64_t shots) {
    for (int grade = 0; grade < SHOT_GRADE_COUNT; grade++) {
        if (only_grade >= 0 && only_grade != grade)
            continue;
        findings_score score = {0};
        char title[64];
        for (int kind = 0; kind < kinds; kind++)
            for (uint64_t i = 0; i < shots && (only < 0 || only == kind); i++)
                judge_one(chain, kind, (shot_grade)grade, seed, i, &score);
        snprintf(title, sizeof title, "%s, %s", generator, grades[grade]);
        print_score(title, &score);
        findings_score_free(&score);
    }
}

int main(int argc, char **argv) {
    const char *chain = argc > 1 ? argv[1] : "segment | knees | surges | pulses";
    uint64_t seed = argc > 2 ? strtoull(argv[2], NULL, 10) : 1000;
    uint64_t shots = argc > 3 ? strtoull(argv[3], NULL, 10) : 20;
    int only = argc > 4 ? atoi(argv[4]) : -1;
    int grade = argc > 5 ? atoi(argv[5]) : -1;
    evaluate(chain, "model", findings_judge_brewed, SHOT_STYLE_COUNT, only, grade, seed, shots);
    if (only < 0)
        evaluate(chain, "pieces", findings_judge_drawn, ANALYTIC_COUNT, only, grade, seed, shots);
    return 0;
}
