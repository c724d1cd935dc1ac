/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two groups in blocks, in a known order. */
#include <shottrace/signal/blocked_difference.h>

#include <math.h>
#include <stdlib.h>

/* A share of a sum of squares under which what is left of it is rounding. */
static const double rounding = 1e-10;

/* One value: is it of the first group, where in the order, and what is it. */
typedef struct member {
    double first, order, y;
} member;

/* The values of a block that are there. */
typedef struct block_mean {
    double count;
    member mean;
} block_mean;

/* Sums of squares and products about the means of the blocks. */
typedef struct centred_sums {
    double values, first, blocks;
    double gg, go, gy, oo, oy, yy;
} centred_sums;

typedef struct values {
    const double *y, *order;
    const bool *second;
    const size_t *block;
    size_t blocks, n;
} values;

static member member_at(const values *v, size_t i) {
    return (member){v->second[i] ? 0 : 1, v->order == NULL ? 0 : v->order[i], v->y[i]};
}

static size_t block_at(const values *v, size_t i) {
    return v->block == NULL ? 0 : v->block[i];
}

static bool is_there(const values *v, size_t i) {
    return !isnan(v->y[i]) && !(v->order != NULL && isnan(v->order[i]));
}

/* Steps from mean to mean lose nothing of a clock's digits. */
static void add_to(block_mean *b, const member *m) {
    b->count++;
    b->mean.first += (m->first - b->mean.first) / b->count;
    b->mean.order += (m->order - b->mean.order) / b->count;
    b->mean.y += (m->y - b->mean.y) / b->count;
}

static void add_centred(centred_sums *s, const member *m, const member *mean) {
    const double g = m->first - mean->first, o = m->order - mean->order, y = m->y - mean->y;
    s->values++;
    s->first += m->first;
    s->gg += g * g;
    s->go += g * o;
    s->gy += g * y;
    s->oo += o * o;
    s->oy += o * y;
    s->yy += y * y;
}

static shot_status centre(const values *v, centred_sums *s) {
    block_mean *blocks = calloc(v->blocks + 1, sizeof *blocks);
    if (blocks == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < v->n; i++)
        if (is_there(v, i)) {
            const member m = member_at(v, i);
            add_to(&blocks[block_at(v, i)], &m);
        }
    for (size_t i = 0; i < v->n; i++)
        if (is_there(v, i)) {
            const member m = member_at(v, i);
            add_centred(s, &m, &blocks[block_at(v, i)].mean);
        }
    for (size_t b = 0; b < v->blocks; b++)
        s->blocks += blocks[b].count > 0;
    free(blocks);
    return SHOT_OK;
}

/* The group's coefficient, alone or beside a slope over the order. */
static shot_status solve(const centred_sums *s, bool drift, double level,
                         shot_blocked_difference *out) {
    const double whole = s->first * (s->values - s->first) / s->values;
    const double det = drift ? s->gg * s->oo - s->go * s->go : s->gg;
    const double difference = drift ? (s->oo * s->gy - s->go * s->oy) / det : s->gy / det;
    const double slope = drift ? (s->gg * s->oy - s->go * s->gy) / det : 0;
    const double df = s->values - s->blocks - (drift ? 2 : 1);
    const double rest = s->yy - difference * s->gy - slope * s->oy;
    if (!(df >= 1) || !(rest > rounding * s->yy))
        return SHOT_ERR_SINGULAR;
    const double sd = sqrt(rest / df), se = sd * sqrt((drift ? s->oo : 1) / det);
    shot_t_test test;
    SHOT_TRY(shot_two_sample_test(difference, se, df, level, &test));
    *out = (shot_blocked_difference){test, sd, (size_t)s->blocks, s->gg / whole, drift};
    return SHOT_OK;
}

shot_status shot_blocked_difference_find(const double *y, const bool *second, const size_t *block,
                                         size_t blocks, const double *order, size_t n, double level,
                                         shot_blocked_difference *out) {
    const values v = {y, order, second, block, block == NULL ? 1 : blocks, n};
    centred_sums s = {0};
    if (!(level > 0 && level < 1))
        return SHOT_ERR_RANGE;
    for (size_t i = 0; i < n; i++)
        if (block_at(&v, i) >= v.blocks)
            return SHOT_ERR_RANGE;
    SHOT_TRY(centre(&v, &s));
    if (!(s.gg > rounding))
        return SHOT_ERR_SINGULAR;
    const bool drift = s.oo > 0 && s.gg * s.oo - s.go * s.go > rounding * s.gg * s.oo;
    if (drift && solve(&s, true, level, out) == SHOT_OK)
        return SHOT_OK;
    return solve(&s, false, level, out);
}
