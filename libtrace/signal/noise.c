/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How noisy is a channel? */
#include <shottrace/signal/noise.h>

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include <shottrace/signal/median.h>

#include "signal/count_below.h"
#include "signal/gather.h"
#include "signal/magnitude.h"
#include "signal/median_of_present.h"
#include "signal/missing.h"
#include "signal/noise_times.h"
#include "signal/pseudo_residual.h"
#include "signal/roughness.h"
#include "signal/spread_median.h"
#include "signal/standing.h"
#include "signal/value_stay.h"
#include "signal/wide.h"

/* Residuals whose median is that many points of their lattice are as good as continuous: half a
 * point is a hundredth. */
enum { MANY_GRAINS = 50 };

/* Roughness is a mean over this many samples either way: chance alone moves it by less than the
 * factor between its quartile and its median. */
enum { ROUGH_REACH = 12 };
static const double UNLIKE = 1.3;

/* The median of the sizes of normal values is that part of their mean. */
static const double MEDIAN_OF_SIZES = 0.6744897501960817 / 0.7978845608028654;

size_t shot_noise_workspace(size_t n) {
    return 5 * n;
}

/* The sizes of the pseudo-residuals of samples span .. n - span - 1; n > 2 span. */
SHOT_WIDE static void residual_sizes(const double *restrict t, const double *restrict y, size_t n,
                                     size_t span, double *restrict out) {
    for (size_t i = 0; i + 2 * span < n; i++)
        out[i] = pseudo_residual_size(t + i, y + i, span);
}

/* Whether the median of those up to `middle` is clearly no less than `least`, which counting tells.
 */
static bool quarter_reaches(const double *rough, size_t n, double middle, double least) {
    const double half = count_below(rough, n, nextafter(middle, INFINITY));
    return half > 0 && count_below(rough, n, least * (1 + 1e-12)) <= floor((half - 1) / 2);
}

/* Copy those that count; how many. */
static size_t counting_ones(const double *rough, size_t n, double *out) {
    size_t below;
    if (!all_finite(rough, n))
        return gather_between(rough, rough, n, -INFINITY, DBL_MAX, out, &below);
    memcpy(out, rough, n * sizeof *rough);
    return n;
}

/* The samples that tell the noise: those up to a roughness, infinite where the series is of a
 * piece; and what is usual among them. */
typedef struct quiet_part {
    double limit, usual;
} quiet_part;

/* Where a shot is busy (pulses, ramps), its curves are in the residuals; where the quietest quarter
 * is much quieter than the middle, it alone tells the noise.  The roughness of samples left out is
 * infinite. */
static quiet_part find_quiet(const double *rough, size_t n, double *work) {
    size_t below;
    const size_t counted = counting_ones(rough, n, work);
    const double middle = median_of_present(work, counted), all = counted < n ? DBL_MAX : INFINITY;
    if (quarter_reaches(rough, n, middle, middle / UNLIKE))
        return (quiet_part){all, middle};
    const size_t low = gather_between(rough, rough, n, -INFINITY, middle, work, &below);
    const double quiet = median_of_present(work, low);
    return middle > UNLIKE * quiet ? (quiet_part){quiet, quiet} : (quiet_part){all, middle};
}

/* Of the residuals of samples that count, how many there are and how many are `least` and more. */
SHOT_WIDE static void count_far(const double *size, const double *rough, size_t residuals,
                                double limit, double least, double *count, double *far) {
    int64_t counted = 0, off = 0; /* as wide as what is compared */
#pragma omp simd reduction(+ : counted, off)
    for (size_t i = 0; i < residuals; i++) {
        const bool counts = rough[i + 1] <= limit;
        counted += counts ? 1 : 0;
        off += counts & (size[i] >= least) ? 1 : 0;
    }
    *count = (double)counted;
    *far = (double)off;
}

/* How likely the noise of the samples that count lets the next one show the same figure, at most.
 */
static double stay_of_quiet(const double *size, const double *rough, size_t n, double limit,
                            double step) {
    const double least = VALUE_STAY_FAR / sqrt(1.5) * (1 - 1e-9) * step;
    double far, count;
    count_far(size, rough, n - 2, limit, least, &count, &far);
    return step > 0 ? value_stay(far, count, step) : 0;
}

/* Leave out the runs of one figure that are longer than the noise beside all long ones lets a
 * figure stand, where enough is left to tell it. */
static void leave_out_standing(const double *y, const double *size, size_t n, double step,
                               double *rough, double *work) {
    enum { ENOUGH = 2 * ROUGH_REACH + 1 };
    if (!standing_any(y, n))
        return;
    size_t least = SIZE_MAX;
    if (standing_leave_out(y, n, STANDING_LEAST, ROUGH_REACH, rough) >= ENOUGH) {
        const double limit = find_quiet(rough, n, work).limit;
        least = standing_beyond_chance(stay_of_quiet(size, rough, n, limit, step), n);
    }
    roughness(size, n, ROUGH_REACH, rough);
    if (least < SIZE_MAX)
        standing_leave_out(y, n, least, ROUGH_REACH, rough);
}

/* The median of sizes, spread where the step of the samples is coarse beside it.  It may lie about
 * `guess`.  The sizes are used up; `work` has room for as many. */
static double median_size(double *size, size_t n, double step, double guess, double *work) {
    /* residuals of evenly spaced samples are multiples of half a step, by their sqrt(1.5) */
    const double grain = 0.5 / sqrt(1.5) * step, coarse = MANY_GRAINS * grain;
    const double quick =
        guess < coarse ? spread_median_about(size, n, guess, grain, work) : INFINITY;
    if (quick < coarse)
        return quick;
    const double median = median_of_present(size, n);
    return median > 0 && median < coarse ? spread_median(size, n, median, grain) : median;
}

/* The noise variance that the pseudo-residuals of a span show, as if the noise were white; NaN with
 * too few.  `size` holds their sizes and is used up; `step` is that of the samples; *median gets
 * the median of the sizes, and tells before where it may be. */
static double white_variance(double *size, size_t n, size_t span, double step, const double *rough,
                             double limit, double *median, double *work) {
    size_t count = n > 2 * span ? n - 2 * span : 0, below;
    if (!isinf(limit))
        count = gather_between(rough + span, size, count, -INFINITY, limit, size, &below);
    if (count < 5)
        return NAN;
    *median = median_size(size, count, step, *median, work);
    const double sd = SHOT_MAD_TO_SD * *median;
    return sd * sd;
}

/* The logs of what the spans showed. */
typedef struct span_logs {
    double seen[NOISE_MOST_SPANS];
    bool shows[NOISE_MOST_SPANS];
    size_t count;
} span_logs;

static span_logs logs_of(const double *seen, size_t spans) {
    span_logs out = {.count = spans};
    for (size_t s = 0; s < spans; s++) {
        out.shows[s] = seen[s] > 0;
        out.seen[s] = out.shows[s] ? log(seen[s]) : 0;
    }
    return out;
}

/* How badly the lag-1 correlation r fits the variances of all spans, on a log scale: noise of
 * variance 1 that is evenly spaced shows (1.5 - 2 r^k + 0.5 r^2k) / 1.5 of it with a span of k.
 * *variance gets the log of the noise variance that fits best with it. */
static double misfit(const span_logs *logs, double r, double *variance) {
    double sum = 0, squares = 0, count = 0, rk = r;
    for (size_t s = 0; s < logs->count; s++, rk *= rk) {
        if (!logs->shows[s])
            continue;
        const double d = logs->seen[s] - (rk > 0 ? log((1.5 - 2 * rk + 0.5 * rk * rk) / 1.5) : 0);
        sum += d;
        squares += d * d;
        count++;
    }
    *variance = sum / count;
    return squares - sum * sum / count;
}

/* The log of a robust variance of n residuals has variance of about 2 * 2.72 / n (the median
 * absolute deviation has an efficiency of 0.37, Hampel 1974); 4 of these are two standard errors of
 * the improvement that chance would bring. */
static const double CLEAR = 4 * 2 * 2.72;

/* A correlation in hundredths, and how it fits. */
typedef struct correlation_fit {
    int hundredths;
    double miss, variance;
} correlation_fit;

static void try_correlation(const span_logs *logs, int hundredths, int most,
                            correlation_fit *best) {
    double variance;
    if (hundredths < 0 || hundredths > most)
        return;
    const double miss = misfit(logs, hundredths / 100.0, &variance);
    if (miss < best->miss)
        *best = (correlation_fit){hundredths, miss, variance};
}

/* The lag-1 correlation that fits best, up to `last`, where white noise fits like that.  The misfit
 * falls and rises once, so every eighth tells where to look more closely. */
static correlation_fit best_correlation(const span_logs *logs, int last, correlation_fit white) {
    enum { COARSE = 8 };
    correlation_fit best = white;
    for (int at = COARSE; at <= last; at += COARSE)
        try_correlation(logs, at, last, &best);
    for (int by = COARSE / 2; by > 0; by /= 2) {
        const int middle = best.hundredths;
        try_correlation(logs, middle - by, last, &best);
        try_correlation(logs, middle + by, last, &best);
    }
    return best;
}

/* The time in which noise loses so much from one sample to the next. */
static double time_of(double lag1, double spacing) {
    return lag1 > 0 ? -spacing / log(lag1) : 0;
}

/* From what n samples showed in each span: the noise that fits best, and whether it is correlated,
 * which it is if that fits clearly better than white noise.  It is at least `least`.  Nothing fits
 * better than without a miss, so that white noise often needs no search. */
static void fit_noise(const double *seen, size_t spans, size_t n, double least, bool fits,
                      shot_noise *out) {
    const span_logs logs = logs_of(seen, spans);
    const int last = (int)floor(100 * exp(-out->spacing / NOISE_STRAIGHT_TIME));
    const double chance = CLEAR / (double)n;
    correlation_fit white = {0};
    white.miss = misfit(&logs, 0, &white.variance);
    const correlation_fit best =
        fits || white.miss > chance ? best_correlation(&logs, last, white) : white;
    const double fitted = exp(best.variance), lag1 = best.hundredths / 100.0;
    const bool clear = white.miss - best.miss > chance;
    const double variance = clear ? fitted : seen[0];
    out->sd = sqrt(fmax(variance, least));
    out->lag1 = clear && variance > least ? lag1 : 0;
    out->correlation = time_of(out->lag1, out->spacing);
    out->inflation = (1 + out->lag1) / (1 - out->lag1);
    out->fitted_sd = sqrt(fmax(fitted, least));
    out->fitted_correlation = fitted > least ? time_of(lag1, out->spacing) : 0;
    out->fitted_longest = best.hundredths == last;
}

/* Of neighbours 2^k samples away, by what is held where there is something. */
static void find_sizes(const noise_times *times, const double *t, const double *y, size_t n,
                       size_t k, double *size) {
    if (times != NULL)
        noise_times_residuals(times, y, k, size);
    else
        residual_sizes(t, y, n, (size_t)1 << k, size);
}

shot_status noise_estimate_with(const noise_way *way, const double *t, const double *y, size_t n,
                                double step, double *work, shot_noise *out) {
    double *spare = work + 2 * n, *rough = work + 3 * n, *size = work + 4 * n;
    double seen[NOISE_MOST_SPANS] = {0};
    *out = (shot_noise){.inflation = 1};
    const size_t count = present_samples(&t, &y, n, work, work + n);
    if (count < 5 || !(largest_magnitude(y, count) < 1e150)) {
        out->inflation = 0;
        return SHOT_ERR_SINGULAR;
    }
    const noise_times *held =
        way->times != NULL && noise_times_hold(way->times, t, count) ? way->times : NULL;
    out->spacing = held != NULL ? held->spacing : noise_median_spacing(t, count, spare);
    const size_t spans = noise_spans(out->spacing);
    find_sizes(held, t, y, count, 0, size);
    roughness(size, count, ROUGH_REACH, rough);
    leave_out_standing(y, size, count, step, rough, spare);
    const quiet_part quiet = find_quiet(rough, count, spare);
    double median = MEDIAN_OF_SIZES * quiet.usual; /* where all were alike; then that before */
    for (size_t k = 0; k < spans; k++) {
        if (k > 0)
            find_sizes(held, t, y, count, k, size);
        seen[k] =
            white_variance(size, count, (size_t)1 << k, step, rough, quiet.limit, &median, spare);
    }
    const double least = step * step / 12;
    if (!(seen[0] > 0)) { /* flat but for steps, or too few: what rounding hides is all we know */
        out->sd = out->fitted_sd = sqrt(least);
        return SHOT_OK;
    }
    fit_noise(seen, spans, count, least, way->fits, out);
    return SHOT_OK;
}

shot_status shot_noise_estimate(const double *t, const double *y, size_t n, double step,
                                double *work, shot_noise *out) {
    return noise_estimate_with(&(noise_way){.fits = true}, t, y, n, step, work, out);
}
