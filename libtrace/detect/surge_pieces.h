/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Surges of a brew of any length. */
#ifndef SHOT_DETECT_SURGE_PIECES_H
#define SHOT_DETECT_SURGE_PIECES_H

#include "detect/surge_finder.h"

/* As surges_find_near, with the drive found and the age of the load set; the time goes with the
 * samples.  SHOT_ERR_MEMORY. */
shot_status surges_find(conductance_data *const *channels, size_t count, const surge_search *search,
                        surge **out, size_t *found);

#endif
