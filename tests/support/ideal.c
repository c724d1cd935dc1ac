/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The limits that noise and sampling set to the time of an event. */
#include "support/ideal.h"

#include <math.h>
#include <stdlib.h>

enum { NUISANCES = 3 }; /* level, slope before and change of slope: all unknown */

static double slope_at(const ideal_curves *curves, size_t channel, double at) {
    const double *x = curves->curve[channel];
    const double place = floor(at / curves->step + 0.5);
    if (!(place >= 1 && place + 1 < (double)curves->count))
        return 0;
    const size_t i = (size_t)place;
    return (x[i + 1] - x[i - 1]) / (2 * curves->step);
}

static double dot(const double *a, const double *b, size_t n) {
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += a[i] * b[i];
    return sum;
}

/* Take out of `vector` what lies along `basis`, which is of length 1 or 0. */
static void take_out(double *vector, const double *basis, size_t n) {
    const double along = dot(vector, basis, n);
    for (size_t i = 0; i < n; i++)
        vector[i] -= along * basis[i];
}

double ideal_left_over(double *vector, double *columns, size_t count, size_t n) {
    for (size_t k = 0; k < count; k++) {
        double *basis = columns + k * n;
        const double before = sqrt(dot(basis, basis, n));
        for (size_t j = 0; j < k; j++)
            take_out(basis, columns + j * n, n);
        const double size = sqrt(dot(basis, basis, n));
        for (size_t i = 0; i < n; i++) /* a basis that the others span already adds nothing */
            basis[i] = size > 1e-9 * before ? basis[i] / size : 0;
        take_out(vector, basis, n);
    }
    return dot(vector, vector, n);
}

/* Fisher's information of one channel on the time of the event, 1/s^2. */
static double information(const ideal_curves *curves, size_t channel, const double *times,
                          size_t first, size_t end, double at) {
    const size_t most = end - first;
    double *work = malloc((most + 1) * (NUISANCES + 1) * sizeof *work);
    if (work == NULL)
        abort();
    double *change = work, *nuisance = work + most;
    size_t n = 0;
    for (size_t i = first; i < end; i++)
        n += !isnan(curves->logged[channel][i]);
    for (size_t i = first, k = 0; i < end; i++) {
        if (isnan(curves->logged[channel][i]))
            continue;
        change[k] = slope_at(curves, channel, times[i]);
        nuisance[k] = 1;
        nuisance[n + k] = times[i] - at;
        nuisance[2 * n + k++] = fmax(times[i] - at, 0);
    }
    const double energy = n > NUISANCES ? ideal_left_over(change, nuisance, NUISANCES, n) : 0;
    free(work);
    return energy / (curves->noise[channel] * curves->noise[channel]);
}

static size_t first_from(const double *times, size_t rows, double at) {
    size_t i = 0;
    while (i < rows && times[i] < at)
        i++;
    return i;
}

double ideal_sampling_limit(const double *times, size_t rows, double at) {
    if (rows < 2)
        return INFINITY;
    const size_t behind = first_from(times, rows, at);
    const size_t i = behind == 0 ? 1 : behind == rows ? rows - 1 : behind;
    return 0.95 * (times[i] - times[i - 1]);
}

double ideal_width(const ideal_curves *curves, const double *times, size_t rows, double at) {
    const double reach = 1;    /* s */
    const size_t samples = 10; /* at least, either way */
    const size_t middle = first_from(times, rows, at);
    size_t first, end;
    double sum = 0;
    first = middle > samples ? middle - samples : 0;
    end = middle + samples < rows ? middle + samples : rows;
    while (first > 0 && times[first - 1] >= at - reach)
        first--;
    while (end < rows && times[end] <= at + reach)
        end++;
    for (size_t c = 0; c < curves->channels; c++)
        sum += information(curves, c, times, first, end, at);
    const double noise_limit = sum > 0 ? 2 * 1.959964 / sqrt(sum) : INFINITY;
    return fmax(noise_limit, ideal_sampling_limit(times, rows, at));
}
