/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One measure in two groups of shots: did it change, by how much, and is that settled?
 *
 *     shot_contrast c;
 *     shot_contrast_rules rules = shot_contrast_usual_rules;
 *     rules.margin = 0.5;
 *     shot_contrast_find(today, n, before, m, &rules, &c);
 *     shot_contrast_judge(&c, &rules, c.test.p, c.p_same);    or with p corrected for many measures
 *     if (c.verdict == SHOT_VERDICT_DIFFERENT) ...
 *
 * The methods and their sources stand with the kernels in shottrace/signal: two_sample.h,
 * permutation.h, sample_size.h.
 */
#ifndef SHOTTRACE_JUDGE_CONTRAST_H
#define SHOTTRACE_JUDGE_CONTRAST_H

#include <stdbool.h>
#include <stdint.h>

#include <shottrace/signal/blocked_difference.h>
#include <shottrace/signal/moments.h>
#include <shottrace/signal/paired_difference.h>
#include <shottrace/signal/two_sample.h>
#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_contrast_rules {
    double level; /* of intervals, 0.95 */
    double alpha; /* of tests, 0.05 */
    double power; /* that the number of shots is to give, 0.8 */
    size_t least; /* shots a side under which no p is given unless the usual scatter is known, 4 */
    /* Of this look where there are several (alpha_spending.h): of the test of a difference, and of
     * each of the two against the margin; 0: alpha, as there is one look.  The intervals then hold
     * at all looks together, at 1 - alpha. */
    double alpha_now, alpha_same_now;
    double margin;             /* a difference that matters, > 0; NaN if nobody said */
    double usual_sd, usual_df; /* scatter of earlier shots and its degrees of freedom; df 0: none */
    uint64_t arrangements;     /* most that a permutation test may count, 1e6; 0: none of it */
    bool against_usual;        /* group b is those earlier shots: a may be a single shot */
    bool counted;      /* whole numbers, mostly small: a single shot is judged by its rank */
    const size_t *day; /* which of `days` days, of a's values, then of b's [n + m], or NULL */
    size_t days;
    const double *order; /* place of each in the order [n + m], or NULL: not known */
    bool apart; /* one group was pulled after the other, or on other days: what the hour or the day
                   does looks like a difference */
    const size_t *block; /* which of `blocks` (people, beans) each is of, that may have shots on
                            either side [n + m], or NULL; the difference is then that within them,
                            and days are not looked at */
    size_t blocks;
} shot_contrast_rules;

/* The figures named above, no margin and no usual scatter. */
SHOT_API extern const shot_contrast_rules shot_contrast_usual_rules;

typedef enum shot_verdict {
    SHOT_VERDICT_DIFFERENT,   /* and, where a margin is given, not shown to be within it */
    SHOT_VERDICT_SAME,        /* within the margin, and no difference shown */
    SHOT_VERDICT_NEGLIGIBLE,  /* a difference is shown, and shown to be within the margin */
    SHOT_VERDICT_NOT_SETTLED, /* neither */
    SHOT_VERDICT_TOO_FEW,     /* too few shots to tell */
    SHOT_VERDICT_NO_SCATTER,  /* all shots of each group are alike: nothing to judge by */
    SHOT_VERDICT_MISSING,     /* one of the groups has no value */
    SHOT_VERDICT_DRIFTED      /* a difference is shown, but of groups pulled apart, and a drift or
                                 the day may have made it */
} shot_verdict;

/* How the scatter was taken. */
typedef enum shot_contrast_method {
    SHOT_CONTRAST_NONE,    /* no test */
    SHOT_CONTRAST_WELCH,   /* each group its own */
    SHOT_CONTRAST_POOLED,  /* one for both groups and the earlier shots */
    SHOT_CONTRAST_DAYS,    /* one for both groups, each day at a level of its own */
    SHOT_CONTRAST_RANKS,   /* none: a single shot's place among the usual ones; p alone */
    SHOT_CONTRAST_BETWEEN, /* that of the days' means: each group on days of its own */
    SHOT_CONTRAST_PAIRS    /* that of the differences within blocks; a and b are then of the means
                              of the blocks that have both, n being how many these are */
} shot_contrast_method;

/* Figures that were not found are NaN, counts 0. */
typedef struct shot_contrast {
    shot_moments a, b;
    double difference; /* mean of a less mean of b; of SHOT_CONTRAST_DAYS that within days, of
                          SHOT_CONTRAST_BETWEEN that of the days' means */
    shot_contrast_method method;
    shot_blocked_difference allowing; /* the difference that day (or block) and order leave; all NaN
                                         where they are not known, or no day has both groups */
    shot_t_test test;                 /* with the interval at `level` */
    double same_low, same_high; /* the interval at 1 - 2 alpha, which the margin is held against */
    double p_same;              /* of two one-sided tests against the margin */
    double p_permutation;       /* exact; NaN where there are too many arrangements, or days */
    shot_effect_size effect; /* Hedges' g; of SHOT_CONTRAST_WELCH by the mean of both variances */
    double sigma, sigma_df;  /* scatter of single shots within a group; of SHOT_CONTRAST_PAIRS that
                                of the differences over the root of 2, as of two single values */
    double detectable;       /* difference that groups of this size find with that power */
    size_t needed_low,
        needed_high;      /* shots of each, or pairs, that settle a difference of the margin, over
                             the interval of sigma at 80 %; SIZE_MAX: more than a million */
    shot_verdict verdict; /* by shot_contrast_judge */
} shot_contrast;

/* All figures.  Missing values (NaN) are left out [n], [m].
 * Returns SHOT_OK, also where there is nothing to test: the verdict then says why;
 * SHOT_ERR_RANGE for rules outside their ranges; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_contrast_find(const double *a, size_t n, const double *b, size_t m,
                                        const shot_contrast_rules *rules, shot_contrast *out);

/* The verdict by p values that may have been corrected for the number of measures.  A verdict of
 * too few, no scatter or missing stays. */
SHOT_API void shot_contrast_judge(shot_contrast *contrast, const shot_contrast_rules *rules,
                                  double p_different, double p_same);

/* How many shots of each kind (with rules->block: pairs) settle a difference of rules->margin, the
 * one that is there and the one that is not, before any of the other kind was pulled.
 *   sigma, df    scatter of the usual shots, and its degrees of freedom
 *   needed_low,
 *   needed_high  over the interval of sigma at 80 %; 0 where the margin is NaN, or nothing is known
 *                of the scatter; SIZE_MAX: more than a million */
SHOT_API void shot_contrast_plan(double sigma, double df, const shot_contrast_rules *rules,
                                 size_t *needed_low, size_t *needed_high);

/* "different", "the same within the margin", ...: static text. */
SHOT_API const char *shot_verdict_text(shot_verdict verdict);

#ifdef __cplusplus
}
#endif
#endif
