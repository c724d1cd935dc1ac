/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The median where nobody needs to look for what is missing. */
#ifndef SHOT_SIGNAL_MEDIAN_OF_PRESENT_H
#define SHOT_SIGNAL_MEDIAN_OF_PRESENT_H

#include <stddef.h>

/* As shot_median, of values none of which is NaN. */
double median_of_present(double *x, size_t n);

#endif
