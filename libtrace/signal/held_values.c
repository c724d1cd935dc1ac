/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sensor slower than its logger. */
#include "signal/held_values.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#include <shottrace/signal/median.h>

#include "signal/missing.h"
#include "signal/wide.h"

enum { LEAST_STANDS = 3 };       /* one or two may be chance: a pause of the hand, a plateau */
static const double alone = 0.1; /* share of figures that may stand in one row: rows go missing */

/* How the figures change from row to row. */
typedef struct changes_seen {
    double runs;   /* figures that a row brings anew */
    double single; /* of these, right behind another new one */
    double leaps;  /* of more than a step */
    double ends;   /* of more than `least`, behind a figure that stood */
} changes_seen;

SHOT_WIDE static void see_changes(const double *y, size_t n, double step, double least,
                                  changes_seen *out) {
    int64_t runs = 0, single = 0, leaps = 0, ends = 0; /* as wide as what is compared */
#pragma omp simd reduction(+ : runs, single, leaps, ends)
    for (size_t i = 2; i < n; i++) {
        const double change = fabs(y[i] - y[i - 1]);
        const bool news = y[i] != y[i - 1], stood = y[i - 1] == y[i - 2];
        runs += news ? 1 : 0;
        single += news & !stood ? 1 : 0;
        leaps += news & (change > 1.5 * step) ? 1 : 0;
        ends += (change > least) & stood ? 1 : 0;
    }
    if (n > 1 && y[1] != y[0]) { /* the row before the first is taken to bring a figure too */
        runs++;
        single++;
        leaps += fabs(y[1] - y[0]) > 1.5 * step ? 1 : 0;
    }
    *out = (changes_seen){(double)runs, (double)single, (double)leaps, (double)ends};
}

/* Do most figures stand in several rows, and change by more than a step? */
static bool leaps_and_stands(const changes_seen *seen) {
    return seen->runs >= 5 && seen->single <= alone * seen->runs && 2 * seen->leaps > seen->runs;
}

/* Stairs: on its way in one direction the channel stands still for rows, between two leaps of more
 * than noise and steps explain; a sensor with news in each row passes by single figures there.
 * Returns the median time for which it stands, NaN where it passes.  Which figures stay and which
 * leap cannot be foreseen: there is no branch on them, and what does not count is overwritten. */
static double stand_of(const double *t, const double *y, size_t n, double least, double *work) {
    size_t stands = 0, passes = 0, begin = 0;
    for (size_t i = 1; i < n; i++) {
        const double before = y[begin] - y[begin - (begin > 0)]; /* the leap to where it stands */
        const double leap = y[i] - y[i - 1];
        const bool between = (before * leap > 0) & (fabs(before) > least) & (fabs(leap) > least);
        work[stands] = t[i] - t[begin];
        stands += between & (i - begin > 1);
        passes += between & (i - begin == 1);
        begin = leap != 0 ? i : begin;
    }
    return stands >= LEAST_STANDS && stands > 2 * passes ? shot_median(work, stands) : NAN;
}

bool held_look(const double *t, const double *y, size_t n, double step, double sd, double *work,
               double *stand) {
    const double least = fmax(2.5 * step, 5 * sd);
    changes_seen seen;
    see_changes(y, n, step, least, &seen);
    *stand = seen.ends >= LEAST_STANDS ? stand_of(t, y, n, least, work) : NAN;
    return !isnan(*stand) || leaps_and_stands(&seen);
}

size_t held_keep_first(double *t, double *y, size_t n, double stand) {
    size_t kept = n > 0;
    for (size_t i = 1; i < n; i++) {
        if (y[i] == y[kept - 1] && !(t[i] - t[kept - 1] > stand))
            continue;
        t[kept] = t[i];
        y[kept++] = y[i];
    }
    return kept;
}

size_t held_noise_workspace(size_t n) {
    return 2 * n + shot_noise_workspace(n);
}

/* Noise of which each figure fills `rows` rows, in terms of rows. */
static shot_noise of_rows(const shot_noise *figures, double rows, double spacing) {
    shot_noise out = *figures;
    out.spacing = spacing;
    out.inflation = figures->inflation * rows;
    out.lag1 = (out.inflation - 1) / (out.inflation + 1);
    out.correlation = out.lag1 > 0 ? -spacing / log(out.lag1) : 0;
    const double fitted = exp(-figures->spacing / figures->fitted_correlation);
    const double inflation = rows * (1 + fitted) / (1 - fitted);
    out.fitted_correlation = inflation > 1 ? -spacing / log((inflation - 1) / (inflation + 1)) : 0;
    return out;
}

shot_status held_noise_estimate_with(const noise_way *way, const double *t, const double *y,
                                     size_t n, double step, double *work, shot_noise *out) {
    double *own_t = work, *values = work + n, *spare = work + 2 * n, stand;
    const size_t rows = present_samples(&t, &y, n, own_t, values);
    const shot_status status = noise_estimate_with(way, t, y, rows, step, spare, out);
    if (status != SHOT_OK || !held_look(t, y, rows, step, out->sd, spare, &stand))
        return status;
    memmove(own_t, t, rows * sizeof *own_t);
    memmove(values, y, rows * sizeof *values);
    const size_t count = held_keep_first(own_t, values, rows, stand);
    shot_noise figures;
    if (shot_noise_estimate(own_t, values, count, step, spare, &figures) == SHOT_OK)
        *out = of_rows(&figures, (double)rows / (double)count, out->spacing);
    return SHOT_OK;
}

shot_status held_noise_estimate(const double *t, const double *y, size_t n, double step,
                                double *work, shot_noise *out) {
    return held_noise_estimate_with(&(noise_way){.fits = true}, t, y, n, step, work, out);
}
