/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first rows of a channel. */
#include "filter/first_samples.h"

#include <math.h>

#include <shottrace/signal/median.h>

shot_status first_samples_init(first_samples *first) {
    first->count = 0;
    return shot_rows_init(&first->rows, 2);
}

shot_status first_samples_push(first_samples *first, double t, double y, bool *enough) {
    const double row[2] = {t, y};
    SHOT_TRY(shot_rows_append_row(&first->rows, row));
    if (!isnan(y) && first->count < FIRST_SAMPLES)
        first->times[first->count++] = t;
    *enough = first->count == FIRST_SAMPLES;
    return SHOT_OK;
}

double first_samples_spacing(const first_samples *first) {
    double interval[FIRST_SAMPLES];
    for (size_t i = 1; i < first->count; i++)
        interval[i - 1] = first->times[i] - first->times[i - 1];
    return first->count < 2 ? NAN : shot_median(interval, first->count - 1);
}

void first_samples_reset(first_samples *first) {
    shot_rows_clear(&first->rows);
    first->count = 0;
}

void first_samples_free(first_samples *first) {
    shot_rows_free(&first->rows);
}
