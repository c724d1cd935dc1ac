/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Spectra as a table in a file of their own. */
#ifndef SHOT_DETECT_SPECTRUM_TABLE_H
#define SHOT_DETECT_SPECTRUM_TABLE_H

#include "detect/ripple_spectrum.h"

/* Begin the file with its header line.  SHOT_ERR_WRITE. */
shot_status spectrum_table_begin(const char *path, shot_error *error);

/* Append the spectrum of one channel: a row for each bin.  `unit` is that of the power.
 * SHOT_ERR_WRITE; SHOT_ERR_MEMORY. */
shot_status spectrum_table_add(const char *path, const char *shot, const char *channel,
                               const char *unit, const ripple_spectrum *spectrum,
                               shot_error *error);

#endif
