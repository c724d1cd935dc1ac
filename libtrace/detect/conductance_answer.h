/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What openings add to the innovations, and what these say of them. */
#ifndef SHOT_DETECT_CONDUCTANCE_ANSWER_H
#define SHOT_DETECT_CONDUCTANCE_ANSWER_H

#include "detect/conductance_tail.h"

/* Up to CONDUCTANCE_LANES openings on their way through the filter. */
typedef struct conductance_answer {
    const conductance_data *data;
    const conductance_step *steps;
    const conductance_filter *filter;
    double *added;     /* [n][LANES] room, borrowed: what they add to the innovations of the samples
                          from `first` on, before `end` */
    size_t first, end; /* all have ended before sample `end` */
    conductance_behind behind; /* there */
    conductance_response sum;  /* over all samples, for noise of its known SD */
} conductance_answer;

/* Send openings through.  data, steps, filter and room are set. */
void conductance_answer_find(const conductance_opening *openings, size_t count,
                             conductance_answer *self);

/* Go on to sample `end`, if it is no earlier. */
void conductance_answer_go_on(size_t end, conductance_answer *self);

/* The sum over the samples from that on from which both add something, of what both add in a lane,
 * over the variance.  Both end at the same sample. */
double conductance_answer_common(const conductance_answer *a, const conductance_answer *b,
                                 int lane);

/* Weigh the openings that were sent through.
 *   out   [CONDUCTANCE_LANES]; those of lanes that are not used tell nothing */
void conductance_weigh(const conductance_answer *answer, const conductance_opening *openings,
                       size_t count, conductance_evidence *out);

#endif
