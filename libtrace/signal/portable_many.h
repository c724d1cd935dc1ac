/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The portable elementary functions of many numbers, several side by side. */
#ifndef SHOT_SIGNAL_PORTABLE_MANY_H
#define SHOT_SIGNAL_PORTABLE_MANY_H

#include <stddef.h>

/* shot_portable_log of each, to the bit, in place.  All are positive, finite and no less than
 * DBL_MIN. */
void portable_log_many(double *x, size_t n);

/* shot_portable_exp of each, to the bit, in place; 0 where it would be less than DBL_MIN.  None is
 * above 709 or NaN. */
void portable_exp_many(double *x, size_t n);

#endif
