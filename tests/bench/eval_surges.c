/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which surges are found, which could be, and how often noise alone looks like one?
 *
 *     eval_surges missed [SEED [SHOTS [GRADE]]]   those that were missed, and marks that are none
 *     eval_surges outside [SEED [SHOTS [GRADE]]]  those found with the truth outside of an interval
 *     eval_surges quiet [SEED [SHOTS [GRADE]]]    marks in shots whose puck never opens
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
    size_t told, onsets; /* with an interval of the onset, and those that hold the truth */
    size_t sized, sizes; /* the same of the size */
    double could;        /* sum of the chances of the matched filter */
} tally;

/* The nearest mark; NULL without one. */
static const shot_mark *mark_of(const shot_mark_list *marks, double at) {
    const shot_mark *best = NULL;
    for (size_t i = 0; i < marks->count; i++) {
        const shot_mark *m = &marks->marks[i];
        if (strcmp(m->kind, "surge") == 0 && shot_mark_list_stands(marks, i) &&
            fabs(m->from - at) <= near &&
            (best == NULL || fabs(m->from - at) < fabs(best->from - at)))
            best = m;
    }
    return best;
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

static const char *const styles[] = {"restrictor", "line", "soak", "pulses", "spring",
                                     "hand",       "step", "free", "flow",   "choked"};

/* The marks that stand where no puck opened; how many. */
static size_t list_false(const shot_synth *shot, const shot_mark_list *marks, int style,
                         uint64_t index) {
    size_t count = 0;
    for (size_t i = 0; i < marks->count; i++) {
        const shot_mark *m = &marks->marks[i];
        if (strcmp(m->kind, "surge") != 0 || !shot_mark_list_stands(marks, i) ||
            is_true(&shot->truth, m->from))
            continue;
        count++;
        describe(shot, "false ");
        printf("  %s %llu at %.2f, %.0f %% [%.0f, %.0f]\n", styles[style],
               (unsigned long long)index, m->from, m->value, m->value_low, m->value_high);
    }
    return count;
}

static void judge_intervals(const shot_synth *shot, const shot_mark_list *marks, int style,
                            uint64_t index, tally *sum) {
    const double half = SHOT_BREW_STEP / 2; /* the truth is told in steps of that */
    for (size_t i = 0; i < shot->truth.count; i++) {
        const shot_truth *one = &shot->truth.items[i];
        const shot_mark *m = strcmp(one->kind, "surge") == 0 ? mark_of(marks, one->from) : NULL;
        if (m == NULL || isnan(m->from_low))
            continue;
        const bool onset = m->from_low <= one->from + half && one->from - half <= m->from_high;
        const bool sized = !isnan(m->value_low);
        const bool size = !sized || (m->value_low <= one->value && one->value <= m->value_high);
        sum->told++;
        sum->sized += sized;
        sum->onsets += onset;
        sum->sizes += sized && size;
        if (onset && size)
            continue;
        describe(shot, onset ? "size " : size ? "onset" : "both ");
        printf(
            "  %s %llu at %.2f [%.2f, %.2f], %.0f %% [%.1f, %.1f]; true %.2f, %.1f %% in %.1f s\n",
            styles[style], (unsigned long long)index, m->from, m->from_low, m->from_high, m->value,
            m->value_low, m->value_high, one->from, one->value, one->to - one->from);
    }
}

static void judge_truth(const shot_synth *shot, const shot_mark_list *marks, int style,
                        shot_grade grade, uint64_t seed, uint64_t index, tally *sum) {
    double begun = shot->logger.lead + shot->logger.origin;
    for (size_t i = 0; i < shot->truth.count; i++) {
        const shot_truth *one = &shot->truth.items[i];
        if (strcmp(one->kind, "surge") != 0)
            continue;
        double d = ratio(shot, style, grade, seed, index, one->from - begun);
        bool found = mark_of(marks, one->from) != NULL;
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
    sum->false_ones += list_false(shot, marks, style, index);
}

static void print_tally(shot_grade grade, const tally *sum, bool intervals) {
    if (intervals)
        printf("%s: %zu surges with intervals; the onset lies in %.3f, the size in %.3f of "
               "%zu\n\n",
               grades[grade], sum->told, (double)sum->onsets / (double)sum->told,
               (double)sum->sizes / (double)sum->sized, sum->sized);
    else
        printf(
            "%s: %zu surges, %zu found, %zu false, F1 %.3f; a matched filter would find %.1f, F1 "
            "%.3f\n\n",
            grades[grade], sum->surges, sum->found, sum->false_ones,
            2 * (double)sum->found / (double)(sum->found + sum->surges + sum->false_ones),
            sum->could, 2 * sum->could / (sum->could + (double)sum->surges));
}

static void list_shots(shot_grade grade, uint64_t seed, uint64_t shots, bool intervals) {
    tally sum = {0};
    for (int style = 0; style < SHOT_STYLE_COUNT; style++)
        for (uint64_t i = 0; i < shots; i++) {
            findings_score score = {0};
            shot_mark_list marks = {0};
            shot_synth *shot = brew(style, grade, seed, i, WITHOUT_NONE);
            judge(shot, &score, &marks);
            bool shows = shot_log_column(shot->log, "flow") || shot_log_column(shot->log, "weight");
            if (shows && intervals)
                judge_intervals(shot, &marks, style, i, &sum);
            else if (shows)
                judge_truth(shot, &marks, style, grade, seed, i, &sum);
            shot_mark_list_free(&marks);
            findings_score_free(&score);
            shot_synth_free(shot);
        }
    print_tally(grade, &sum, intervals);
}

/* ---- quiet shots ---- */

static void count_quiet(shot_grade grade, uint64_t seed, uint64_t shots) {
    size_t alarms = 0, all = 0;
    double low, high;
    for (int style = 0; style < SHOT_STYLE_COUNT; style++)
        for (uint64_t i = 0; i < shots; i++) {
            findings_score score = {0};
            shot_mark_list marks = {0};
            shot_synth *shot = brew(style, grade, seed, i, WITHOUT_ANY);
            judge(shot, &score, &marks);
            all += score.quiet;
            alarms += score.quiet > 0 ? list_false(shot, &marks, style, i) : 0;
            shot_mark_list_free(&marks);
            findings_score_free(&score);
            shot_synth_free(shot);
        }
    shot_proportion_wilson(alarms, all, 0.95, &low, &high);
    printf("%s: %zu false surges in %zu quiet shots: %.4f  [%.4f, %.4f]\n", grades[grade], alarms,
           all, (double)alarms / (double)all, low, high);
    fflush(stdout);
}

static void judge_grade(const char *what, shot_grade grade, uint64_t seed, uint64_t shots) {
    if (strcmp(what, "quiet") == 0)
        count_quiet(grade, seed, shots);
    else
        list_shots(grade, seed, shots, strcmp(what, "outside") == 0);
}

int main(int argc, char **argv) {
    uint64_t seed = argc > 2 ? strtoull(argv[2], NULL, 10) : 900;
    uint64_t shots = argc > 3 ? strtoull(argv[3], NULL, 10) : 10;
    const int only = argc > 4 ? atoi(argv[4]) : -1;
    for (int grade = 0; grade < SHOT_GRADE_COUNT; grade++)
        if (only < 0 || only == grade)
            judge_grade(argc > 1 ? argv[1] : "missed", (shot_grade)grade, seed, shots);
    return 0;
}
