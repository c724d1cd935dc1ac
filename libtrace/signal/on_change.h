/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A logger that writes a channel only where its value changes. */
#ifndef SHOT_SIGNAL_ON_CHANGE_H
#define SHOT_SIGNAL_ON_CHANGE_H

#include <stdbool.h>
#include <stddef.h>

/* Was a channel written only where it changed?  It is one that other rows of its log lack.
 *   t, y   times, rising, and values, none missing  [n]
 *   step   the step in which y is written */
bool is_on_change(const double *t, const double *y, size_t n, double step);

/* May it be written only where it changes, since no value comes twice in a row?  Of few values that
 * proves nothing, but where another channel of the log is written so. */
bool may_be_on_change(const double *y, size_t n);

#endif
