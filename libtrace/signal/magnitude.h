/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How large values are, whatever their sign. */
#ifndef SHOT_SIGNAL_MAGNITUDE_H
#define SHOT_SIGNAL_MAGNITUDE_H

#include <stddef.h>

/* The largest |y|; missing samples do not count; 0 where there is nothing. */
double largest_magnitude(const double *y, size_t n);

#endif
