/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The resampled values of one channel. */
#include "signal/resample_column.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/wide.h"

void resample_column_begin(resample_column *column, int64_t k) {
    column->count = 0;
    column->next = k;
}

static shot_status grow(double **numbers, size_t room) {
    double *more = realloc(*numbers, room * sizeof *more);
    if (more == NULL)
        return SHOT_ERR_MEMORY;
    *numbers = more;
    return SHOT_OK;
}

static shot_status reserve(resample_column *column, size_t more) {
    if (column->count + more <= column->room)
        return SHOT_OK;
    const size_t room = 2 * (column->count + more) + 64;
    SHOT_TRY(grow(&column->value, room));
    if (column->weighed)
        SHOT_TRY(grow(&column->gain, room));
    column->room = room;
    return SHOT_OK;
}

/* What is not finite is missing. */
SHOT_WIDE static void copy_finite(const double *restrict value, size_t n, double *restrict out) {
    for (size_t i = 0; i < n; i++)
        out[i] = fabs(value[i]) <= DBL_MAX ? value[i] : NAN;
}

shot_status resample_column_add(resample_column *column, const double *value, const double *gain,
                                size_t n) {
    SHOT_TRY(reserve(column, n));
    for (size_t i = 0; i < n && column->weighed; i++)
        column->gain[column->count + i] = isfinite(value[i]) ? gain[i] : NAN;
    copy_finite(value, n, column->value + column->count);
    column->count += n;
    column->next += (int64_t)n;
    return SHOT_OK;
}

shot_status resample_column_skip(resample_column *column, int64_t k) {
    if (k <= column->next)
        return SHOT_OK;
    SHOT_TRY(reserve(column, (size_t)(k - column->next)));
    for (; column->next < k; column->next++) {
        if (column->weighed)
            column->gain[column->count] = NAN;
        column->value[column->count++] = NAN;
    }
    return SHOT_OK;
}

void resample_column_drop(resample_column *column, size_t n) {
    column->count -= n;
    memmove(column->value, column->value + n, column->count * sizeof *column->value);
    if (column->weighed)
        memmove(column->gain, column->gain + n, column->count * sizeof *column->gain);
}

void resample_column_clear(resample_column *column) {
    free(column->value);
    free(column->gain);
    *column = (resample_column){0};
}
