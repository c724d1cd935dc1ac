/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of the cup: mass, ratio, yield, score. */
#include "judge/measure_parts.h"

#include <math.h>

#include <shottrace/signal/normal.h>
#include <shottrace/signal/resolution.h>

/* The mean of the last half second of the scale: what stands in the cup when the log ends. */
static double beverage_mass(const shot_view *view, size_t *samples) {
    const double *weight = shot_table_column(view->shot, "weight");
    double sum = 0, last = NAN;
    size_t count = 0;
    for (size_t i = view->rows; weight != NULL && i-- > 0;) {
        if (isnan(weight[i]))
            continue;
        last = isnan(last) ? view->time[i] : last;
        if (last - view->time[i] > 0.5)
            break;
        sum += weight[i];
        count++;
    }
    *samples = count;
    return count > 0 ? sum / (double)count : NAN;
}

/* The noise of a mean of so many samples of a scale at rest, and its step, of which nothing tells
 * where in it the truth lies.  NaN where the noise is not known. */
static shot_status find_half(const shot_view *view, size_t samples, double *half) {
    const double *weight = shot_table_column(view->shot, "weight");
    shot_noise noise;
    SHOT_TRY(shot_view_noise(view, "weight", &noise));
    const double alone = fmax(1, (double)samples / noise.inflation); /* that tell something new */
    const double z = shot_normal_quantile(0.5 + SHOT_MEASURE_LEVEL / 2);
    const double step = weight != NULL ? shot_resolution(weight, view->rows) : 0;
    *half = hypot(z * noise.sd / sqrt(alone), shot_rounding_half(step, noise.sd));
    return SHOT_OK;
}

shot_status shot_measure_cup(const shot_view *view, shot_measure_list *out, shot_error *error) {
    size_t samples = 0;
    double dose, tds, score, half, mass = beverage_mass(view, &samples);
    SHOT_TRY(find_half(view, samples, &half));
    SHOT_TRY(shot_head_quantity(&view->shot->head, "dose", "g", &dose, error));
    SHOT_TRY(shot_head_quantity(&view->shot->head, "tds", "%", &tds, error));
    if (shot_head_quantity(&view->shot->head, "score", "", &score, NULL) != SHOT_OK)
        score = NAN; /* a score in words is the person's own business */
    dose = dose > 0 ? dose : NAN; /* a slip of the pen: nothing is made of nothing */
    SHOT_TRY(shot_measure_add_plain(out, "dose", dose));
    SHOT_TRY(shot_measure_list_add(out, "beverage.mass", mass, mass - half, mass + half, NULL));
    SHOT_TRY(shot_measure_list_add(out, "brew.ratio", mass / dose, (mass - half) / dose,
                                   (mass + half) / dose, NULL));
    SHOT_TRY(shot_measure_add_plain(out, "tds", tds));
    SHOT_TRY(shot_measure_add_plain(out, "extraction.yield", mass * tds / dose));
    return shot_measure_add_plain(out, "score", score);
}
