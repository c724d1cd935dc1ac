/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which surges are found, which could be, and how often noise alone looks like one?
 *
 *     eval_surges missed [SEED [SHOTS [GRADE]]]   those that were missed, and marks that are none
 *     eval_surges quiet [SEED [SHOTS [GRADE]]]    shots whose puck never opens: how many marks
 *
 * SHOTS is for each style and each grade of logger, GRADE one of them (0 clean to 2 harsh).  Seeds
 * below 1000 are for tuning.  What could be found is the matched filter's chance
 * (support/opening_limit.h).
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/puck/synth.h>
#include <shottrace/signal/proportion.h>

#include "support/findings.h"
#include "support/opening_limit.h"

static const char *const chain = "clean | segment | surges";
static const char *const grades[] = {"clean", "typical", "harsh"};
static const double near = 1; /* s: the same surge */

/* ---- a shot ---- */

/* Take out this opening of the puck, or none, or all. */
enum { WITHOUT_NONE = -1, WITHOUT_ANY = -2 };

static shot_synth *brew(int style, shot_grade grade, uint64_t seed, uint64_t index, int without) {
    shot_recipe recipe;
    shot_logger logger;
    shot_synth *shot;
    if (shot_recipe_draw((shot_style)style, seed, index, 1, &recipe) != SHOT_OK ||
        shot_logger_draw(grade, seed, index, 1, &logger) != SHOT_OK)
        abort();
    size_t kept = 0;
    for (size_t i = 0; i < recipe.channel_count; i++)
        if (without == WITHOUT_NONE || (without >= 0 && i != (size_t)without))
            recipe.channels[kept++] = recipe.channels[i];
    recipe.channel_count = kept;
    if (shot_synth_brew(&recipe, &logger, &shot) != SHOT_OK)
        abort();
    return shot;
}

static void judge(const shot_synth *shot, findings_score *score, shot_mark_list *marks) {
    const findings_log log = findings_log_of_brew(shot, NULL);
    findings_judge(chain, &log, score, marks);
}

/* ---- what could be found ---- */

static double ratio(const shot_synth *shot, int style, shot_grade grade, uint64_t seed,
                    uint64_t index, double at) {
    int which = -1;
    for (size_t i = 0; i < shot->brew->channel_count; i++)
        if (fabs(shot->brew->channels[i].from - at) < 2 * SHOT_BREW_STEP)
            which = (int)i;
    if (which < 0)
        return NAN;
    shot_synth *without = brew(style, grade, seed, index, which);
    double d = opening_limit_ratio(shot, without, at, -INFINITY, INFINITY, 1);
    shot_synth_free(without);
    return d;
}

/* ---- missed ones ---- */

typedef struct tally {
    size_t surges, found, false_ones;
    double could; /* sum of the chances of the matched filter */
} tally;

static bool is_found(const shot_mark_list *marks, double at) {
    for (size_t i = 0; i < marks->count; i++)
        if (strcmp(marks->marks[i].kind, "surge") == 0 && shot_mark_list_stands(marks, i) &&
            fabs(marks->marks[i].from - at) <= near)
            return true;
    return false;
}

static bool is_true(const shot_truth_list *truth, double at) {
    for (size_t i = 0; i < truth->count; i++)
        if ((strcmp(truth->items[i].kind, "surge") == 0 ||
             strncmp(truth->items[i].note, "a channel opened", 16) == 0) &&
            fabs(truth->items[i].from - at) <= near)
            return true;
    return false;
}

static void describe(const shot_synth *shot, const char *what) {
    const shot_log *log = shot->log;
    printf("%s  %.1f Hz%s%s%s%s", what, shot->logger.rate,
           shot_log_column(log, "pressure") ? " pressure" : "",
           shot_log_column(log, "flow") ? shot->logger.pulse > 0 ? " counted" : " flow" : "",
           shot_log_column(log, "weight") ? " weight" : "",
           shot->recipe.machine.gauge_at_puck != 0 ? " puck" : " pump");
}

static void judge_truth(const shot_synth *shot, const shot_mark_list *marks, int style,
                        shot_grade grade, uint64_t seed, uint64_t index, tally *sum) {
    static const char *const styles[] = {"restrictor", "line", "soak", "pulses", "spring",
                                         "hand",       "step", "free", "flow",   "choked"};
    double begun = shot->logger.lead + shot->logger.origin;
    for (size_t i = 0; i < shot->truth.count; i++) {
        const shot_truth *one = &shot->truth.items[i];
        if (strcmp(one->kind, "surge") != 0)
            continue;
        double d = ratio(shot, style, grade, seed, index, one->from - begun);
        bool found = is_found(marks, one->from);
        sum->surges++;
        sum->found += found;
        sum->could += opening_limit_chance(d);
        if (found)
            continue;
        describe(shot, "missed");
        printf("  %s %llu at %.2f, %.0f %% in %.1f s, brew %.1f to %.1f, d = %.1f\n", styles[style],
               (unsigned long long)index, one->from, one->value, one->to - one->from,
               shot->brew->main_rise + begun, shot->brew->pump_off + begun, d);
    }
    for (size_t i = 0; i < marks->count; i++) {
        const shot_mark *m = &marks->marks[i];
        if (strcmp(m->kind, "surge") != 0 || !shot_mark_list_stands(marks, i) ||
            is_true(&shot->truth, m->from))
            continue;
        sum->false_ones++;
        describe(shot, "false ");
        printf("  %s %llu at %.2f, %.0f %% [%.0f, %.0f]\n", styles[style],
               (unsigned long long)index, m->from, m->value, m->value_low, m->value_high);
    }
}

static void list_missed(shot_grade grade, uint64_t seed, uint64_t shots) {
    tally sum = {0};
    for (int style = 0; style < SHOT_STYLE_COUNT; style++)
        for (uint64_t i = 0; i < shots; i++) {
            findings_score score = {0};
            shot_mark_list marks = {0};
            shot_synth *shot = brew(style, grade, seed, i, WITHOUT_NONE);
            judge(shot, &score, &marks);
            bool shows = shot_log_column(shot->log, "flow") || shot_log_column(shot->log, "weight");
            if (shows)
                judge_truth(shot, &marks, style, grade, seed, i, &sum);
            shot_mark_list_free(&marks);
            findings_score_free(&score);
            shot_synth_free(shot);
        }
    double f1 = 2 * (double)sum.found / (double)(sum.found + sum.surges + sum.false_ones);
    printf("%s: %zu surges, %zu found, %zu false, F1 %.3f; a matched filter would find %.1f, F1 "
           "%.3f\n\n",
           grades[grade], sum.surges, sum.found, sum.false_ones, f1, sum.could,
           2 * sum.could / (sum.could + (double)sum.surges));
}

/* ---- quiet shots ---- */

static void count_quiet(shot_grade grade, uint64_t seed, uint64_t shots) {
    size_t alarms = 0, all = 0;
    double low, high;
    for (int style = 0; style < SHOT_STYLE_COUNT; style++)
        for (uint64_t i = 0; i < shots; i++) {
            findings_score score = {0};
            shot_synth *shot = brew(style, grade, seed, i, WITHOUT_ANY);
            judge(shot, &score, NULL);
            all += score.quiet;
            alarms += score.quiet_surges;
            if (score.quiet_surges > 0) {
                describe(shot, "false ");
                printf("  style %d shot %llu\n", style, (unsigned long long)i);
            }
            findings_score_free(&score);
            shot_synth_free(shot);
        }
    shot_proportion_wilson(alarms, all, 0.95, &low, &high);
    printf("%s: %zu false surges in %zu quiet shots: %.4f  [%.4f, %.4f]\n", grades[grade], alarms,
           all, (double)alarms / (double)all, low, high);
    fflush(stdout);
}

int main(int argc, char **argv) {
    bool quiet = argc > 1 && strcmp(argv[1], "quiet") == 0;
    uint64_t seed = argc > 2 ? strtoull(argv[2], NULL, 10) : 900;
    uint64_t shots = argc > 3 ? strtoull(argv[3], NULL, 10) : 10;
    const int only = argc > 4 ? atoi(argv[4]) : -1;
    for (int grade = 0; grade < SHOT_GRADE_COUNT; grade++)
        if (only < 0 || only == grade)
            (quiet ? count_quiet : list_missed)((shot_grade)grade, seed, shots);
    return 0;
}
