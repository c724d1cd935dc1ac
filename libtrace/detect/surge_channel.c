/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The most credible wander on a grid. */
#include "detect/surge_channel.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* Wander in steps of a factor of two and of three.  A trend of which either alone takes the level
 * by more than 5 % within 2 s is none: that is what a surge is. */
static const double levels[SURGE_LEVELS] = {0, 0.001, 0.002, 0.004, 0.008, 0.016, 0.032};
static const double slopes[SURGE_SLOPES] = {0, 0.001, 0.003, 0.01, 0.03};
static const size_t room_for_gains = 1 << 24; /* bytes */
enum { LANES = CONDUCTANCE_LANES };
enum { FEWEST = 8 }; /* gains kept, however long */

/* ---- a place in the grid ---- */

typedef struct place {
    int level, slope, drift;
} place;

static bool exists(place at) {
    return at.level >= 0 && at.level < SURGE_LEVELS && at.slope >= 0 && at.slope < SURGE_SLOPES &&
           at.drift >= 0 && at.drift < LANES;
}

static int number_of(place at) {
    return (at.level * SURGE_SLOPES + at.slope) * LANES + at.drift;
}

static place place_of(int number) {
    return (place){number / LANES / SURGE_SLOPES, number / LANES % SURGE_SLOPES, number % LANES};
}

/* A trend that bends ten times as much is less likely beforehand by e (a prior that shrinks towards
 * the simpler model: Simpson et al. 2017, Stat. Sci. 32:1-28); else the one that bends at each
 * sample would imitate any opening. */
static double beforehand(place at) {
    return -at.slope / 2.0;
}

double surge_channel_beforehand(const surge_channel *channel) {
    return beforehand(place_of(channel->place));
}

/* ---- the channel ---- */

shot_status surge_channel_new(conductance_data *data, surge_channel *out) {
    *out = (surge_channel){.data = data, .steps = conductance_steps_new(data)};
    size_t each = (data->n + 1) * 7 * LANES * sizeof(double);
    out->most = room_for_gains / each > FEWEST ? room_for_gains / each : FEWEST;
    out->added = malloc((data->n + 1) * LANES * sizeof(double));
    SHOT_TRY(conductance_filter_new(data, &out->filter));
    return out->steps && out->added ? SHOT_OK : SHOT_ERR_MEMORY;
}

void surge_channel_free(surge_channel *channel) {
    for (int i = 0; i < SURGE_GAINS; i++)
        conductance_gains_free(&channel->gains[i]);
    conductance_filter_free(&channel->filter);
    free(channel->steps);
    free(channel->added);
}

/* ---- gains ---- */

static void forget_one(surge_channel *channel) {
    int oldest = -1;
    for (int i = 0; i < SURGE_GAINS; i++)
        if (channel->used[i] > 0 && i != channel->place / LANES &&
            (oldest < 0 || channel->used[i] < channel->used[oldest]))
            oldest = i;
    conductance_gains_free(&channel->gains[oldest]);
    channel->used[oldest] = 0;
    channel->kept--;
}

/* For wander of any place, whatever the noise that lasts. */
static shot_status gains_at(surge_channel *channel, int number, const conductance_gains **out) {
    int which = number / LANES;
    *out = &channel->gains[which];
    if (channel->used[which] == 0) {
        conductance_wander wander = {levels[which / SURGE_SLOPES], slopes[which % SURGE_SLOPES]};
        if (channel->kept == channel->most)
            forget_one(channel);
        SHOT_TRY(
            conductance_gains_new(channel->data, channel->steps, wander, &channel->gains[which]));
        channel->kept++;
    }
    conductance_gains_follow(channel->data, channel->steps, &channel->gains[which]);
    channel->used[which] = ++channel->uses;
    return SHOT_OK;
}

/* ---- the most credible ---- */

typedef struct search {
    surge_channel *channel;
    const double *added; /* by the opening; may be NULL */
    size_t first;
    conductance_profile profile[SURGE_PLACES]; /* likelihood is NaN: not yet tried */
} search;

static shot_status likelihood_at(search *self, int number, double *out) {
    const conductance_gains *gains;
    surge_channel *channel = self->channel;
    if (isnan(self->profile[number].likelihood)) {
        SHOT_TRY(gains_at(channel, number, &gains));
        conductance_profile *all = self->profile + number / LANES * LANES;
        conductance_profile_run(channel->data, channel->steps, gains, self->added, self->first,
                                all);
        for (int k = 0; k < LANES; k++)
            all[k].likelihood += beforehand(place_of(number));
    }
    *out = self->profile[number].likelihood;
    return SHOT_OK;
}

/* Up the likelihood from *at, one step in one direction at a time. */
static shot_status climb(search *self, int *at, double *most) {
    static const place steps[] = {{1, 0, 0},  {-1, 0, 0}, {0, 1, 0},  {0, -1, 0}, {0, 0, 1},
                                  {0, 0, -1}, {-1, 1, 0}, {1, -1, 0}, {-1, 0, 1}, {1, 0, -1}};
    bool better = true;
    SHOT_TRY(likelihood_at(self, *at, most));
    while (better) {
        const place from = place_of(*at);
        better = false;
        for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
            place to = {from.level + steps[i].level, from.slope + steps[i].slope,
                        from.drift + steps[i].drift};
            double now;
            if (!exists(to))
                continue;
            SHOT_TRY(likelihood_at(self, number_of(to), &now));
            if (!(now > *most))
                continue;
            *most = now;
            *at = number_of(to);
            better = true;
        }
    }
    return SHOT_OK;
}

static shot_status climb_from(search *self, int start, double *most, int *best) {
    double top;
    SHOT_TRY(climb(self, &start, &top));
    if (top > *most) {
        *most = top;
        *best = start;
    }
    return SHOT_OK;
}

/* The highest of every other place, from which the climb is short. */
static shot_status look_around(search *self, int *best) {
    double most = -INFINITY;
    for (int level = 0; level < SURGE_LEVELS; level += 2)
        for (int slope = 0; slope < SURGE_SLOPES; slope += 2)
            for (int drift = 0; drift < LANES; drift++) {
                int number = number_of((place){level, slope, drift});
                double now;
                SHOT_TRY(likelihood_at(self, number, &now));
                if (now > most) {
                    most = now;
                    *best = number;
                }
            }
    return SHOT_OK;
}

/* The likelihood may have several tops.  With an opening: from where it stood without one, and from
 * a trend that hardly wanders. */
static shot_status climb_all(search *self, int *best) {
    double most = -INFINITY;
    int start = self->channel->place;
    if (self->added == NULL)
        SHOT_TRY(look_around(self, &start));
    SHOT_TRY(climb_from(self, start, &most, best));
    return climb_from(self, number_of((place){0, 1, 0}), &most, best);
}

/* What the opening adds is no noise. */
static void explain(surge_channel *channel, const conductance_opening *opening) {
    conductance_evidence e[LANES];
    surge_channel_weigh(channel, opening, 1, e);
    (void)conductance_explain(channel->data, e, conductance_best_size(e), &channel->filter);
}

static search start(surge_channel *channel, const conductance_opening *opening) {
    search self = {.channel = channel};
    for (int i = 0; i < SURGE_PLACES; i++)
        self.profile[i].likelihood = NAN;
    if (opening != NULL) {
        self.first = conductance_add(channel->data, channel->steps, opening, 1, channel->added);
        self.added = channel->added;
    }
    return self;
}

shot_status surge_channel_fit(surge_channel *channel, const conductance_opening *opening) {
    search self = start(channel, opening);
    const conductance_gains *gains;
    int best = channel->place;
    SHOT_TRY(climb_all(&self, &best));
    SHOT_TRY(gains_at(channel, best, &gains));
    channel->place = best;
    conductance_filter_run(channel->data, channel->steps, gains, best % LANES, &channel->filter);
    if (opening != NULL)
        explain(channel, opening);
    return SHOT_OK;
}

shot_status surge_channel_spread(surge_channel *channel, const conductance_opening *opening,
                                 double *out) {
    search self = start(channel, opening);
    const conductance_profile *all = self.profile, *best = &all[channel->place];
    double ignored, sum = 0, variance = 0;
    for (int i = 0; i < SURGE_PLACES; i++)
        SHOT_TRY(likelihood_at(&self, i, &ignored));
    for (int i = 0; i < SURGE_PLACES && isfinite(best->variance); i++) {
        double weight = exp(all[i].likelihood - best->likelihood), away = all[i].size - best->size;
        sum += weight;
        variance += weight * (all[i].variance + away * away);
    }
    *out = sum > 0 ? variance / sum / best->variance : 1;
    return SHOT_OK;
}

conductance_answer surge_channel_answer(const surge_channel *channel,
                                        const conductance_opening *openings, size_t count,
                                        double *room) {
    conductance_answer out = {
        .data = channel->data, .steps = channel->steps, .filter = &channel->filter, .added = room};
    conductance_answer_find(openings, count, &out);
    return out;
}

void surge_channel_weigh(const surge_channel *channel, const conductance_opening *openings,
                         size_t count, conductance_evidence *out) {
    const conductance_answer answer =
        surge_channel_answer(channel, openings, count, channel->added);
    conductance_weigh(&answer, openings, count, out);
}

/* Of the conductance before a sample, relative. */
static double base_variance(const surge_channel *channel, size_t sample, double base) {
    const conductance_filter *filter = &channel->filter;
    if (!(sample < channel->data->n) || !(base > 0))
        return 0;
    return filter->gains->unsure[sample * LANES + (size_t)filter->lane] * filter->scale / base /
           base;
}

void surge_channel_add_shown(const surge_channel *channel, const conductance_opening *opening,
                             surge_shown *shown) {
    conductance_evidence e[LANES];
    const conductance_filter *filter = &channel->filter;
    const double *weight = filter->gains->weight + filter->lane;
    conductance_answer answer = surge_channel_answer(channel, opening, 1, channel->added);
    conductance_answer_go_on(channel->data->n, &answer);
    conductance_weigh(&answer, opening, 1, e);
    const double size = conductance_best_size(e);
    const double end =
        conductance_onset_seen(channel->data, opening) + opening->seconds + opening->gate;
    double sum = 0;
    for (size_t i = answer.first; i < channel->data->n; i++) {
        const double added = size * channel->added[i * LANES];
        const double square = added * added * weight[i * LANES] / filter->scale;
        sum += square;
        shown->fourths += square * square;
        shown->opening += channel->data->t[i] < end ? square : 0;
    }
    shown->squares += sum;
    shown->base += sum * sum * base_variance(channel, answer.first, e[0].base);
}
