/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Openings go through the filter sample by sample until they have ended; what follows is known from
 * the tails. */
#include "detect/conductance_answer.h"

#include <string.h>

#include "detect/conductance_lanes.h"

/* While they open: from `first` on, before `end`. */
SHOT_WIDE static void open_all(const conductance_data *data, const conductance_step *steps,
                               const conductance_filter *filter, size_t first, size_t end,
                               double *added, conductance_response *sums, lanes *out) {
    const double *gains = filter->gains->gain + filter->lane;
    const double *weights = filter->gains->weight + filter->lane;
    lanes x = {.g = {0}};
    double along[LANES] = {0}, square[LANES] = {0};
    for (size_t i = first; i < end; i++) {
        const lane_gains gain = gains_of_one(gains + i * STATES * LANES);
        const double weight = weights[i * LANES], v = filter->innovation[i] * weight;
        double e[LANES];
        for (int k = 0; k < LANES; k++)
            e[k] = added[i * LANES + k];
        if (i > first)
            move_lanes(&steps[i], &x);
        innovate(observe(data, i), gain.by, &x, e);
        for (int k = 0; k < LANES; k++)
            along[k] += e[k] * v;
        for (int k = 0; k < LANES; k++)
            square[k] += e[k] * e[k] * weight;
        for (int k = 0; k < LANES; k++)
            added[i * LANES + k] = e[k];
    }
    memcpy(sums->along, along, sizeof along);
    memcpy(sums->square, square, sizeof square);
    memcpy(out->g, x.g, sizeof x.g);
    memcpy(out->d, x.d, sizeof x.d);
    memcpy(out->c, x.c, sizeof x.c);
    memcpy(out->e, x.e, sizeof x.e);
}

/* How far the filter is from the puck at the first sample behind them. */
static void leave_behind(const conductance_rests *rests, lanes *x, conductance_answer *self) {
    conductance_behind *z = &self->behind;
    move_lanes(&self->steps[self->end], x);
    for (int k = 0; k < LANES; k++) {
        z->g[k] = rests->scar[k] - x->g[k];
        z->d[k] = -x->d[k];
        z->c[k] = rests->sum[k] - x->c[k];
        z->e[k] = -x->e[k];
        z->rest[k] = rests->share[k] * rests->open[k];
        z->healing[k] = rests->healing[k];
    }
}

static void add_tail(conductance_answer *self) {
    const conductance_tail *tail = &self->filter->tails[self->end];
    for (int k = 0; k < LANES; k++) {
        self->sum.along[k] += conductance_tail_along(tail, &self->behind, k);
        self->sum.square[k] += conductance_tail_common(tail, &self->behind, &self->behind, k);
    }
}

void conductance_answer_find(const conductance_opening *openings, size_t count,
                             conductance_answer *self) {
    conductance_rests rests;
    lanes x;
    self->first = conductance_add_until_ended(self->data, self->steps, openings, count, self->added,
                                              &self->end, &rests);
    open_all(self->data, self->steps, self->filter, self->first, self->end, self->added, &self->sum,
             &x);
    if (self->end == self->data->n)
        return;
    leave_behind(&rests, &x, self);
    add_tail(self);
}

/* z = F z, to sample i. */
static void move_behind(const conductance_data *data, const conductance_step *f, size_t i,
                        conductance_behind *z) {
    for (int k = 0; k < LANES; k++) {
        const double healed = f->healed[z->healing[k]], rest = z->rest[k];
        z->c[k] += f->by_level * z->g[k] + f->by_slope * z->d[k];
        if (data->summed)
            z->c[k] += f->dt * (data->pressure[i - 1] + data->pressure[i] * healed) / 2 * rest;
        z->g[k] += f->dt * z->d[k];
        z->e[k] *= f->left;
        z->rest[k] = healed * rest;
    }
}

void conductance_answer_go_on(size_t end, conductance_answer *self) {
    const conductance_data *data = self->data;
    conductance_behind *z = &self->behind;
    for (; self->end < end; self->end++) {
        const size_t i = self->end;
        const double *gain = self->filter->gains->gain + i * STATES * LANES + self->filter->lane;
        const observation h = observe(data, i);
        for (int k = 0; k < LANES; k++) {
            const double e = h.by_g * z->g[k] + h.by_c * z->c[k] + z->e[k] +
                             (data->summed ? 0 : data->pressure[i] * z->rest[k]);
            self->added[i * LANES + k] = e;
            z->g[k] -= gain[0] * e;
            z->d[k] -= gain[LANES] * e;
            z->c[k] -= gain[2 * LANES] * e;
            z->e[k] -= gain[3 * LANES] * e;
        }
        if (i + 1 < data->n)
            move_behind(data, &self->steps[i + 1], i + 1, z);
    }
}

double conductance_answer_common(const conductance_answer *a, const conductance_answer *b,
                                 int lane) {
    const conductance_filter *filter = a->filter;
    const double *weight = filter->gains->weight + filter->lane;
    double sum = 0;
    for (size_t i = a->first > b->first ? a->first : b->first; i < a->end; i++)
        sum += a->added[i * LANES + lane] * b->added[i * LANES + lane] * weight[i * LANES];
    return a->end < a->data->n
               ? sum + conductance_tail_common(&filter->tails[a->end], &a->behind, &b->behind, lane)
               : sum;
}

void conductance_weigh(const conductance_answer *answer, const conductance_opening *openings,
                       size_t count, conductance_evidence *out) {
    const conductance_data *data = answer->data;
    const conductance_filter *filter = answer->filter;
    for (size_t k = 0; k < LANES; k++) {
        const conductance_opening *one = &openings[k < count ? k : 0];
        const size_t seen = conductance_first_seen(data, one);
        out[k] = (conductance_evidence){
            .along = answer->sum.along[k] / filter->scale,
            .square = answer->sum.square[k] / filter->scale,
            .base = seen < data->n ? filter->level[seen] + data->taken[seen] : 0,
            .before = one->onset - data->t[0] + data->lag};
    }
}
