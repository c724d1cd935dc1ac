/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slow rows that may be means: a logger may write a row a second with what it saw since the last.
 */
#ifndef SHOT_DETECT_ROW_MEANS_H
#define SHOT_DETECT_ROW_MEANS_H

#include "detect/phases.h"

/* The same instant; where rows may be means, what one shows may have happened a row earlier. */
shot_instant shot_over_row_means(const shot_phase_input *input, shot_instant one);

#endif
