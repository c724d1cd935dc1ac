/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The discrete Fourier transform of real numbers. */
#include "signal/fourier.h"

#include <limits.h>
#include <pthread.h>

static pthread_once_t planner_guarded = PTHREAD_ONCE_INIT;

shot_status fourier_make(size_t n, fourier *f) {
    *f = (fourier){.n = n};
    if (n < 1 || n > INT_MAX)
        return SHOT_ERR_RANGE;
    pthread_once(&planner_guarded, fftw_make_planner_thread_safe);
    f->x = fftw_alloc_real(n);
    f->bin = fftw_alloc_complex(n / 2 + 1);
    if (f->x != NULL && f->bin != NULL) {
        f->forward = fftw_plan_dft_r2c_1d((int)n, f->x, f->bin, FFTW_ESTIMATE);
        f->backward = fftw_plan_dft_c2r_1d((int)n, f->bin, f->x, FFTW_ESTIMATE);
    }
    if (f->forward == NULL || f->backward == NULL) {
        fourier_clear(f);
        return SHOT_ERR_MEMORY;
    }
    return SHOT_OK;
}

void fourier_forward(fourier *f) {
    fftw_execute(f->forward);
}

void fourier_backward(fourier *f) {
    fftw_execute(f->backward);
    for (size_t i = 0; i < f->n; i++)
        f->x[i] /= (double)f->n;
}

void fourier_clear(fourier *f) {
    fftw_destroy_plan(f->forward);
    fftw_destroy_plan(f->backward);
    fftw_free(f->x);
    fftw_free(f->bin);
    *f = (fourier){0};
}

static int has_small_factors(size_t n) {
    const size_t factors[] = {2, 3, 5};
    for (size_t k = 0; k < 3; k++)
        while (n % factors[k] == 0)
            n /= factors[k];
    return n == 1;
}

size_t fourier_good_length(size_t n) {
    while (n > 1 && !has_small_factors(n))
        n++;
    return n;
}
