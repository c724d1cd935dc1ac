/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values in blocks: within a block, and from block to block. */
#include <shottrace/signal/nested_moments.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/sample_size.h>

#include "signal/running_moments.h"

/* Of a reciprocal number of values: less is rounding. */
static const double rounding = 1e-12;

static shot_nested_moments gather(const running_moments *blocks, size_t count) {
    running_moments means = {0};
    double n = 0, reciprocals = 0, within = 0;
    for (size_t b = 0; b < count; b++) {
        if (blocks[b].count == 0)
            continue;
        running_moments_add(&means, blocks[b].mean);
        n += blocks[b].count;
        reciprocals += 1 / blocks[b].count;
        within += blocks[b].squares;
    }
    return (shot_nested_moments){
        .n = (size_t)n,
        .blocks = (size_t)means.count,
        .mean = means.count > 0 ? means.mean : NAN,
        .size = means.count > 0 ? means.count / reciprocals : NAN,
        .within_squares = within,
        .within_df = n - means.count,
        .means_squares = means.squares,
        .means_df = fmax(means.count - 1, 0),
    };
}

shot_status shot_nested_moments_find(const double *y, const size_t *block, size_t blocks, size_t n,
                                     shot_nested_moments *out) {
    running_moments *sums = calloc(blocks + 1, sizeof *sums);
    shot_status status = sums == NULL ? SHOT_ERR_MEMORY : SHOT_OK;
    for (size_t i = 0; i < n && status == SHOT_OK; i++) {
        if (block[i] >= blocks)
            status = SHOT_ERR_RANGE;
        else if (!isnan(y[i]))
            running_moments_add(&sums[block[i]], y[i]);
    }
    if (status == SHOT_OK)
        *out = gather(sums, blocks);
    free(sums);
    return status;
}

/* A sum of mean squares, each times a weight, and the degrees of freedom of it (Satterthwaite). */
typedef struct pooled {
    double variance, over; /* over: the sum of squares of its parts, each over its own */
    double less, more;     /* squares of how far the ends of its interval lie from it */
} pooled;

static void add_part(pooled *p, double weight, double squares, double df) {
    const double part = df > 0 ? weight * squares / df : 0;
    p->variance += part;
    p->over += df > 0 ? part * part / df : 0;
}

/* What a part makes the interval of the sum wider by. */
static void add_doubt(pooled *p, double weight, double squares, double df, double tail) {
    const double part = weight * squares / df;
    const double less = part * (1 - df / shot_chi_square_quantile(1 - tail, df));
    const double more = part * (df / shot_chi_square_quantile(tail, df) - 1);
    p->less += less * less;
    p->more += more * more;
}

static double df_of(const pooled *p) {
    return p->variance * p->variance / p->over;
}

/* ---- one set ---- */

/* Of the blocks themselves: what their means scatter beyond what their values make them. */
static double root_beyond(const shot_nested_moments *m, double f_of_noise, double over) {
    const double noise = m->within_squares / m->within_df / m->size * m->means_df;
    return sqrt(fmax(m->means_squares - f_of_noise * noise, 0) / over);
}

shot_status shot_nested_scatter_find(const shot_nested_moments *m, double level,
                                     shot_nested_scatter *out) {
    if (!(level > 0 && level < 1))
        return SHOT_ERR_RANGE;
    if (m->means_df < 1 || m->within_df < 1 || !(m->within_squares > 0))
        return SHOT_ERR_SINGULAR;
    const double tail = (1 - level) / 2, d1 = m->means_df, d2 = m->within_df;
    const double noise = m->within_squares / d2 / m->size;
    pooled all = {0};
    add_part(&all, 1, m->means_squares, d1);
    add_part(&all, 1 - 1 / m->size, m->within_squares, d2);
    add_doubt(&all, 1, m->means_squares, d1, tail);
    add_doubt(&all, 1 - 1 / m->size, m->within_squares, d2, tail);
    shot_nested_scatter s = {
        .within = sqrt(m->within_squares / d2),
        .between = root_beyond(m, 1, d1),
        .between_low = root_beyond(m, shot_f_quantile(1 - tail, d1, d2),
                                   shot_chi_square_quantile(1 - tail, d1)),
        .between_high =
            root_beyond(m, shot_f_quantile(tail, d1, d2), shot_chi_square_quantile(tail, d1)),
        .overall = sqrt(all.variance),
        .overall_low = sqrt(all.variance - sqrt(all.less)),
        .overall_high = sqrt(all.variance + sqrt(all.more)),
        .overall_df = df_of(&all),
        .p = shot_f_tail(m->means_squares / d1 / noise, d1, d2),
    };
    SHOT_TRY(shot_sample_size_sigma(s.within, d2, level, &s.within_low, &s.within_high));
    *out = s;
    return SHOT_OK;
}

/* ---- two sets ---- */

/* One over the number of values that the means of the blocks of both sets rest on, as their pooled
 * scatter has it. */
static double reciprocal_size(const shot_nested_moments *a, const shot_nested_moments *b) {
    return ((a->means_df > 0 ? a->means_df / a->size : 0) +
            (b->means_df > 0 ? b->means_df / b->size : 0)) /
           (a->means_df + b->means_df);
}

shot_status shot_nested_difference_find(const shot_nested_moments *a, const shot_nested_moments *b,
                                        double level, shot_t_test *out) {
    if (a->n == 0 || b->n == 0 || !(a->means_df + b->means_df > 0))
        return SHOT_ERR_SINGULAR;
    const double na = (double)a->blocks, nb = (double)b->blocks, usual = reciprocal_size(a, b);
    const double less_sure = (1 / a->size - usual) / na + (1 / b->size - usual) / nb;
    const double within_df = a->within_df + b->within_df;
    pooled v = {0};
    add_part(&v, 1 / na + 1 / nb, a->means_squares + b->means_squares, a->means_df + b->means_df);
    /* blocks that are larger than usual are surer than that: left out, on the safe side */
    add_part(&v, fmax(less_sure, 0), a->within_squares + b->within_squares, within_df);
    if (!(v.variance > 0) || (less_sure > rounding && !(within_df > 0)))
        return SHOT_ERR_SINGULAR;
    return shot_two_sample_test(a->mean - b->mean, sqrt(v.variance), df_of(&v), level, out);
}
