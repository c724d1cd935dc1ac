/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Power spectrum by averaged periodograms (Welch 1967). */
#include <shottrace/signal/welch.h>

#include <math.h>
#include <stdlib.h>

#include "signal/fourier.h"

/* Remove mean or least-squares line; the abscissae are centred, so slope and mean are independent.
 */
static void remove_trend(double *x, size_t n, shot_detrend detrend) {
    if (detrend == SHOT_DETREND_NONE)
        return;
    const double middle = ((double)n - 1) / 2;
    double sum = 0, moment = 0;
    for (size_t i = 0; i < n; i++) {
        sum += x[i];
        moment += x[i] * ((double)i - middle);
    }
    const double nn = (double)n;
    const double mean = sum / nn;
    const double slope = detrend == SHOT_DETREND_LINE ? 12 * moment / (nn * (nn * nn - 1)) : 0;
    for (size_t i = 0; i < n; i++)
        x[i] -= mean + slope * ((double)i - middle);
}

static int has_missing(const double *x, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (!isfinite(x[i]))
            return 1;
    return 0;
}

/* Add the squared magnitudes of every complete segment to power[segment / 2 + 1]; returns how many
 * segments there were. */
static size_t add_segments(const double *x, size_t n, const shot_welch_settings *s, const double *w,
                           fourier *f, double *power) {
    size_t count = 0;
    for (size_t first = 0; first + s->segment <= n; first += s->segment - s->overlap) {
        if (has_missing(x + first, s->segment))
            continue;
        for (size_t i = 0; i < s->segment; i++)
            f->x[i] = x[first + i];
        remove_trend(f->x, s->segment, s->detrend);
        for (size_t i = 0; i < s->segment; i++)
            f->x[i] *= w[i];
        fourier_forward(f);
        for (size_t k = 0; k <= s->segment / 2; k++)
            power[k] += creal(f->bin[k]) * creal(f->bin[k]) + cimag(f->bin[k]) * cimag(f->bin[k]);
        count++;
    }
    return count;
}

/* What a sum of squared magnitudes over `count` segments is multiplied with. */
static double scale_of(const shot_welch_settings *s, const double *w, double rate, size_t count) {
    double sum = 0, squares = 0;
    for (size_t i = 0; i < s->segment; i++) {
        sum += w[i];
        squares += w[i] * w[i];
    }
    return 1 / ((s->scale == SHOT_SPECTRUM_DENSITY ? rate * squares : sum * sum) * (double)count);
}

static shot_status estimate(const double *x, size_t n, double rate, const shot_welch_settings *s,
                            double *w, fourier *f, double *power, size_t *segments) {
    const size_t bins = s->segment / 2 + 1;
    SHOT_TRY(shot_window_fill(s->window, SHOT_WINDOW_PERIODIC, s->segment, w));
    for (size_t k = 0; k < bins; k++)
        power[k] = 0;
    const size_t count = add_segments(x, n, s, w, f, power);
    if (count == 0)
        return SHOT_ERR_SINGULAR;
    const double scale = scale_of(s, w, rate, count);
    for (size_t k = 0; k < bins; k++)
        power[k] *= k == 0 || 2 * k == s->segment ? scale : 2 * scale;
    if (segments != NULL)
        *segments = count;
    return SHOT_OK;
}

shot_status shot_welch(const double *x, size_t n, double rate, const shot_welch_settings *settings,
                       double *spectrum, size_t *segments) {
    const size_t segment = settings->segment;
    if (!(rate > 0) || !isfinite(rate) || segment < 2 || segment > n ||
        settings->overlap >= segment)
        return SHOT_ERR_RANGE;
    fourier f;
    SHOT_TRY(fourier_make(segment, &f));
    double *work = malloc((2 * segment + 1) * sizeof *work); /* window, then power */
    shot_status status = SHOT_ERR_MEMORY;
    if (work != NULL)
        status = estimate(x, n, rate, settings, work, &f, work + segment, segments);
    for (size_t k = 0; status == SHOT_OK && k <= segment / 2; k++)
        spectrum[k] = work[segment + k];
    free(work);
    fourier_clear(&f);
    return status;
}
