/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Savitzky-Golay smoothing and differentiation of a stream, on its true times.
 *
 *     shot_local_smoother *smoother;
 *     shot_local_smoother_shape shape = {.window = 0.7, .order = 2};
 *     shot_local_smoother_new(&shape, &smoother);
 *     shot_local_smoother_push(smoother, t, y, n);          any number of times
 *     shot_local_smoother_finish(smoother);
 *     shot_local_smoother_take(smoother, out, shot_local_smoother_ready(smoother));
 *     shot_local_smoother_free(smoother);
 *
 * For each row a polynomial is fitted by least squares to the samples in the window around it, and
 * evaluated there.  Within half a window of the first and the last row it is the polynomial of the
 * first and last full window (Gorry 1990, Anal. Chem. 62:570-573): nothing is padded.  How rows are
 * cut into pushes has no effect on what comes out.
 *
 * Where the samples of a window are evenly spaced, to within the rounding of their times, and the
 * row is one of them, one set of coefficients (savgol.h) is used; else a fit of its own
 * (local_fit.h). Both agree to 1e-12 of the values in the window.
 */
#ifndef SHOTTRACE_SIGNAL_LOCAL_SMOOTHER_H
#define SHOTTRACE_SIGNAL_LOCAL_SMOOTHER_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_local_smoother_shape {
    double window;     /* length, s, > 0: samples up to half of it away count; or, if `counted`, */
    bool counted;      /* an odd number of the channel's own samples */
    size_t order;      /* of the polynomial */
    size_t derivative; /* 0 smooths */
    bool taper;        /* tricube weights instead of even ones (Cleveland 1979) */
    bool fill;         /* rows whose own sample is missing get a value too */
} shot_local_smoother_shape;

typedef struct shot_local_smoother shot_local_smoother;

/* Returns SHOT_OK; SHOT_ERR_RANGE for a window that is not positive, is an even count, or is a
 * count not above the order; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_local_smoother_new(const shot_local_smoother_shape *shape,
                                             shot_local_smoother **out);

/* Rows: times, rising, and values, NaN where missing [n].  SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_local_smoother_push(shot_local_smoother *smoother, const double *t,
                                              const double *y, size_t n);

/* No more rows come: all that were pushed become ready.  SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_local_smoother_finish(shot_local_smoother *smoother);

/* How many rows have a result that was not taken yet. */
SHOT_API size_t shot_local_smoother_ready(const shot_local_smoother *smoother);

/* Take the oldest `count` results (count <= ready): `values` [count], and into `gains` [count], or
 * NULL, the variance of each for independent noise of variance 1.  NaN where the row's sample was
 * missing (without `fill`), where the window held too few samples for the order, or where a counted
 * window is longer than the whole stream. */
SHOT_API void shot_local_smoother_take(shot_local_smoother *smoother, double *values, double *gains,
                                       size_t count);

/* Start again with nothing pushed. */
SHOT_API void shot_local_smoother_reset(shot_local_smoother *smoother);

SHOT_API void shot_local_smoother_free(shot_local_smoother *smoother);

#ifdef __cplusplus
}
#endif
#endif
