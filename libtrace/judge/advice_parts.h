/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the page of advice asks of its rules. */
#ifndef SHOT_JUDGE_ADVICE_PARTS_H
#define SHOT_JUDGE_ADVICE_PARTS_H

#include <shottrace/judge/advice.h>

/* Is a figure that the rule looks at not known? */
bool advice_lacks_figure(const shot_measure_list *list, const shot_advice_rule *rule);

#endif
