/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to try next: sentences that follow from the measures of a shot. */
#ifndef SHOTTRACE_JUDGE_ADVICE_H
#define SHOTTRACE_JUDGE_ADVICE_H

#include <shottrace/judge/measure.h>
#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Which way the advice so far turns the grind: one page never turns it both ways. */
typedef enum shot_grind { SHOT_GRIND_OPEN, SHOT_GRIND_FINER, SHOT_GRIND_COARSER } shot_grind;

/* A rule of the trade: when it applies, what it says, and where it comes from. */
typedef struct shot_advice_rule {
    const char *name;
    const char *subject;    /* what it judges; rules of one subject stand together */
    const char *figures[2]; /* measures that it cannot do without; NULL: flows of several names */
    const char *source;     /* "common practice, no source", or a citation */
    /* Do the measures tell, by the whole of their intervals, that the rule has nothing to say? */
    bool (*knows)(const shot_measure_list *measures);
    /* If the rule applies to the measures, append its sentence with the figures, and turn *grind
     * where it advises on it and weightier rules left it open; else nothing. */
    shot_status (*advise)(const shot_measure_list *measures, shot_grind *grind,
                          shot_text *sentence);
} shot_advice_rule;

/* All rules, the weightiest first; *count of them.  Static storage. */
SHOT_API const shot_advice_rule *shot_advice_rules(size_t *count);

/* The sentences of the first `most` rules that apply, each ended by a line break; if none applies
 * (and `most` is not 0), one that says what does not stand out, and what could not be judged and
 * why.  The tools advise; they are no safety device. */
SHOT_API shot_status shot_advice_write(const shot_measure_list *measures, size_t most,
                                       shot_text *out);

#ifdef __cplusplus
}
#endif
#endif
