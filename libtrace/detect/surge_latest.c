/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The mean over all that is not known.
 *
 * The last samples do not tell an opening from a bend of the trend before it has passed, nor its
 * size from its length, and a short past does not tell how much the trend wanders.  So the
 * likelihoods are not compared at their highest, which the richer model reaches by what noise it
 * can imitate, but in their mean over onset, length, size, wander and noise that lasts, each as
 * likely beforehand (Kass & Raftery 1995, 'Bayes Factors', J. Am. Stat. Assoc. 90:773-795).  The
 * size is one relative gain that all channels show.
 */
#include "detect/surge_latest.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "detect/surge_shapes.h"
#include "signal/portable_many.h"
#include "signal/wide.h"

static const double levels[] = {0, 0.002, 0.008, 0.032};

/* A trend of which the slope alone takes the level by more than 5 % within 2 s is none: that is
 * what a surge is. */
static const double slopes[] = {0, 0.003, 0.03};
static const double lengths[] = {0.2, 0.6, 1.2, 2};           /* s */
static const double losses[] = {0.05, 0.10, 0.19, 0.32, 0.5}; /* of resistance: gains in a row */
static const double hop = 0.1;                                /* s between onsets */

enum { LANES = CONDUCTANCE_LANES, LENGTHS = sizeof lengths / sizeof *lengths };
enum { LEVELS = sizeof levels / sizeof *levels, SLOPES = sizeof slopes / sizeof *slopes };
enum { WANDERS = LEVELS * SLOPES, SIZES = sizeof losses / sizeof *losses };
enum { MOST = 20 * LENGTHS }; /* openings: 2 s of onsets */
enum { STARTS = 3 };          /* samples that only tell where the states stand: no freedom */
enum { FILTERS = WANDERS * LANES };

/* What the innovations of each filter say of an opening. */
typedef struct heard {
    double along[FILTERS], square[FILTERS];
} heard;

/* What a channel says of each opening, by each wander. */
typedef struct told {
    const conductance_data *data;
    double logs[FILTERS], squares[FILTERS], beforehand[FILTERS];
    heard opening[MOST];
    double without; /* the logarithm of the mean likelihood without an opening */
} told;

/* What the openings of one onset, a lane each, add to a channel, from sample `first` on. */
typedef struct shape {
    double *added; /* [n][LANES] */
    size_t first;
} shape;

/* Buffers of a channel. */
typedef struct work {
    conductance_step *steps;
    double *added; /* [n][LANES] of each onset, behind each other */
    shape shape[MOST / LENGTHS];
} work;

static_assert((int)LENGTHS <= (int)LANES, "the openings of one onset have a lane each");
static_assert((int)FILTERS <= (int)MOST, "a mean is of no more than so many");

/* ---- each channel ---- */

/* With what the openings add: that is the same whatever the wander. */
static shot_status work_new(const conductance_data *data, const conductance_opening *openings,
                            size_t count, work *out) {
    const size_t each = (data->n + 1) * LANES, onsets = count / LENGTHS;
    *out = (work){.steps = conductance_steps_new(data),
                  .added = malloc(onsets * each * sizeof(double))};
    if (!out->steps || !out->added)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < onsets; i++) {
        shape *one = &out->shape[i];
        one->added = out->added + i * each;
        one->first = conductance_add(data, out->steps, openings + i * LENGTHS, LENGTHS, one->added);
    }
    return SHOT_OK;
}

static void work_free(work *self) {
    free(self->steps);
    free(self->added);
}

static void hear_openings(const work *self, const conductance_gains *gains, size_t wander,
                          size_t count, told *out) {
    for (size_t i = 0; i < count; i++) {
        const shape *one = &self->shape[i / LENGTHS];
        conductance_response response;
        conductance_respond(out->data, self->steps, gains, one->added + i % LENGTHS, one->first,
                            &response);
        memcpy(out->opening[i].along + wander * LANES, response.along, sizeof response.along);
        memcpy(out->opening[i].square + wander * LANES, response.square, sizeof response.square);
    }
}

/* A trend that bends more, and noise that lasts more, is less likely beforehand, by e a step (a
 * prior that shrinks towards the simpler model: Simpson et al. 2017, Stat. Sci. 32:1-28). */
static void put_beforehand(double *out) {
    for (int w = 0; w < WANDERS; w++)
        for (int lasting = 0; lasting < LANES; lasting++)
            out[w * LANES + lasting] = -(w % SLOPES + lasting);
}

static shot_status listen(const work *self, size_t wander, size_t count, told *out) {
    const conductance_data *data = out->data;
    conductance_gains gains;
    const shot_status status = conductance_gains_new(
        data, self->steps, (conductance_wander){levels[wander / SLOPES], slopes[wander % SLOPES]},
        &gains);
    if (status == SHOT_OK) {
        memcpy(out->squares + wander * LANES, gains.squares, sizeof gains.squares);
        memcpy(out->logs + wander * LANES, gains.logs, sizeof gains.logs);
        hear_openings(self, &gains, wander, count, out);
    }
    conductance_gains_free(&gains);
    return status;
}

/* ---- means ---- */

/* Of no more numbers than there may be openings, or filters. */
static double log_mean(const double *x, size_t n) {
    double most = -INFINITY, sum = 0, share[MOST];
    for (size_t i = 0; i < n; i++)
        most = greater(x[i], most);
    for (size_t i = 0; i < n; i++)
        share[i] = x[i] - most;
    portable_exp_many(share, n);
    for (size_t i = 0; i < n; i++)
        sum += share[i];
    return most + log(sum / (double)n);
}

/* The squares of the innovations of each filter with an opening of that size, and the scale of the
 * noise estimated from them. */
SHOT_WIDE static void find_scales(const told *self, const heard *opening, double size,
                                  double *restrict squares, double *restrict scale) {
    const double freedom = (double)self->data->n - STARTS;
    const double least_sd = self->data->least_sd / self->data->sd;
    const double least = greater(least_sd * least_sd, DBL_MIN);
    for (int i = 0; i < FILTERS; i++) {
        squares[i] = self->squares[i] - size * (2 * opening->along[i] - size * opening->square[i]);
        scale[i] = greater(squares[i] / freedom, least);
    }
}

/* The logarithms of the likelihoods with those scales, whose logarithms *log_likelihood holds. */
SHOT_WIDE static void find_likelihoods(const told *self, const double *restrict squares,
                                       const double *restrict scale,
                                       double *restrict log_likelihood) {
    const double freedom = (double)self->data->n - STARTS;
    for (int i = 0; i < FILTERS; i++)
        log_likelihood[i] =
            -(self->logs[i] + freedom * log_likelihood[i] + squares[i] / scale[i]) / 2 +
            self->beforehand[i];
}

/* The logarithm of the mean over all wander, with an opening of that size. */
static double likelihood_of(const told *self, const heard *opening, double size) {
    double squares[FILTERS], scale[FILTERS], all[FILTERS];
    find_scales(self, opening, size, squares, scale);
    memcpy(all, scale, sizeof all);
    portable_log_many(all, FILTERS);
    find_likelihoods(self, squares, scale, all);
    return log_mean(all, FILTERS);
}

/* Over all sizes, each of which `all` [SIZES] gets; and their mean. */
static double weigh(const told *channels, size_t count, size_t opening, double *all, double *gain) {
    double sum = 0;
    for (int s = 0; s < SIZES; s++) {
        all[s] = 0;
        for (size_t k = 0; k < count; k++)
            all[s] += likelihood_of(&channels[k], &channels[k].opening[opening],
                                    losses[s] / (1 - losses[s]) * channels[k].data->middle) -
                      channels[k].without;
    }
    const double mean = log_mean(all, SIZES);
    for (int s = 0; s < SIZES; s++)
        sum += exp(all[s] - mean) * losses[s] / (1 - losses[s]);
    *gain = sum / SIZES;
    return mean;
}

/* Half of a step of the grid of losses, as if each stood for what is nearest to it. */
static double half_step(int size) {
    const double low = size > 0 ? losses[size - 1] : 0;
    const double high = size + 1 < SIZES ? losses[size + 1] : 2 * losses[size] - low;
    return (high - low) / 4;
}

/* What was lost by then, in the mean over all openings and sizes, and its standard deviation, in
 * which a step of the grid is spread over its width. */
static void find_lost(const double (*all)[SIZES], const conductance_opening *openings, size_t count,
                      double then, double most, surge_latest *out) {
    double sum = 0, mean = 0, squares = 0;
    for (size_t i = 0; i < count; i++)
        for (int s = 0; s < SIZES; s++) {
            const double weight = exp(all[i][s] - most), gain = losses[s] / (1 - losses[s]);
            const double way = (then - openings[i].onset) / openings[i].seconds;
            const double open = gain * fmin(fmax(way, 0), 1), lost = open / (1 + open);
            const double wide = half_step(s) * lost / losses[s];
            sum += weight;
            mean += weight * lost;
            squares += weight * (lost * lost + wide * wide / 3);
        }
    out->lost = mean / sum;
    out->lost_se = sqrt(fmax(squares / sum - out->lost * out->lost, 0));
}

/* The loss in all that a share p of what is credible does not pass; a step of the grid is spread
 * over its width. */
static double lost_in_all(double p, const double (*all)[SIZES], size_t count, double most) {
    double weight[SIZES] = {0}, total = 0, sum = 0;
    for (size_t i = 0; i < count; i++)
        for (int s = 0; s < SIZES; s++) {
            weight[s] += exp(all[i][s] - most);
            total += exp(all[i][s] - most);
        }
    int s = 0;
    for (; s + 1 < SIZES && sum + weight[s] < p * total; s++)
        sum += weight[s];
    return losses[s] + half_step(s) * (2 * (p * total - sum) / weight[s] - 1);
}

/* By when a share p of all that is credible has begun; a step of the grid is spread over its width.
 */
static double begun_by(double p, const double *all, const conductance_opening *openings,
                       size_t count, double most) {
    double total = 0, sum = 0;
    for (size_t i = 0; i < count; i++)
        total += exp(all[i] - most);
    for (size_t i = 0; i < count; i += LENGTHS) {
        double here = 0;
        for (size_t k = i; k < i + LENGTHS; k++)
            here += exp(all[k] - most);
        if (sum + here >= p * total)
            return openings[i].onset + hop * ((p * total - sum) / here - 0.5);
        sum += here;
    }
    return openings[count - 1].onset + hop / 2;
}

static void choose(const told *channels, size_t count, const conductance_opening *openings,
                   size_t opening_count, surge_latest *out) {
    const conductance_data *first = channels[0].data;
    double all[MOST], sizes[MOST][SIZES], most = -INFINITY, gain;
    for (size_t i = 0; i < opening_count; i++) {
        all[i] = weigh(channels, count, i, sizes[i], &gain);
        if (all[i] > most) {
            most = all[i];
            out->opening = openings[i];
            out->gain = gain;
        }
    }
    out->onset_low = begun_by(0.025, all, openings, opening_count, most);
    out->onset_high = begun_by(0.975, all, openings, opening_count, most);
    find_lost((const double(*)[SIZES])sizes, openings, opening_count,
              first->t[first->n - 1] - first->lag, most, out);
    out->whole_high = lost_in_all(0.975, (const double(*)[SIZES])sizes, opening_count, most);
    out->evidence = log_mean(all, opening_count);
}

/* ---- all ---- */

static size_t list_openings(double from, double to, conductance_opening *out) {
    size_t count = 0;
    for (double at = from; at < to && count < MOST; at += hop)
        for (int i = 0; i < LENGTHS; i++)
            out[count++] = (conductance_opening){
                .onset = at, .seconds = lengths[i], .scar = 1, .drain = surge_drain};
    return count;
}

static shot_status hear(conductance_data *data, const conductance_opening *openings, size_t count,
                        told *out) {
    work buffers;
    out->data = data;
    put_beforehand(out->beforehand);
    shot_status status = work_new(data, openings, count, &buffers);
    for (size_t w = 0; w < WANDERS && status == SHOT_OK; w++)
        status = listen(&buffers, w, count, out);
    work_free(&buffers);
    if (status == SHOT_OK)
        out->without = likelihood_of(out, &(heard){{0}, {0}}, 0);
    return status;
}

shot_status surge_latest_find(conductance_data *const *channels, size_t count, double from,
                              double to, surge_latest *out) {
    conductance_opening openings[MOST];
    const size_t opening_count = list_openings(from, to, openings);
    *out = (surge_latest){.evidence = -INFINITY};
    if (opening_count == 0)
        return SHOT_OK;
    told *each = malloc(count * sizeof *each);
    shot_status status = each != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    for (size_t k = 0; k < count && status == SHOT_OK; k++)
        status = hear(channels[k], openings, opening_count, &each[k]);
    if (status == SHOT_OK)
        choose(each, count, openings, opening_count, out);
    free(each);
    return status;
}
