/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two ends of one rounded knee. */
#ifndef SHOT_DETECT_KNEE_ENDS_H
#define SHOT_DETECT_KNEE_ENDS_H

#include "detect/knee_scan.h"

/* Make one of neighbours among the `count` places, in order, that are the ends of one rounded knee;
 * x[place.at] are times in s.  Returns how many are left. */
size_t knee_ends_unite(const double *x, shot_knee_place *found, size_t count);

#endif
