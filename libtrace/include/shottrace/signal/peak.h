/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where is the peak of a sweep, when nobody knows the shape of the curve?
 *
 * The vertex of a parabola (vertex.h) is sharp, and wrong where the curve rises otherwise than it
 * falls: its bias is soon larger than its interval, and no test of fit sees that in a dozen shots.
 * So the interval here holds every place that a parabola or a cubic through the data allows for the
 * peak.  Where the parabola does not fit no polynomial is trusted: then the curve is only taken to
 * rise to its peak and to fall after it, and the interval reaches from the setting before the first
 * to the setting after the last of those that may be the highest.  Against curves of many shapes
 * it keeps its level (see the test); against a true parabola it is two to three times as wide as
 * need be.
 */
#ifndef SHOTTRACE_SIGNAL_PEAK_H
#define SHOTTRACE_SIGNAL_PEAK_H

#include <shottrace/signal/vertex.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_peak {
    shot_vertex parabola;
    double misfit_p;  /* of 'the parabola fits': lack of fit against repeats, or the cubic and
                         quartic  terms where there are none; NaN with three settings */
    bool fits;        /* misfit_p >= 0.1 */
    bool shown;       /* a peak inside the sweep is shown, at 1 - level */
    bool by_parabola; /* it is shown to a parabola alone: another curve that fits may level off or
                         go on at the end.  With neither the rest is NaN */
    double place;     /* of the parabola if it fits, else the highest setting */
    double low, high; /* the interval, within the sweep */
    bool open_below,
        open_above; /* it reaches the end of the sweep there: the peak may lie beyond */
} shot_peak;

/* Fit y against x; arguments and errors as for shot_vertex_fit.
 * Where the parabola fits: a place is allowed where the slope of the polynomial is not different
 * from 0 (Fieller's argument, at either degree) and its bend is not upwards (one-sided), each at
 * `level`; a peak is shown where parabola.inside_p says so and neither end is allowed.  Of curves
 * that rise and level off, which have none, parabola.inside_p alone would answer up to half.  Else:
 * a setting may be the highest unless its mean (of the average block) is lower than the highest one
 * by a one-sided t test, corrected for the number of settings (Bonferroni); a peak is shown where
 * neither end may be. */
SHOT_API shot_status shot_peak_find(const double *x, const double *y, const size_t *block, size_t n,
                                    double level, shot_peak *out);

#ifdef __cplusplus
}
#endif
#endif
