/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of the cup: mass, ratio, yield, score. */
#include "judge/measure_parts.h"

#include <math.h>
#include <stdlib.h>

/* The mean of the last half second of the scale: what stands in the cup when the log ends. */
static double beverage_mass(const shot_view *view) {
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
    return count > 0 ? sum / (double)count : NAN;
}

shot_status shot_measure_cup(const shot_view *view, shot_measure_list *out, shot_error *error) {
    double dose, tds, score, mass = beverage_mass(view);
    SHOT_TRY(shot_head_quantity(&view->shot->head, "dose", "g", &dose, error));
    SHOT_TRY(shot_head_quantity(&view->shot->head, "tds", "%", &tds, error));
    if (shot_head_quantity(&view->shot->head, "score", "", &score, NULL) != SHOT_OK)
        score = NAN; /* a score in words is the person's own business */
    SHOT_TRY(shot_measure_add_plain(out, "dose", dose));
    SHOT_TRY(shot_measure_add_plain(out, "beverage.mass", mass));
    SHOT_TRY(shot_measure_add_plain(out, "brew.ratio", mass / dose));
    SHOT_TRY(shot_measure_add_plain(out, "tds", tds));
    SHOT_TRY(shot_measure_add_plain(out, "extraction.yield", mass * tds / dose));
    return shot_measure_add_plain(out, "score", score);
}
