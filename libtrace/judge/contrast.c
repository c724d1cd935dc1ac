/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One measure in two groups of shots. */
#include <shottrace/judge/contrast.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/nested_moments.h>
#include <shottrace/signal/permutation.h>
#include <shottrace/signal/sample_size.h>

#include "lack_of_memory.h"

/* Level of the interval of sigma from which the numbers of shots come: at 95 % the range from four
 * shots spans a factor of more than ten, which helps nobody. */
static const double sigma_level = 0.8;

const shot_contrast_rules shot_contrast_usual_rules = {
    .level = 0.95, .alpha = 0.05, .power = 0.8, .least = 4, .margin = NAN, .arrangements = 1000000};

static bool valid(const shot_contrast_rules *r) {
    return r->level > 0 && r->level < 1 && r->alpha > 0 && r->alpha < 0.5 && r->power > r->alpha &&
           r->power < 1 && !(r->margin <= 0) && r->usual_df >= 0 && r->alpha_now >= 0 &&
           r->alpha_now < 0.5 && r->alpha_same_now >= 0 && r->alpha_same_now < 0.5;
}

/* Of this look. */
static double alpha_of(const shot_contrast_rules *r) {
    return r->alpha_now > 0 ? r->alpha_now : r->alpha;
}

static double alpha_same_of(const shot_contrast_rules *r) {
    return r->alpha_same_now > 0 ? r->alpha_same_now : r->alpha;
}

/* Less than this of what the shots tell within days, and their means over all days tell more
 * (common practice, no source). */
static const double mostly_within = 0.5;

/* The parts of the scatter of either group, days within it. */
typedef struct day_parts {
    shot_nested_moments a, b;
    bool tell; /* a difference can be held against how far days lie apart */
} day_parts;

/* That of the differences. */
static double scatter_of_pairs(const shot_contrast *c) {
    return sqrt(2) * c->sigma;
}

static shot_status test_at(const shot_contrast *c, const day_parts *parts, double level,
                           shot_t_test *out) {
    const shot_t_test *allowing = &c->allowing.test;
    if (c->method == SHOT_CONTRAST_DAYS)
        return shot_two_sample_test(allowing->difference, allowing->se, allowing->df, level, out);
    if (c->method == SHOT_CONTRAST_PAIRS)
        return shot_two_sample_test(c->difference, scatter_of_pairs(c) / sqrt((double)c->a.n),
                                    c->sigma_df, level, out);
    if (c->method == SHOT_CONTRAST_WELCH)
        return shot_two_sample_welch(&c->a, &c->b, level, out);
    if (c->method == SHOT_CONTRAST_BETWEEN)
        return shot_nested_difference_find(&parts->a, &parts->b, level, out);
    double se = c->sigma * sqrt(1 / (double)c->a.n + 1 / (double)c->b.n);
    return shot_two_sample_test(c->difference, se, c->sigma_df, level, out);
}

/* Within both groups, and that of the earlier shots where it is given. */
static void find_scatter(shot_contrast *c, const shot_contrast_rules *rules) {
    double df, sd = shot_moments_pooled_sd((shot_moments[]){c->a, c->b}, 2, &df);
    double squares =
        (df > 0 ? sd * sd * df : 0) +
        (rules->usual_df > 0 ? rules->usual_sd * rules->usual_sd * rules->usual_df : 0);
    c->sigma_df = df + rules->usual_df;
    c->sigma = c->sigma_df > 0 ? sqrt(squares / c->sigma_df) : NAN;
}

/* Enough of both: pairs where they share blocks; Welch, or within or between days where there are
 * several.  Too few of one: only with a scatter from at least `least` other shots. */
static shot_contrast_method choose(const shot_contrast *c, const day_parts *parts,
                                   const shot_contrast_rules *rules) {
    const bool enough = c->a.n >= rules->least && c->b.n >= rules->least;
    if (rules->block != NULL)
        return enough ? SHOT_CONTRAST_PAIRS : SHOT_CONTRAST_NONE;
    const bool within = c->allowing.blocks > 1 && c->allowing.within >= mostly_within;
    const bool between = parts->tell && !within && rules->usual_df == 0;
    if (enough && rules->usual_df == 0)
        return within ? SHOT_CONTRAST_DAYS : between ? SHOT_CONTRAST_BETWEEN : SHOT_CONTRAST_WELCH;
    double known = rules->usual_df + (rules->against_usual ? (double)c->b.n - 1 : 0);
    if (known + 1 < (double)rules->least)
        return SHOT_CONTRAST_NONE;
    return between ? SHOT_CONTRAST_BETWEEN : SHOT_CONTRAST_POOLED;
}

static size_t count_for(double margin, double sigma, const shot_contrast_rules *rules) {
    const bool pairs = rules->block != NULL;
    size_t detect, same;
    if ((pairs ? shot_sample_size_detect_pairs : shot_sample_size_detect)(
            margin, sigma, rules->alpha, rules->power, &detect) != SHOT_OK ||
        (pairs ? shot_sample_size_equivalence_pairs : shot_sample_size_equivalence)(
            margin, sigma, rules->alpha, rules->power, &same) != SHOT_OK)
        return SIZE_MAX;
    const size_t both = detect > same ? detect : same; /* whichever of the two is true */
    /* fewer would be told apart, but not trusted without a scatter from elsewhere */
    return rules->usual_df == 0 && both < rules->least ? rules->least : both;
}

/* Of groups that scatter unlike each other the larger one must not speak for both: as many shots of
 * each kind see the mean of their variances, with Satterthwaite's degrees of freedom (1946,
 * 'An approximate distribution of estimates of variance components', Biometrics Bull. 2:110-114).
 */
static double scatter_of_each(const shot_contrast *c, double *df) {
    *df = c->sigma_df;
    if (c->method == SHOT_CONTRAST_DAYS) {
        *df = c->allowing.test.df;
        return c->allowing.sd;
    }
    if (c->method != SHOT_CONTRAST_WELCH)
        return c->sigma;
    const double va = c->a.sd * c->a.sd, vb = c->b.sd * c->b.sd;
    *df = (va + vb) * (va + vb) / (va * va / (double)(c->a.n - 1) + vb * vb / (double)(c->b.n - 1));
    return sqrt((va + vb) / 2);
}

/* The one scatter of groups of this size whose difference is known no better. */
static double scatter_of_these(const shot_contrast *c) {
    const double n = (double)c->a.n, m = (double)c->b.n;
    if (c->method == SHOT_CONTRAST_DAYS)
        return c->allowing.test.se / sqrt(1 / n + 1 / m);
    if (c->method != SHOT_CONTRAST_WELCH)
        return c->sigma;
    return sqrt((c->a.sd * c->a.sd / n + c->b.sd * c->b.sd / m) / (1 / n + 1 / m));
}

/* Shots that are still to be pulled take turns on each day: of days apart that within them; and
 * come in pairs, where these did. */
static double scatter_to_come(const shot_contrast *c, const day_parts *parts,
                              const shot_contrast_rules *rules, double *df) {
    const double within_df = parts->a.within_df + parts->b.within_df;
    if (rules->block != NULL) {
        *df = c->sigma_df;
        return scatter_of_pairs(c);
    }
    if (c->method != SHOT_CONTRAST_BETWEEN || !(within_df > 0))
        return scatter_of_each(c, df);
    *df = within_df;
    return sqrt((parts->a.within_squares + parts->b.within_squares) / within_df);
}

void shot_contrast_plan(double sigma, double df, const shot_contrast_rules *rules,
                        size_t *needed_low, size_t *needed_high) {
    double low, high;
    *needed_low = *needed_high = 0;
    if (isnan(rules->margin) ||
        shot_sample_size_sigma(sigma, df, sigma_level, &low, &high) != SHOT_OK)
        return;
    *needed_low = count_for(rules->margin, low, rules);
    *needed_high = count_for(rules->margin, high, rules);
}

static void plan(shot_contrast *c, const day_parts *parts, const shot_contrast_rules *rules) {
    double df, sigma = scatter_to_come(c, parts, rules, &df);
    if (c->method == SHOT_CONTRAST_PAIRS)
        shot_sample_size_detectable_pairs(sigma, c->a.n, alpha_of(rules), rules->power,
                                          &c->detectable);
    else if (c->method != SHOT_CONTRAST_NONE && c->method != SHOT_CONTRAST_BETWEEN)
        shot_sample_size_detectable(scatter_of_these(c), c->a.n, c->b.n, alpha_of(rules),
                                    rules->power, &c->detectable);
    shot_contrast_plan(sigma, df, rules, &c->needed_low, &c->needed_high);
}

static shot_status find_permutation(const double *a, size_t n, const double *b, size_t m,
                                    uint64_t arrangements, shot_contrast *c) {
    shot_permutation_effort exact_only = {arrangements, 0, 0};
    shot_permutation permutation;
    shot_status status = shot_permutation_studentized(a, n, b, m, &exact_only, &permutation);
    if (status == SHOT_OK && permutation.exact)
        c->p_permutation = permutation.p;
    return lack_of_memory_only(status);
}

static void find_tests(shot_contrast *c, const day_parts *parts, const shot_contrast_rules *rules) {
    shot_t_test narrow;
    test_at(c, parts, rules->alpha_now > 0 ? 1 - rules->alpha_now : rules->level, &c->test);
    test_at(c, parts, 1 - 2 * alpha_same_of(rules), &narrow);
    c->same_low = narrow.low;
    c->same_high = narrow.high;
    if (!isnan(rules->margin))
        shot_two_sample_equivalence(&c->test, rules->margin, &c->p_same);
    /* The scatter is the root of the mean variance (Cohen 1988, 2.2, for groups that scatter unlike
     * each other), so that the interval agrees with the test, and holds where the pooled one does
     * not.
     */
    double df, each = scatter_of_each(c, &df);
    if (c->method == SHOT_CONTRAST_WELCH || c->method == SHOT_CONTRAST_DAYS ||
        c->method == SHOT_CONTRAST_BETWEEN || c->method == SHOT_CONTRAST_PAIRS)
        shot_two_sample_effect(&c->test, each, rules->level, &c->effect);
    else
        shot_two_sample_hedges(&c->a, &c->b, rules->level, &c->effect);
}

/* All values, and which of them are of the second group. */
typedef struct all_values {
    double *y;
    bool *second;
} all_values;

static void free_values(all_values *v) {
    free(v->y);
    free(v->second);
}

static shot_status gather(const double *a, size_t n, const double *b, size_t m, all_values *v) {
    *v = (all_values){malloc((n + m + 1) * sizeof *v->y), malloc((n + m + 1) * sizeof *v->second)};
    if (v->y == NULL || v->second == NULL) {
        free_values(v);
        return SHOT_ERR_MEMORY;
    }
    for (size_t i = 0; i < n + m; i++) {
        v->second[i] = i >= n;
        v->y[i] = v->second[i] ? b[i - n] : a[i];
    }
    return SHOT_OK;
}

/* What days (or blocks) and order leave of the difference, where they are known. */
static shot_status allow(const all_values *v, size_t count, const shot_contrast_rules *rules,
                         shot_contrast *c) {
    const bool shared = rules->block != NULL;
    if (rules->day == NULL && rules->order == NULL)
        return SHOT_OK;
    const shot_status status = shot_blocked_difference_find(
        v->y, v->second, shared ? rules->block : rules->day, shared ? rules->blocks : rules->days,
        rules->order, count, rules->level, &c->allowing);
    return status == SHOT_ERR_SINGULAR ? SHOT_OK : status;
}

/* Of shots that share blocks those of complete ones alone count, and not how far blocks lie apart.
 */
static shot_status pair_up(const all_values *v, size_t count, const shot_contrast_rules *rules,
                           shot_contrast *c) {
    shot_paired_difference paired;
    SHOT_TRY(shot_paired_difference_find(v->y, v->second, rules->block, rules->blocks, count,
                                         rules->level, rules->arrangements, &paired));
    c->a = paired.first;
    c->b = paired.second;
    c->difference = paired.test.difference;
    c->sigma = paired.sd / sqrt(2);
    c->sigma_df = paired.pairs > 1 ? (double)paired.pairs - 1 : 0;
    c->p_permutation = paired.p_signs;
    return SHOT_OK;
}

/* The scatter, and what is known besides, of all values at once. */
static shot_status look_at_all(const double *a, size_t n, const double *b, size_t m,
                               const shot_contrast_rules *rules, shot_contrast *c) {
    all_values values;
    SHOT_TRY(gather(a, n, b, m, &values));
    shot_status status = allow(&values, n + m, rules, c);
    if (status == SHOT_OK && rules->block != NULL)
        status = pair_up(&values, n + m, rules, c);
    free_values(&values);
    return status;
}

/* How far days lie apart, where they are known and a group has several. */
static shot_status find_day_parts(const double *a, size_t n, const double *b, size_t m,
                                  const shot_contrast_rules *rules, day_parts *out) {
    shot_t_test test;
    *out = (day_parts){.tell = false};
    if (rules->day == NULL || rules->days < 2 || rules->block != NULL)
        return SHOT_OK;
    SHOT_TRY(shot_nested_moments_find(a, rules->day, rules->days, n, &out->a));
    SHOT_TRY(shot_nested_moments_find(b, rules->day + n, rules->days, m, &out->b));
    out->tell = shot_nested_difference_find(&out->a, &out->b, rules->level, &test) == SHOT_OK;
    return SHOT_OK;
}

/* Of n + 1 shots that do not differ each is as likely to be the one that is told apart: the chance
 * that it has this rank or one further out, on either side.  Exact for values of any distribution,
 * too large where there are ties: the prediction interval between order statistics (Hahn & Meeker
 * 1991, 'Statistical Intervals', 5.4). */
static double rank_p(double value, const double *usual, size_t m) {
    double up = 1, down = 1, all = 1;
    for (size_t i = 0; i < m; i++) {
        if (isnan(usual[i]))
            continue;
        up += usual[i] >= value;
        down += usual[i] <= value;
        all++;
    }
    return fmin(1, 2 * fmin(up, down) / all);
}

static shot_contrast nothing_yet(const double *a, size_t n, const double *b, size_t m) {
    shot_contrast c = {.a = shot_moments_find(a, n), .b = shot_moments_find(b, m)};
    c.difference = c.a.mean - c.b.mean;
    c.test = (shot_t_test){c.difference, NAN, NAN, NAN, NAN, NAN, NAN};
    c.effect = (shot_effect_size){NAN, NAN, NAN};
    c.allowing = (shot_blocked_difference){.test = c.test, .sd = NAN, .within = NAN};
    c.allowing.test.difference = NAN;
    c.same_low = c.same_high = c.p_same = c.p_permutation = c.detectable = NAN;
    return c;
}

shot_status shot_contrast_find(const double *a, size_t n, const double *b, size_t m,
                               const shot_contrast_rules *rules, shot_contrast *out) {
    if (!valid(rules))
        return SHOT_ERR_RANGE;
    *out = nothing_yet(a, n, b, m);
    out->verdict = SHOT_VERDICT_MISSING;
    if (out->a.n == 0 || out->b.n == 0)
        return SHOT_OK;
    find_scatter(out, rules);
    SHOT_TRY(look_at_all(a, n, b, m, rules, out));
    if (out->a.n == 0) /* no block has both */
        return SHOT_OK;
    day_parts parts;
    SHOT_TRY(find_day_parts(a, n, b, m, rules, &parts));
    out->method = choose(out, &parts, rules);
    if (out->method == SHOT_CONTRAST_DAYS)
        out->difference = out->allowing.test.difference;
    if (out->method == SHOT_CONTRAST_BETWEEN)
        out->difference = parts.a.mean - parts.b.mean;
    out->verdict = SHOT_VERDICT_TOO_FEW;
    bool alike = out->sigma == 0;
    if (alike)
        out->verdict = SHOT_VERDICT_NO_SCATTER;
    if (out->sigma > 0)
        plan(out, &parts, rules);
    if (alike || out->method == SHOT_CONTRAST_NONE) {
        out->method = SHOT_CONTRAST_NONE;
        out->p_permutation = NAN;
        return SHOT_OK;
    }
    out->verdict = SHOT_VERDICT_NOT_SETTLED;
    if (rules->counted && rules->against_usual && out->a.n == 1) {
        out->method = SHOT_CONTRAST_RANKS;
        out->test.p = rank_p(out->a.mean, b, m);
        out->needed_low = out->needed_high = 0;
        out->detectable = NAN;
        return SHOT_OK;
    }
    find_tests(out, &parts, rules);
    if (out->method == SHOT_CONTRAST_DAYS || out->method == SHOT_CONTRAST_BETWEEN ||
        out->method == SHOT_CONTRAST_PAIRS)
        return SHOT_OK;
    return find_permutation(a, n, b, m, rules->arrangements, out);
}

/* Of groups that were pulled apart only what a drift leaves, or how far days lie apart, tells the
 * change from the hour and the day. */
static bool is_by_apart(const shot_contrast *c, const shot_contrast_rules *rules) {
    return rules->apart && c->method != SHOT_CONTRAST_DAYS && c->method != SHOT_CONTRAST_BETWEEN;
}

static shot_verdict verdict_apart(shot_verdict verdict, const shot_contrast *c,
                                  const shot_contrast_rules *rules) {
    /* a drift allowed for; pairs of which each has one side first cannot tell it */
    const bool differs = c->allowing.test.p <= alpha_of(rules) &&
                         (c->method != SHOT_CONTRAST_PAIRS || c->allowing.drift);
    if (verdict == SHOT_VERDICT_DIFFERENT &&
        !(differs && c->allowing.test.difference * c->difference > 0))
        return SHOT_VERDICT_DRIFTED;
    /* a drift that hides a difference does not make the groups the same */
    return verdict == SHOT_VERDICT_SAME && differs ? SHOT_VERDICT_NOT_SETTLED : verdict;
}

void shot_contrast_judge(shot_contrast *c, const shot_contrast_rules *rules, double p_different,
                         double p_same) {
    if (c->method == SHOT_CONTRAST_NONE)
        return;
    bool different = p_different <= alpha_of(rules), same = p_same <= alpha_same_of(rules);
    c->verdict = different ? (same ? SHOT_VERDICT_NEGLIGIBLE : SHOT_VERDICT_DIFFERENT)
                           : (same ? SHOT_VERDICT_SAME : SHOT_VERDICT_NOT_SETTLED);
    if (is_by_apart(c, rules))
        c->verdict = verdict_apart(c->verdict, c, rules);
}

const char *shot_verdict_text(shot_verdict verdict) {
    static const char *const texts[] = {"different",
                                        "the same within the margin",
                                        "different but negligible",
                                        "not settled",
                                        "too few to tell",
                                        "no scatter to judge by",
                                        "not measured in both",
                                        "different or drifted"};
    return texts[verdict];
}
