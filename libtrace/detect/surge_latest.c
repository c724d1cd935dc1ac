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

#include <math.h>
#include <stdlib.h>

#include "detect/surge_shapes.h"

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

/* What a channel says of each opening, by each wander. */
typedef struct told {
    const conductance_data *data;
    double logs[WANDERS][LANES], squares[WANDERS][LANES];
    conductance_response response[WANDERS][MOST];
    double without; /* the logarithm of the mean likelihood without an opening */
} told;

/* Buffers of a channel. */
typedef struct work {
    conductance_step *steps;
    double *added, *innovations; /* [n][LANES] */
} work;

/* ---- each channel ---- */

static shot_status work_new(const conductance_data *data, work *out) {
    const size_t size = (data->n + 1) * LANES * sizeof(double);
    *out = (work){conductance_steps_new(data), malloc(size), malloc(size)};
    return out->steps && out->added && out->innovations ? SHOT_OK : SHOT_ERR_MEMORY;
}

static void work_free(work *self) {
    free(self->steps);
    free(self->added);
    free(self->innovations);
}

static shot_status listen(work *self, size_t wander, const conductance_opening *openings,
                          size_t count, told *out) {
    const conductance_data *data = out->data;
    conductance_gains gains;
    shot_status status = conductance_gains_new(
        data, self->steps, (conductance_wander){levels[wander / SLOPES], slopes[wander % SLOPES]},
        &gains);
    if (status == SHOT_OK) {
        conductance_innovations(data, self->steps, &gains, self->innovations, out->squares[wander]);
        for (int k = 0; k < LANES; k++)
            out->logs[wander][k] = gains.logs[k];
    }
    for (size_t i = 0; i < count && status == SHOT_OK; i++) {
        size_t first = conductance_add(data, self->steps, &openings[i], 1, self->added);
        conductance_respond(data, self->steps, &gains, self->innovations, self->added, first,
                            &out->response[wander][i]);
    }
    conductance_gains_free(&gains);
    return status;
}

/* ---- means ---- */

static double log_mean(const double *x, size_t n) {
    double most = -INFINITY, sum = 0;
    for (size_t i = 0; i < n; i++)
        most = fmax(most, x[i]);
    for (size_t i = 0; i < n; i++)
        sum += exp(x[i] - most);
    return most + log(sum / (double)n);
}

/* Its logarithm, with the scale of the noise estimated from those squares of innovations. */
static double likelihood(const conductance_data *data, double logs, double squares) {
    const double freedom = (double)data->n - STARTS, least = data->least_sd / data->sd;
    const double scale = fmax(least * least, squares / freedom);
    return -(logs + freedom * log(scale) + squares / scale) / 2;
}

/* A trend that bends more, and noise that lasts more, is less likely beforehand, by e a step (a
 * prior that shrinks towards the simpler model: Simpson et al. 2017, Stat. Sci. 32:1-28). */
static double beforehand(int slope, int lasting) {
    return -(slope + lasting);
}

/* The mean over all wander, with an opening of that size (or 0). */
static double likelihood_of(const told *self, size_t opening, double size) {
    double all[WANDERS * LANES];
    for (int w = 0; w < WANDERS; w++)
        for (int k = 0; k < LANES; k++) {
            double less = 0;
            if (size > 0)
                less = size * (2 * self->response[w][opening].along[k] -
                               size * self->response[w][opening].square[k]);
            all[w * LANES + k] =
                likelihood(self->data, self->logs[w][k], self->squares[w][k] - less) +
                beforehand(w % SLOPES, k);
        }
    return log_mean(all, WANDERS * LANES);
}

/* Over all sizes; and their mean. */
static double weigh(const told *channels, size_t count, size_t opening, double *gain) {
    double all[SIZES], sum = 0;
    for (int s = 0; s < SIZES; s++) {
        all[s] = 0;
        for (size_t k = 0; k < count; k++)
            all[s] += likelihood_of(&channels[k], opening,
                                    losses[s] / (1 - losses[s]) * channels[k].data->middle) -
                      channels[k].without;
    }
    const double mean = log_mean(all, SIZES);
    for (int s = 0; s < SIZES; s++)
        sum += exp(all[s] - mean) * losses[s] / (1 - losses[s]);
    *gain = sum / SIZES;
    return mean;
}

static void choose(const told *channels, size_t count, const conductance_opening *openings,
                   size_t opening_count, surge_latest *out) {
    double all[MOST], most = -INFINITY, gain;
    for (size_t i = 0; i < opening_count; i++) {
        all[i] = weigh(channels, count, i, &gain);
        if (all[i] > most) {
            most = all[i];
            out->opening = openings[i];
            out->gain = gain;
        }
    }
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
    shot_status status = work_new(data, &buffers);
    for (size_t w = 0; w < WANDERS && status == SHOT_OK; w++)
        status = listen(&buffers, w, openings, count, out);
    work_free(&buffers);
    if (status == SHOT_OK)
        out->without = likelihood_of(out, 0, 0);
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
