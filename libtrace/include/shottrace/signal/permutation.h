/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Permutation tests: how often would chance alone, dealing the same numbers out anew, give a
 * difference as large as the one seen?  No distribution is assumed, ties are counted exactly.
 *
 *     shot_permutation test;
 *     shot_permutation_two_sample(a, n, b, m, &shot_permutation_usual, &test);
 *     printf("p = %g, %s\n", test.p, test.exact ? "exact" : "sampled");
 *
 * Source: Fisher 1935, 'The Design of Experiments', section 21; Pitman 1937, Suppl. J. R. Stat.
 * Soc. 4:119-130.  Sampled p values: Phipson & Smyth 2010, 'Permutation p-values should never be
 * zero', Stat. Appl. Genet. Mol. Biol. 9(1):39.
 */
#ifndef SHOTTRACE_SIGNAL_PERMUTATION_H
#define SHOTTRACE_SIGNAL_PERMUTATION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How much work a test may do.  Up to `enumerate` arrangements all are counted; where there are
 * more, `draws` of them are drawn with the generator shot_random_at(seed, 0). */
typedef struct shot_permutation_effort {
    uint64_t enumerate, draws, seed;
} shot_permutation_effort;

/* A million arrangements (some 10 ms), else 20 000 draws (error of p at 0.05: 0.0015). */
SHOT_API extern const shot_permutation_effort shot_permutation_usual;

typedef struct shot_permutation {
    double p;         /* two-sided: chance of a statistic as far from zero, either way */
    double p_greater; /* chance of one as large, with its sign */
    double se;        /* binomial standard error of p from the drawing; 0 if exact */
    bool exact;
    uint64_t extreme, greater; /* arrangements as far from zero; as large */
    uint64_t total;            /* arrangements counted or drawn */
} shot_permutation;

/* Two groups; the statistic is mean(a) - mean(b), dealt out to groups of the same sizes.
 *   a, b  values; missing ones (NaN) are left out [n], [m]
 * Returns SHOT_OK; SHOT_ERR_SINGULAR if a group has no values; SHOT_ERR_MEMORY.
 * Statistics that differ by less than 1e-9 of the largest distance from the mean are ties, since
 * decimal data lose their ties in binary; a tie counts as extreme. */
SHOT_API shot_status shot_permutation_two_sample(const double *a, size_t n, const double *b,
                                                 size_t m, const shot_permutation_effort *effort,
                                                 shot_permutation *out);

/* The same with Welch's t as the statistic: each difference is divided by the standard error that
 * its own two groups show.  So it asks after the means also where the groups scatter unlike each
 * other and are of unlike size, which the test above takes for a difference; groups of one size get
 * the same p from both.  With a single value in a group it is the test above.
 * Source: Janssen 1997, Stat. Probab. Lett. 36:9-21; Chung & Romano 2013, Ann. Stat. 41:484-507.
 */
SHOT_API shot_status shot_permutation_studentized(const double *a, size_t n, const double *b,
                                                  size_t m, const shot_permutation_effort *effort,
                                                  shot_permutation *out);

/* Differences within pairs; the statistic is their sum under all changes of sign.
 *   difference  values; missing ones are left out [n]
 * Returns and ties as above. */
SHOT_API shot_status shot_permutation_sign_flip(const double *difference, size_t n,
                                                const shot_permutation_effort *effort,
                                                shot_permutation *out);

#ifdef __cplusplus
}
#endif
#endif
