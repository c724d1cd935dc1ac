/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How soon could water be told?  By Page's cumulative sum (Page 1954, Biometrika 41:100-115) of one
 * who knows the level and the SD of each channel's noise beforehand, takes no row for a spike, and
 * stands at nothing when the water comes; it is the quickest on average at its rate of false alarms
 * (Lorden 1971, Ann. Math. Stat. 42:1897-1908), which here is that of live_onset.h.  1/f noise
 * counts as white.  What the meter shows late is in the delay. */
#ifndef SHOT_TEST_ONSET_LIMIT_H
#define SHOT_TEST_ONSET_LIMIT_H

#include "support/findings.h"

/* From the water at `at` to the row that tells, s; infinite where none does, NaN where the curves
 * are not known. */
double onset_limit_delay(const findings_log *log, double at);

#endif
