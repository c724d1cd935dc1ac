/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all samples behind the end of an opening say of it, found for every end in one pass
 * backwards.
 *
 * Once an opening has ended, the puck's conductance is higher by a scar and by a rest that heals,
 * and nothing more is new.  The filter follows by and by: with z how far each of its states is from
 * the puck's, and the rest,
 *
 *     e[i] = h' z[i],   z[i+1] = F (z[i] - K[i] e[i])
 *
 * is what the opening adds to the innovation of sample i.  So the sums over all that is still to
 * come are forms in z[i],
 *
 *     sum e^2 / variance = z' Q[i] z,   sum e v / variance = q[i]' z
 *
 * and those of sample i follow from those of the next (the adjoint recursions of de Jong 1989,
 * 'Smoothing and interpolation with the state-space model', J. Am. Stat. Assoc. 84:1085-1088; for
 * interventions de Jong & Penzer 1998, 'Diagnosing shocks in time series', 93:796-806).  An opening
 * then costs as many steps as samples fall within it, however long the log goes on.
 */
#ifndef SHOT_DETECT_CONDUCTANCE_TAIL_H
#define SHOT_DETECT_CONDUCTANCE_TAIL_H

#include "detect/conductance.h"

/* Fill filter->tails; its gains and innovations are known. */
void conductance_tails_find(const conductance_data *data, const conductance_step *steps,
                            conductance_filter *filter);

/* z of the openings in each lane, at a sample. */
typedef struct conductance_behind {
    double g[CONDUCTANCE_LANES], d[CONDUCTANCE_LANES], c[CONDUCTANCE_LANES], e[CONDUCTANCE_LANES];
    double rest[CONDUCTANCE_LANES];
    int healing[CONDUCTANCE_LANES];
} conductance_behind;

/* The sums over the innovations of one lane, from the sample of the tail on: along them, and of the
 * squares of what two openings of the same healing have in common. */
double conductance_tail_along(const conductance_tail *tail, const conductance_behind *z, int lane);
double conductance_tail_common(const conductance_tail *tail, const conductance_behind *a,
                               const conductance_behind *b, int lane);

#endif
