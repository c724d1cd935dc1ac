/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How soon is an event told while the shot runs, and how often in vain?
 *
 *     eval_live openings [SEED [SHOTS [CHAIN]]]   20 % of the resistance lost within 0.2 to 2 s, in
 *                                                 each shot once, on a typical logger of 10 Hz
 *     eval_live mix [SEED [SHOTS [CHAIN]]]        whatever the simulator draws, for each grade of
 *                                                 logger
 *     eval_live missed [SEED [SHOTS [CHAIN]]]     as openings, with each that was not told in time
 *     eval_live all [SEED [SHOTS [CHAIN]]]        what the chain ("segment") tells of each kind of
 *                                                 event, for each grade of logger; of water also
 *                                                 how many could be (support/onset_limit.h)
 *
 * SHOTS is for each style of the physical model and each family of the second generator; the chain
 * is "surges".  Rows are fed one by one: an opening is told in time if a mark within 1 s of its
 * onset comes no later than with the last row that is read within 1 s of it.  Beside it stands what
 * a matched filter could tell by then (support/opening_limit.h) if it knew that the trend is a
 * line, a parabola, a cubic.  Behind each table stands the same by how long the openings take and
 * how soon they come.  Seeds below 1000 are for tuning.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/puck/recipe.h>
#include <shottrace/puck/synth.h>
#include <shottrace/signal/proportion.h>
#include <shottrace/signal/random.h>

#include "support/analytic_shot.h"
#include "support/findings.h"
#include "support/opening_limit.h"

static const double rate = 10;   /* Hz */
static const double size = 0.20; /* of the resistance */
static const double in_time = 1; /* s */

static const char *const styles[] = {"restrictor", "line", "soak", "pulses", "spring",
                                     "hand",       "step", "free", "flow",   "choked"};
static const char *const families[] = {"direct", "prewet", "soak", "decline", "step", "pulses"};
static const char *const grades[] = {"clean", "typical", "harsh"};

/* The trend on which an opening stands: a polynomial of degree 1, 2, 3. */
enum { TRENDS = 3 };

/* Kinds of opening: by how long they take, and by how long the brew has lasted when they begin. */
static const double longer[] = {0.2, 0.6, 1.2, 2}, settled = 5; /* s */
enum { LENGTHS = sizeof longer / sizeof *longer - 1, WHENS = 2 };
static const char *const whens[WHENS] = {"in the first 5 s of the brew", "later"};

typedef struct group {
    size_t events, in_time;
} group;

/* What a table adds up. */
typedef struct tally {
    group groups[WHENS][LENGTHS];
    findings_score score;
    double could[TRENDS]; /* sums of the chances of the matched filter */
    size_t judged;        /* of so many openings */
} tally;

/* What a matched filter sees of an opening. */
typedef struct limit {
    double ratio[TRENDS]; /* NaN where it is not known */
} limit;

typedef struct plan {
    const char *chain;
    uint64_t seed, shots;
    shot_grade grade; /* of a mix */
    bool list;
} plan;

/* ---- shots with one opening ---- */

static shot_recipe_channel draw_opening(int style, uint64_t seed, uint64_t index) {
    shot_random random = shot_random_at(seed ^ UINT64_C(0x0be7), 16 * index + (uint64_t)style);
    shot_recipe_channel channel = {.at = NAN, .size = size};
    channel.mass = shot_random_between(&random, 3, 14);
    channel.seconds = shot_random_between(&random, 0.2, 2);
    channel.sharpness = shot_random_between(&random, 1, 2.5);
    channel.heal = shot_random_chance(&random, 0.4) ? 6 : INFINITY;
    channel.scar = shot_random_between(&random, 0, 0.8);
    return channel;
}

static shot_synth *brew(int style, const plan *of, uint64_t index, bool open) {
    shot_recipe recipe;
    shot_logger logger;
    shot_synth *shot;
    if (shot_recipe_draw((shot_style)style, of->seed, index, 1, &recipe) != SHOT_OK ||
        shot_logger_draw(SHOT_GRADE_TYPICAL, of->seed, index, 1, &logger) != SHOT_OK)
        abort();
    logger.rate = rate;
    recipe.channel_count = 0;
    if (open && shot_recipe_add_channel(&recipe, draw_opening(style, of->seed, index)) != SHOT_OK)
        abort();
    if (shot_synth_brew(&recipe, &logger, &shot) != SHOT_OK)
        abort();
    return shot;
}

static const shot_truth *first_of(const shot_truth_list *truth, const char *kind) {
    for (size_t i = 0; i < truth->count; i++)
        if (strcmp(truth->items[i].kind, kind) == 0)
            return &truth->items[i];
    return NULL;
}

static const limit unknown = {{NAN, NAN, NAN}};

/* d of what the brew so far shows of the opening when it must be told. */
static limit limit_in_time(const shot_synth *shot, int style, const plan *of, uint64_t index) {
    const shot_truth *opening = first_of(&shot->truth, "surge");
    const shot_truth *before = first_of(&shot->truth, "preinfusion");
    if (opening == NULL || before == NULL)
        return unknown;
    shot_synth *without = brew(style, of, index, false);
    double begun = shot->logger.lead + shot->logger.origin, at = opening->from - begun;
    limit out;
    for (int k = 0; k < TRENDS; k++)
        out.ratio[k] =
            opening_limit_ratio(shot, without, at, before->to - begun, at + in_time, k + 1);
    shot_synth_free(without);
    return out;
}

static void list_missed(const char *name, uint64_t index, const shot_truth_list *truth,
                        const limit *could, const shot_synth *shot, const live_score *live) {
    const shot_truth *opening = first_of(truth, "surge"), *run = first_of(truth, "brew");
    printf("  %s %llu: at %.2f, %.1f s into the brew, in %.1f s, d = %.1f;", name,
           (unsigned long long)index, opening->from, run != NULL ? opening->from - run->from : NAN,
           opening->to - opening->from, could->ratio[0]);
    if (live->told > 0)
        printf(" told after %.2f s;", live->delay.items[0]);
    if (shot != NULL)
        printf(" %s%s%s", shot_log_column(shot->log, "pressure") ? "pressure" : "",
               shot_log_column(shot->log, "flow") ? shot->logger.pulse > 0 ? " counted" : " flow"
                                                  : "",
               shot_log_column(shot->log, "weight") ? " weight" : "");
    printf("\n");
}

static void add(live_score *sum, const live_score *one) {
    sum->shots += one->shots;
    sum->events += one->events;
    sum->told += one->told;
    sum->in_time += one->in_time;
    sum->sent += one->sent;
    sum->misplaced += one->misplaced;
    sum->withdrawn += one->withdrawn;
    sum->withdrawn_true += one->withdrawn_true;
    sum->refined += one->refined;
    for (size_t i = 0; i < one->delay.count; i++)
        numbers_add(&sum->delay, one->delay.items[i]);
}

/* Of a shot with one opening. */
static void add_to_group(const shot_truth_list *truth, const live_score *live, tally *sum) {
    const shot_truth *opening = first_of(truth, "surge"), *run = first_of(truth, "brew");
    if (live->events != 1 || run == NULL)
        return;
    int length = 0;
    while (length < LENGTHS - 1 && opening->to - opening->from > longer[length + 1])
        length++;
    group *one = &sum->groups[opening->from - run->from >= settled][length];
    one->events++;
    one->in_time += live->in_time;
}

static void judge(const plan *of, const findings_log *log, const char *name, uint64_t index,
                  const limit *could, const shot_synth *shot, tally *sum) {
    findings_score score = {0};
    findings_judge(of->chain, log, &score, NULL);
    const live_score *live = &score.live[LIVE_SURGE];
    add(&sum->score.live[LIVE_SURGE], live);
    add_to_group(log->truth, live, sum);
    sum->score.failures += score.failures;
    if (live->events > 0 && isfinite(could->ratio[0])) {
        for (int k = 0; k < TRENDS; k++)
            sum->could[k] += opening_limit_chance(could->ratio[k]);
        sum->judged++;
    }
    if (of->list && live->events > live->in_time)
        list_missed(name, index, log->truth, could, shot, live);
    findings_score_free(&score);
}

static void judge_brewed(const plan *of, int style, uint64_t index, tally *sum) {
    shot_synth *shot = brew(style, of, index, true);
    const limit could = limit_in_time(shot, style, of, index);
    const findings_log log = findings_log_of_brew(shot, NULL);
    judge(of, &log, styles[style], index, &could, shot, sum);
    shot_synth_free(shot);
}

static void judge_drawn(const plan *of, int family, uint64_t index, tally *sum) {
    const double *column[FINDINGS_PIECES_COLUMNS];
    analytic_shot *shot;
    if (analytic_shot_opening((analytic_family)family, of->seed, index, rate, size, &shot) !=
        SHOT_OK)
        abort();
    const findings_log log = findings_log_of_pieces(shot, column, NULL);
    judge(of, &log, families[family], index, &unknown, NULL, sum);
    analytic_shot_free(shot);
}

/* ---- tables ---- */

static void print_head(const char *title) {
    printf("\n%s\n%-12s %5s  %5s  %-13s %5s  %-17s  %7s %7s  %s\n", title, "", "surges", "in 1 s",
           "95 %", "told", "delay 10 50 90 %", "refined", "withdrawn", "false a shot, 95 %");
}

static void print_row(const char *name, const tally *sum) {
    const live_score *s = &sum->score.live[LIVE_SURGE];
    double low = NAN, high = NAN, false_low = NAN, false_high = NAN, n = (double)s->events;
    double sent = (double)s->sent;
    if (s->events > 0)
        shot_proportion_wilson(s->in_time, s->events, 0.95, &low, &high);
    if (s->shots > 0)
        shot_proportion_wilson(s->misplaced < s->shots ? s->misplaced : s->shots, s->shots, 0.95,
                               &false_low, &false_high);
    printf("%-12s %5zu  %.3f  [%.3f, %.3f] %.3f  %5.2f %5.2f %5.2f  %7.3f %7.3f (%zu true)  "
           "%.4f [%.4f, %.4f]",
           name, s->events, (double)s->in_time / n, low, high, (double)s->told / n,
           numbers_quantile(&s->delay, 0.1), numbers_median(&s->delay),
           numbers_quantile(&s->delay, 0.9), (double)s->refined / sent, (double)s->withdrawn / sent,
           s->withdrawn_true, (double)s->misplaced / (double)s->shots, false_low, false_high);
    for (int k = 0; k < TRENDS && sum->judged > 0; k++)
        printf(k == 0 ? "  matched filter %.3f" : " %.3f", sum->could[k] / (double)sum->judged);
    printf(sum->score.failures > 0 ? "  %zu FAILED\n" : "\n", sum->score.failures);
    fflush(stdout);
}

static void print_groups(const tally *sum) {
    printf("told in 1 s of those that take");
    for (int i = 0; i < LENGTHS; i++)
        printf("      %3.1f to %3.1f s", longer[i], longer[i + 1]);
    for (int when = 0; when < WHENS; when++) {
        printf("\n%-30s", whens[when]);
        for (int i = 0; i < LENGTHS; i++) {
            const group *g = &sum->groups[when][i];
            printf("  %.3f of %-5zu", (double)g->in_time / (double)g->events, g->events);
        }
    }
    printf("\n");
}

static void merge(tally *sum, tally *one) {
    for (int when = 0; when < WHENS; when++)
        for (int i = 0; i < LENGTHS; i++) {
            sum->groups[when][i].events += one->groups[when][i].events;
            sum->groups[when][i].in_time += one->groups[when][i].in_time;
        }
    add(&sum->score.live[LIVE_SURGE], &one->score.live[LIVE_SURGE]);
    sum->score.failures += one->score.failures;
    for (int k = 0; k < TRENDS; k++)
        sum->could[k] += one->could[k];
    sum->judged += one->judged;
    findings_score_free(&one->score);
    *one = (tally){0};
}

/* A row for each kind of shot, and one for all. */
static void tabulate(const plan *of, const char *title, int kinds, const char *const *names,
                     void (*judge_one)(const plan *, int, uint64_t, tally *)) {
    tally all = {0};
    print_head(title);
    for (int kind = 0; kind < kinds; kind++) {
        tally one = {0};
        for (uint64_t i = 0; i < of->shots; i++)
            judge_one(of, kind, i, &one);
        print_row(names[kind], &one);
        merge(&all, &one);
    }
    print_row("all", &all);
    if (all.groups[1][0].events > 0)
        print_groups(&all);
    findings_score_free(&all.score);
}

/* ---- the mix ---- */

static void judge_mix_brewed(const plan *of, int style, uint64_t index, tally *sum) {
    findings_judge_brewed(of->chain, style, of->grade, of->seed, index, &sum->score);
}

static void judge_mix_drawn(const plan *of, int family, uint64_t index, tally *sum) {
    findings_judge_drawn(of->chain, family, of->grade, of->seed, index, &sum->score);
}

/* ---- all kinds of event ---- */

static void print_kind(live_finding which, const live_score *s) {
    double low = NAN, high = NAN;
    const double n = (double)s->events, shots = (double)s->shots;
    if (s->events == 0 || s->sent == 0)
        return;
    shot_proportion_wilson(s->in_time, s->events, 0.95, &low, &high);
    printf(
        "%-14s %6zu  %4.1f s %.3f [%.3f, %.3f]  %.3f  %6.2f %5.2f %5.2f %5.2f  %6.3f %6.3f %6.3f",
        live_finding_name(which), s->events, live_finding_limit(which), (double)s->in_time / n, low,
        high, (double)s->told / n, numbers_quantile(&s->delay, 0.1), numbers_median(&s->delay),
        numbers_quantile(&s->delay, 0.9), numbers_quantile(&s->delay, 1),
        (double)s->misplaced / shots, (double)s->withdrawn / shots,
        (double)s->withdrawn_true / shots);
    if (s->judged > 0)
        printf("  could be %.3f", (double)s->could / (double)s->judged);
    printf("\n");
}

static void print_kinds(const char *title, const findings_score *score) {
    printf("\n%-14s %6s  %-28s %6s  %-25s  a shot: misplaced, withdrawn, of these true\n", title,
           "events", "told within, share, 95 %", "told", "delay 10 50 90 100 %, s");
    for (int which = 0; which < LIVE_COUNT; which++)
        print_kind((live_finding)which, &score->live[which]);
    if (score->failures > 0)
        printf("%zu FAILED\n", score->failures);
    fflush(stdout);
}

static void tell_all(const plan *of) {
    for (int grade = 0; grade < SHOT_GRADE_COUNT; grade++) {
        findings_score score = {0}, second = {0};
        for (int style = 0; style < SHOT_STYLE_COUNT; style++)
            for (uint64_t i = 0; i < of->shots; i++)
                findings_judge_brewed(of->chain, style, (shot_grade)grade, of->seed, i, &score);
        for (int family = 0; family < ANALYTIC_COUNT; family++)
            for (uint64_t i = 0; i < of->shots; i++)
                findings_judge_drawn(of->chain, family, (shot_grade)grade, of->seed, i, &second);
        printf("\n%s", grades[grade]);
        print_kinds("model", &score);
        print_kinds("pieces", &second);
        findings_score_free(&score);
        findings_score_free(&second);
    }
}

int main(int argc, char **argv) {
    const char *what = argc > 1 ? argv[1] : "openings";
    plan of = {.seed = argc > 2 ? strtoull(argv[2], NULL, 10) : 900,
               .shots = argc > 3 ? strtoull(argv[3], NULL, 10) : 20,
               .chain = argc > 4                   ? argv[4]
                        : strcmp(what, "all") == 0 ? "segment"
                                                   : "surges",
               .list = strcmp(what, "missed") == 0};
    if (strcmp(what, "all") == 0) {
        tell_all(&of);
        return 0;
    }
    if (strcmp(what, "mix") != 0) {
        tabulate(&of, "physical model", SHOT_STYLE_COUNT, styles, judge_brewed);
        tabulate(&of, "pieces of formulas", ANALYTIC_COUNT, families, judge_drawn);
        return 0;
    }
    for (int grade = 0; grade < SHOT_GRADE_COUNT; grade++) {
        of.grade = (shot_grade)grade;
        printf("\n%s", grades[grade]);
        tabulate(&of, "physical model", SHOT_STYLE_COUNT, styles, judge_mix_brewed);
        tabulate(&of, "pieces of formulas", ANALYTIC_COUNT, families, judge_mix_drawn);
    }
    return 0;
}
