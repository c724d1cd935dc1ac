/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The grid that a record is resampled onto. */
#include "signal/resample_grid.h"

#include <math.h>

#include "signal/wide.h"

resample_grid resample_grid_of(double step) {
    return (resample_grid){step, shot_fraction_of(step, 1000000)};
}

double resample_grid_time(const resample_grid *grid, int64_t k, int64_t parts) {
    const shot_fraction f = grid->fraction;
    if (f.under == 0)
        return (double)k * (grid->step / (double)parts);
    return (double)k * (double)f.over / (double)(f.under * (uint64_t)parts);
}

/* base + i is exact: what follows is what resample_grid_time does. */
SHOT_WIDE static void scaled_places(double base, double over, double under, size_t n, double *out) {
    for (size_t i = 0; i < n; i++)
        out[i] = (base + (double)(int)i) * over / under;
}

void resample_grid_times(const resample_grid *grid, int64_t k, int64_t parts, size_t n,
                         double *out) {
    const shot_fraction f = grid->fraction;
    if (f.under == 0)
        scaled_places((double)k, grid->step / (double)parts, 1, n, out);
    else
        scaled_places((double)k, (double)f.over, (double)(f.under * (uint64_t)parts), n, out);
}

int64_t resample_grid_first(const resample_grid *grid, double t, int64_t parts) {
    int64_t k = (int64_t)ceil(t / grid->step * (double)parts);
    while (resample_grid_time(grid, k - 1, parts) >= t)
        k--;
    while (resample_grid_time(grid, k, parts) < t)
        k++;
    return k;
}
