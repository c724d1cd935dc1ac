/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/autocovariance.h"

#include <string.h>

#include "signal/dot.h"
#include "signal/fourier.h"

/* So many lags cost as much as a transform there and back of a long series. */
enum { FEW = 64 };

shot_status autocovariance(const double *x, size_t n, size_t lags, double *sum) {
    if (lags <= FEW) {
        for (size_t k = 0; k < lags; k++)
            sum[k] = dot(x, x + k, n - k);
        return SHOT_OK;
    }
    fourier f;
    SHOT_TRY(fourier_make(fourier_good_length(n + lags), &f));
    memcpy(f.x, x, n * sizeof *x);
    for (size_t i = n; i < f.n; i++)
        f.x[i] = 0;
    fourier_forward(&f);
    for (size_t k = 0; k <= f.n / 2; k++)
        f.bin[k] *= conj(f.bin[k]);
    fourier_backward(&f);
    memcpy(sum, f.x, lags * sizeof *sum);
    fourier_clear(&f);
    return SHOT_OK;
}
