/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How good are the findings?  Simulated logs go through a chain of detectors, and the marks that
 * come out are held against the truth.
 *
 * Matching is one to one, nearest first.  A finding counts only where the channels of the log can
 * show it: no scale, no first drip; neither flow nor weight, no surge; no flow, no start of water;
 * no flow and the gauge before a jet, no ramp at the puck; no interval shorter than two samples.
 * What the truth calls a note (a channel too small or too slow for a surge) is neither to be found
 * nor to be missed.
 */
#ifndef SHOT_TEST_FINDINGS_H
#define SHOT_TEST_FINDINGS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <shottrace/puck/logger.h>
#include <shottrace/puck/synth.h>
#include <shottrace/puck/truth.h>
#include <shottrace/trace/mark.h>

#include "support/analytic_shot.h"
#include "support/ideal.h"
#include "support/knee_limit.h"
#include "support/numbers.h"

/* What is scored, in the order of the table. */
typedef enum finding {
    FINDING_WATER,     /* start of preinfusion */
    FINDING_FULL,      /* end of preinfusion */
    FINDING_FULL_PUMP, /* the same, a restricted machine with its gauge at the pump */
    FINDING_DRIP,      /* first drip */
    FINDING_OFF,       /* end of brew */
    FINDING_FILL,      /* intervals, by their overlap */
    FINDING_SOAK,
    FINDING_RAMP,
    FINDING_BREW,
    FINDING_RELEASE,
    FINDING_FILL_END, /* ends of intervals, as instants */
    FINDING_RISE,     /* start of the main rise: end of a soak */
    FINDING_RELEASED,
    FINDING_KNEE,
    FINDING_CLEAR_KNEE, /* ideal interval within half a second, change of three standard errors */
    FINDING_FINAL_RISE,
    FINDING_SURGE,
    FINDING_PULSE_ON, /* on and off times of pulses */
    FINDING_PULSE_OFF,
    FINDING_COUNT
} finding;

const char *finding_name(finding which);

typedef struct finding_score {
    size_t hits, misses, false_ones;
    size_t unshown;            /* intervals not counted, as the log cannot show them */
    size_t intervals, covered; /* hits with an interval, and those whose interval holds the truth */
    numbers error, width;      /* of hits: |found - true|, and width of the interval */
    numbers ideal;             /* the narrowest that it can be, support/ideal.h */
    numbers ratio;             /* width over that, hit by hit */
} finding_score;

/* What can be told while the shot runs. */
typedef enum live_finding {
    LIVE_WATER,
    LIVE_FILL,
    LIVE_SOAK, /* its start */
    LIVE_RISE, /* the same, told with full pressure */
    LIVE_FULL,
    LIVE_DRIP,
    LIVE_OFF,
    LIVE_RELEASED,
    LIVE_SURGE,
    LIVE_PULSE,
    LIVE_PULSE_OFF,
    LIVE_COUNT
} live_finding;

/* Provisional marks, by the row of the input after which they came: in time if that row lies no
 * later after the event than it may, and the mark stands near it. */
typedef struct live_score {
    size_t shots, events;  /* shots that can show such events, and these */
    size_t told, in_time;  /* of the events */
    size_t sent;           /* provisional marks */
    size_t misplaced;      /* of these such as stand near no event */
    size_t withdrawn;      /* and such as the end of the shot took back */
    size_t refined;        /* and such as it gave a place or a size of their own */
    size_t withdrawn_true; /* and such as were near an event, and still taken back */
    size_t judged, could;  /* events of which a bound is known, and such as it tells in time */
    numbers delay;         /* from the event to that row, s */
} live_score;

const char *live_finding_name(live_finding which);
double live_finding_limit(live_finding which); /* s */

typedef struct findings_score {
    finding_score of[FINDING_COUNT];
    live_score live[LIVE_COUNT];
    knee_limit knee_limit; /* how many knees could be found at all */
    numbers surge_size;    /* relative error of the size of hits */
    size_t surge_sized, surge_size_covered;
    size_t quiet, quiet_surges; /* shots without a surge, and surges found in them */
    size_t pulsed, pulse_exact; /* shots with pulses, and those with the right number */
    numbers pulse_period;       /* relative error of the period where the count is exact */
    size_t shots, failures;
} findings_score;

/* A log with its truth, from either generator; borrowed. */
typedef struct findings_log {
    size_t rows, columns;
    const char *const *name, *const *unit;
    const double *const *column;
    const char *gauge;    /* "pump", "puck" or NULL */
    double scale_lag;     /* s */
    bool restricted_pump; /* a restricted machine with its gauge at the pump */
    const shot_truth_list *truth;
    double truth_step;         /* s, in which it is told: half of it is no fault of an interval */
    const ideal_curves *ideal; /* may be NULL */
} findings_log;

/* Run the chain over the log, row by row as a running log brings them, in order of time and without
 * repeats, and add to the score.  `marks` (may be NULL) gets the marks; freed by the caller. */
void findings_judge(const char *chain, const findings_log *log, findings_score *score,
                    shot_mark_list *marks);

/* The log of a shot of the physical model; `ideal` may be NULL. */
findings_log findings_log_of_brew(const shot_synth *shot, const ideal_curves *ideal);

/* The log of a shot from pieces of formulas; `column` keeps its columns. */
enum { FINDINGS_PIECES_COLUMNS = 4 };
findings_log findings_log_of_pieces(const analytic_shot *shot,
                                    const double *column[FINDINGS_PIECES_COLUMNS],
                                    const ideal_curves *ideal);

/* Shot `index` of `seed` of a style (the physical model) or a family (pieces of formulas). */
void findings_judge_brewed(const char *chain, int style, shot_grade grade, uint64_t seed,
                           uint64_t index, findings_score *score);
void findings_judge_drawn(const char *chain, int family, shot_grade grade, uint64_t seed,
                          uint64_t index, findings_score *score);

/* 2 hits / (2 hits + misses + false ones); NaN with nothing to find. */
double finding_f1(const finding_score *score);

/* Add what the marks told live; arrived[i] is the time of the row that was read last when mark i
 * came. */
void findings_judge_live(const shot_mark_list *marks, const double *arrived,
                         const findings_log *log, findings_score *score);

bool findings_log_has(const findings_log *log, const char *channel);

void findings_score_free(findings_score *score);

#endif
