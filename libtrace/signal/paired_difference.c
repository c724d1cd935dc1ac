/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two groups in the same blocks. */
#include <shottrace/signal/paired_difference.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/permutation.h>

/* Of the largest mean: differences that scatter by less are alike but for rounding. */
static const double rounding = 1e-12;

/* The means of the complete blocks, in the order of the blocks, and their differences. */
typedef struct pair_means {
    double *first, *second, *difference;
    size_t pairs;
} pair_means;

/* Mean of one side of each block, in steps that lose no digits; `count` holds how many values. */
static void add_means(const double *y, const bool *second, const size_t *block, size_t n, bool side,
                      double *mean, double *count) {
    for (size_t i = 0; i < n; i++)
        if (second[i] == side && !isnan(y[i]))
            mean[block[i]] += (y[i] - mean[block[i]]) / ++count[block[i]];
}

/* `room` has five doubles, all 0, for each block. */
static pair_means collect(const double *y, const bool *second, const size_t *block, size_t blocks,
                          size_t n, double *room) {
    pair_means p = {room, room + blocks, room + 2 * blocks, 0};
    double *first_count = room + 3 * blocks, *second_count = room + 4 * blocks;
    add_means(y, second, block, n, false, p.first, first_count);
    add_means(y, second, block, n, true, p.second, second_count);
    for (size_t b = 0; b < blocks; b++) {
        if (first_count[b] == 0 || second_count[b] == 0)
            continue;
        p.first[p.pairs] = p.first[b];
        p.second[p.pairs] = p.second[b];
        p.difference[p.pairs] = p.first[p.pairs] - p.second[p.pairs];
        p.pairs++;
    }
    return p;
}

static double largest(const pair_means *p) {
    double most = 0;
    for (size_t i = 0; i < p->pairs; i++)
        most = fmax(most, fmax(fabs(p->first[i]), fabs(p->second[i])));
    return most;
}

static shot_status find_signs(const pair_means *p, uint64_t arrangements, double *chance) {
    const shot_permutation_effort exact_only = {arrangements, 0, 0};
    shot_permutation signs;
    SHOT_TRY(shot_permutation_sign_flip(p->difference, p->pairs, &exact_only, &signs));
    if (signs.exact)
        *chance = signs.p;
    return SHOT_OK;
}

static shot_status judge(const pair_means *p, double level, uint64_t arrangements,
                         shot_paired_difference *out) {
    const shot_moments d = shot_moments_find(p->difference, p->pairs);
    *out = (shot_paired_difference){
        .pairs = p->pairs,
        .first = shot_moments_find(p->first, p->pairs),
        .second = shot_moments_find(p->second, p->pairs),
        .sd = d.sd <= rounding * largest(p) ? 0 : d.sd,
        .test = {d.mean, NAN, NAN, NAN, NAN, NAN, NAN},
        .p_signs = NAN,
    };
    if (!(out->sd > 0))
        return SHOT_OK;
    SHOT_TRY(shot_two_sample_paired(p->first, p->second, p->pairs, level, &out->test));
    return find_signs(p, arrangements, &out->p_signs);
}

shot_status shot_paired_difference_find(const double *y, const bool *second, const size_t *block,
                                        size_t blocks, size_t n, double level,
                                        uint64_t arrangements, shot_paired_difference *out) {
    if (!(level > 0 && level < 1))
        return SHOT_ERR_RANGE;
    for (size_t i = 0; i < n; i++)
        if (block[i] >= blocks)
            return SHOT_ERR_RANGE;
    double *room = calloc(5 * blocks + 1, sizeof *room);
    if (room == NULL)
        return SHOT_ERR_MEMORY;
    const pair_means means = collect(y, second, block, blocks, n, room);
    shot_paired_difference found;
    const shot_status status = judge(&means, level, arrangements, &found);
    free(room);
    if (status == SHOT_OK)
        *out = found;
    return status;
}
