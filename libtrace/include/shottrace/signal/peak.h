/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where is the peak of a sweep, when nobody knows the shape of the curve?
 *
 * The vertex of a parabola (vertex.h) is sharp, and wrong where the curve rises otherwise than it
 * falls: its bias is soon larger than its interval, and no test of fit sees that in a dozen shots.
 * So the interval here holds every place that a parabola or a cubic through the data allows for the
 * peak, and a quartic too where the parabola does not fit.  Against curves of many shapes it keeps
 * its level (see the test); against a true parabola it is two to three times as wide as need be.
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
                         quartic  terms where there are none; NaN with three levels */
    bool fits;        /* misfit_p >= 0.1 */
    bool shown;       /* a peak inside the sweep is shown: parabola.inside_p <= 1 - level, and there
                         are four levels or more.  Else the rest is NaN */
    int degree;       /* largest degree that was asked */
    double place;     /* of the parabola if it fits, else the top of the polynomial of that degree
                         within low..high */
    double low, high; /* the interval, within the sweep */
    bool open_below,
        open_above; /* it reaches the end of the sweep there: the peak may lie beyond */
} shot_peak;

/* Fit y against x; arguments and errors as for shot_vertex_fit.
 * A place is allowed where the slope of the polynomial is not different from 0 (Fieller's argument,
 * at any degree) and its bend is not upwards (one-sided), each at `level`. */
SHOT_API shot_status shot_peak_find(const double *x, const double *y, size_t n, double level,
                                    shot_peak *out);

#ifdef __cplusplus
}
#endif
#endif
