/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was done at the scale while the shot was logged. */
#include <math.h>
#include <stdlib.h>

#include "judge/check_parts.h"
#include "puck/scale_leaps.h"

static const char put_on[] = "something was put on the scale";
static const char taken_off[] = "something was taken off the scale, or it was tared";

static shot_status add_leap(const scale_samples *scale, const scale_leap *leap, check_list *out) {
    const char *note = leap->size > 0 ? put_on : taken_off;
    SHOT_TRY(check_list_add(out, "weight", "leap.time", "s", scale->t[leap->before], NULL));
    SHOT_TRY(check_list_add(out, "weight", "leap", "g", leap->size, note));
    check_figure *last = &out->figures[out->count - 1];
    last->low = leap->size - leap->half;
    last->high = leap->size + leap->half;
    return SHOT_OK;
}

static shot_status add_leaps(const scale_samples *scale, check_list *out) {
    scale_leap leap = {0};
    while (scale_next_leap(scale, leap.after, &leap))
        SHOT_TRY(add_leap(scale, &leap, out));
    return SHOT_OK;
}

shot_status check_scale(const shot_table *shot, const check_channel *channels, check_list *out) {
    const ptrdiff_t index = shot_head_channel(&shot->head, "weight");
    const size_t rows = shot->rows.rows;
    if (index <= 0 || isnan(channels[index - 1].noise.sd))
        return SHOT_OK;
    double *t = malloc((2 * rows + shot_noise_workspace(rows)) * sizeof *t), *y = t + rows;
    scale_samples scale;
    size_t n = 0;
    if (t == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < rows; i++)
        if (!isnan(shot->rows.column[index][i])) {
            t[n] = shot->rows.column[0][i];
            y[n++] = shot->rows.column[index][i];
        }
    const check_channel *is = &channels[index - 1];
    scale_samples_take(t, y, n, is->step, &is->noise, y + rows, &scale);
    const shot_status status = add_leaps(&scale, out);
    free(t);
    return status;
}
