/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How often do the ranges of the measures "by a model" hold what happened, over simulated shots?
 *
 *     eval_model [SEED [SHOTS]]
 *
 * prints, for each style, the share of shots with the truth between low and high of
 * model.wet-through, model.yield (shots without dissolved solids) and model.early-solids (with
 * them), and the median error of the value.  SHOTS (default 20) is for each style and grade.  The
 * simulator is a model too, of our own: this shows that the ranges are wide enough for one that
 * wets, seeps and washes out as docs/model.md says, and nothing about coffee.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/chain.h>
#include <shottrace/puck/synth.h>
#include <shottrace/trace/text.h>

#include "support/findings.h"
#include "support/run_chain.h"

static const char *const styles[] = {"restrictor", "line", "soak", "pulses", "spring",
                                     "hand",       "step", "free", "flow",   "choked"};
static const char *const grades[] = {"clean", "typical", "harsh"};

typedef enum figure { WET_THROUGH, YIELD, EARLY_SOLIDS, FIGURES } figure;
static const char *const names[FIGURES] = {"model.wet-through", "model.yield",
                                           "model.early-solids"};
/* What the sensors let be told at all: a row of a slow log; nothing; a fifth of a gram of beverage,
 * of which a tenth is solids. */
static const double slack[FIGURES] = {0.1, 0, 0.02};

typedef struct tally {
    size_t said, held, below; /* shots with a range; truth in it; truth below it */
    numbers error;
} tally;

static shot_status take(void *user, const char *bytes, size_t count, shot_error *error) {
    return shot_text_add_bytes(user, bytes, count);
}

static void run(const char *chain_text, const shot_text *in, shot_text *out) {
    run_chain(chain_text, &(shot_chain_ends){.output = {take, out}}, in);
}

/* ---- what happened ---- */

static const shot_truth *truth_of(const shot_synth *shot, const char *kind) {
    for (size_t i = 0; i < shot->truth.count; i++)
        if (strcmp(shot->truth.items[i].kind, kind) == 0)
            return &shot->truth.items[i];
    return NULL;
}

/* NaN where it did not happen. */
static double happened(const shot_synth *shot, figure which) {
    const shot_brew *brew = shot->brew;
    const shot_truth *phase = truth_of(shot, "preinfusion");
    if (which == WET_THROUGH)
        return brew->wet_through - brew->water_in;
    if (which == YIELD)
        return brew->yield;
    return phase == NULL ? NAN
                         : shot_brew_at(brew, brew->water_in + phase->to - phase->from).solids;
}

/* ---- what was said ---- */

/* The row of the measure in a table of one shot: value, low, high; false if there is none. */
static bool find_row(const char *table, const char *name, double *value, double *low,
                     double *high) {
    char key[64];
    snprintf(key, sizeof key, ",%s,", name);
    const char *row = strstr(table, key);
    char unit[16];
    return row != NULL &&
           sscanf(row + strlen(key), "%lf,%15[^,],%lf,%lf", value, unit, low, high) == 4;
}

static void count(const char *table, figure which, double truth, tally *of) {
    double value, low, high;
    if (isnan(truth) || !find_row(table, names[which], &value, &low, &high))
        return;
    of->said++;
    of->held += truth >= low - slack[which] && truth <= high + slack[which];
    of->below += truth < low - slack[which];
    numbers_add(&of->error, fabs(value - truth));
}

/* Without the line that tells the dissolved solids. */
static shot_text without_tds(const shot_text *trace) {
    shot_text out = {0};
    const char *line = strstr(trace->bytes, "# tds:");
    const size_t before = line != NULL ? (size_t)(line - trace->bytes) : trace->length;
    shot_text_add_bytes(&out, trace->bytes, before);
    shot_text_add(&out, line != NULL ? strchr(line, '\n') + 1 : "");
    return out;
}

static void judge(int style, int grade, unsigned long seed, unsigned long index, tally *of) {
    char chain[160];
    static const char report[] = "clean | segment | report --format csv";
    shot_text trace = {0}, with = {0}, without = {0};
    shot_synth *shot;
    if (shot_synth_new((shot_style)style, (shot_grade)grade, seed + index, 0, &shot) != SHOT_OK)
        exit(1);
    snprintf(chain, sizeof chain, "synth --style %s --logger %s --seed %lu", styles[style],
             grades[grade], seed + index);
    run(chain, NULL, &trace);
    shot_text plain = without_tds(&trace);
    run(report, &trace, &with);
    run(report, &plain, &without);
    count(with.bytes, WET_THROUGH, happened(shot, WET_THROUGH), &of[WET_THROUGH]);
    count(without.bytes, YIELD, happened(shot, YIELD), &of[YIELD]);
    count(with.bytes, EARLY_SOLIDS, happened(shot, EARLY_SOLIDS), &of[EARLY_SOLIDS]);
    shot_text_free(&trace);
    shot_text_free(&plain);
    shot_text_free(&with);
    shot_text_free(&without);
    shot_synth_free(shot);
}

static void print_tally(const char *style, const tally *of) {
    printf("%-11s", style);
    for (int k = 0; k < FIGURES; k++) {
        const double n = (double)of[k].said;
        if (of[k].said == 0)
            printf("  %26s", "-");
        else
            printf("  %5.1f %% of %4zu, %6.3f off", 100 * (double)of[k].held / n, of[k].said,
                   numbers_median(&of[k].error));
    }
    printf("\n");
}

int main(int argc, char **argv) {
    const unsigned long seed = argc > 1 ? strtoul(argv[1], NULL, 10) : 2000;
    const unsigned long shots = argc > 2 ? strtoul(argv[2], NULL, 10) : 20;
    tally all[FIGURES] = {0};
    printf("truth within the range, median error of the value: s, %% of the dose, g\n%-11s  %-26s  "
           "%-26s  %s\n",
           "style", names[WET_THROUGH], names[YIELD], names[EARLY_SOLIDS]);
    for (int style = 0; style < SHOT_STYLE_COUNT; style++) {
        tally of[FIGURES] = {0};
        for (int grade = 0; grade < SHOT_GRADE_COUNT; grade++)
            for (unsigned long i = 0; i < shots; i++)
                judge(style, grade, seed, i, of);
        print_tally(styles[style], of);
        for (int k = 0; k < FIGURES; k++) {
            all[k].said += of[k].said;
            all[k].held += of[k].held;
            all[k].below += of[k].below;
            for (size_t i = 0; i < of[k].error.count; i++)
                numbers_add(&all[k].error, of[k].error.items[i]);
            numbers_free(&of[k].error);
        }
    }
    print_tally("all", all);
    for (int k = 0; k < FIGURES; k++) {
        printf("%s: truth below the range in %zu shots, above in %zu\n", names[k], all[k].below,
               all[k].said - all[k].held - all[k].below);
        numbers_free(&all[k].error);
    }
    return 0;
}
