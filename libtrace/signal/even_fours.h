/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sums of products of many windows, where the processor has vectors of four. */
#ifndef SHOT_SIGNAL_EVEN_FOURS_H
#define SHOT_SIGNAL_EVEN_FOURS_H

#include <stdbool.h>
#include <stddef.h>

/* What even_stretch_filter gives, to the bit; false, and nothing done, where there are no such
 * vectors or fewer than four rows. */
bool even_fours_filter(const double *weight, size_t n, const double *y, size_t rows, double *out);

#endif
