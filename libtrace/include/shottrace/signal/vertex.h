/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where is the peak of a sweep?  A parabola through the points, its vertex with an interval that
 * may honestly be unbounded, and the tests that say whether to believe it.
 *
 *     shot_vertex v;
 *     shot_vertex_fit(pressure, flow, n, 0.95, &v);
 *     if (v.peak && v.bounds == SHOT_VERTEX_BOUNDED) ... v.place, v.low, v.high
 */
#ifndef SHOTTRACE_SIGNAL_VERTEX_H
#define SHOTTRACE_SIGNAL_VERTEX_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The set of places that the data do not exclude as the vertex. */
typedef enum shot_vertex_bounds {
    SHOT_VERTEX_BOUNDED,   /* low..high */
    SHOT_VERTEX_RAYS,      /* all but what lies between low and high */
    SHOT_VERTEX_EVERYWHERE /* every place: the data do not show where it bends */
} shot_vertex_bounds;

typedef struct shot_vertex {
    size_t n, levels;     /* points, and different x among them */
    double b[3];          /* y = b[0] + b[1] x + b[2] x^2 */
    double v11, v12, v22; /* variances and covariance of b[1] and b[2] */
    double df, sd;        /* residual degrees of freedom and standard deviation */

    bool peak;                    /* b[2] < 0; else what follows up to `g` is NaN */
    double place, height;         /* the vertex -b[1]/(2 b[2]) and the value there */
    double se;                    /* of the place, by the delta method */
    double delta_low, delta_high; /* its interval: for comparison, too narrow when g is not small */
    shot_vertex_bounds bounds;
    double low, high; /* Fieller's interval, see `bounds` */
    double g;         /* t^2 v22/b[2]^2: bounded where it is under 1 */

    double bend_p;   /* one-sided p of 'it does not bend downwards' */
    double inside_p; /* one-sided p of 'there is no peak between the smallest and largest x' */
    double lack_f, lack_df1, lack_df2, lack_p; /* lack of fit against the scatter of repeats, or of
                                                  what settings and blocks leave; NaN with fewer
                                                  than four levels or no repeats */
} shot_vertex;

/* Fit y against x.
 *   x, y   in any order; points with a missing value (NaN) are left out [n]
 *   block  a label of each point (a day, a student), from 0 and no larger than need be; the points
 *          of a block share what it adds, and b[0] is of the average one.  NULL: all of one [n]
 *   level  of the intervals, 0 < level < 1
 * Returns SHOT_OK; SHOT_ERR_RANGE; SHOT_ERR_SINGULAR with fewer than three different x, fewer than
 * four points (or blocks and three), blocks of one setting each, or no scatter about the parabola;
 * SHOT_ERR_MEMORY.
 * Source: interval: Fieller 1954, 'Some problems in interval estimation', J. R. Stat. Soc. B
 * 16:175-185; lack of fit: Myers, Montgomery & Anderson-Cook, 'Response Surface Methodology',
 * section 2.7; test for a peak inside: Sasabuchi 1980, Biometrika 67:429-439, as in Lind & Mehlum
 * 2010, 'With or without U?', Oxford Bull. Econ. Stat. 72(1):109-118. */
SHOT_API shot_status shot_vertex_fit(const double *x, const double *y, const size_t *block,
                                     size_t n, double level, shot_vertex *out);

#ifdef __cplusplus
}
#endif
#endif
