/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of the cup: mass, ratio, yield, score. */
#include "judge/measure_parts.h"

#include <math.h>

#include <shottrace/signal/normal.h>
#include <shottrace/signal/resolution.h>

/* The mean of the last half second of the scale: what the cup has gained when the log ends, or when
 * somebody took it. */
static double beverage_mass(const shot_view *view, size_t *samples) {
    const double *weight = view->cup.weight;
    const double over = isnan(view->cup.silent) ? 0.5 : 0; /* s; else it ran until then */
    double sum = 0, last = NAN;
    size_t count = 0;
    for (size_t i = view->rows; weight != NULL && i-- > 0;) {
        if (isnan(weight[i]))
            continue;
        last = isnan(last) ? view->time[i] : last;
        if (last - view->time[i] > over)
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

/* The beverage in units of `unit`: what ran while a hand had the cup may be nothing or twice what
 * was taken for it, and what a scale did not show nobody knows. */
static shot_status add_mass(const shot_view *view, const char *name, double mass, double half,
                            double unit, const char *note, shot_measure_list *out) {
    const double off = isnan(view->cup.silent) ? half + view->cup.missed : NAN;
    return shot_measure_list_add(out, name, mass / unit, (mass - off) / unit, (mass + off) / unit,
                                 note);
}

static shot_status add_beverage(const shot_view *view, double dose, double *mass,
                                shot_measure_list *out) {
    size_t samples = 0;
    double half;
    shot_text words = {0};
    *mass = beverage_mass(view, &samples);
    SHOT_TRY(find_half(view, samples, &half));
    shot_status status = cup_gain_say(&view->cup, &words);
    if (status == SHOT_OK)
        status = add_mass(view, "beverage.mass", *mass, half, 1, words.bytes, out);
    if (status == SHOT_OK)
        status = add_mass(view, "brew.ratio", *mass, half, dose, words.bytes, out);
    shot_text_free(&words);
    return status;
}

shot_status shot_measure_cup(const shot_view *view, shot_measure_list *out) {
    double dose, tds, score, mass;
    SHOT_TRY(shot_head_quantity(&view->shot->head, "dose", "g", &dose));
    SHOT_TRY(shot_head_quantity(&view->shot->head, "tds", "%", &tds));
    SHOT_TRY(shot_head_quantity(&view->shot->head, "score", "", &score));
    dose = dose > 0 ? dose : NAN; /* a slip of the pen: nothing is made of nothing */
    SHOT_TRY(shot_measure_add_plain(out, "dose", dose));
    SHOT_TRY(add_beverage(view, dose, &mass, out));
    SHOT_TRY(shot_measure_add_plain(out, "tds", tds));
    SHOT_TRY(shot_measure_add_plain(out, "extraction.yield", mass * tds / dose));
    return shot_measure_add_plain(out, "score", score);
}
