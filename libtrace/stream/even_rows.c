/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rate of rows whose times are even. */
#include "stream/even_rows.h"

#include <math.h>

static const double MOST_OFF = 1e-3;

static shot_even_rows rows_at(const double *time, size_t count, double rate) {
    shot_even_rows rows = {.rate = rate};
    for (size_t i = 0; i < count; i++) {
        double off = fabs((time[i] - time[0]) * rate - (double)i);
        if (!(off <= rows.off_step)) {
            rows.worst = i;
            rows.off_step = off;
        }
    }
    rows.even = rows.off_step < MOST_OFF;
    return rows;
}

shot_even_rows shot_even_rows_of(const double *time, size_t count) {
    double span = count > 1 ? time[count - 1] - time[0] : 0;
    if (!(span > 0) || !isfinite(span))
        return (shot_even_rows){.rate = NAN};
    double mean = (double)(count - 1) / span;
    shot_even_rows whole = rows_at(time, count, fmax(1, rint(mean)));
    return whole.even ? whole : rows_at(time, count, mean);
}
