/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Provisional marks against the truth: how soon, how many, where. */
#include "support/findings.h"

#include <math.h>
#include <string.h>

static const double near = 0.5; /* s: two instants that a person calls the same */

typedef struct live_kind {
    const char *name, *mark, *truth;
    bool truth_ends; /* the event is the end of the true interval */
    double limit;    /* s */
} live_kind;

static const live_kind kinds[LIVE_COUNT] = {
    {"water in", "preinfusion", "preinfusion", false, 0.5},
    {"full pressure", "brew", "preinfusion", true, 1.0},
};

const char *live_finding_name(live_finding which) {
    return kinds[which].name;
}

double live_finding_limit(live_finding which) {
    return kinds[which].limit;
}

static bool can_show(const findings_log *log, live_finding which) {
    return findings_log_has(log, which == LIVE_WATER ? "flow" : "pressure");
}

static double event_of(const findings_log *log, const live_kind *kind) {
    for (size_t i = 0; i < log->truth->count; i++)
        if (strcmp(log->truth->items[i].kind, kind->truth) == 0)
            return kind->truth_ends ? log->truth->items[i].to : log->truth->items[i].from;
    return NAN;
}

/* A provisional mark has an id that bears its kind; one that only refines the end of another says
 * nothing new of its start. */
static bool tells(const shot_mark_list *marks, size_t i, const char *kind) {
    const shot_mark *mark = &marks->marks[i];
    size_t length = strlen(kind);
    if (strcmp(mark->kind, kind) != 0 || mark->id == NULL || strncmp(mark->id, kind, length) != 0)
        return false;
    for (size_t k = 0; k < i; k++)
        if (marks->marks[k].from == mark->from && strcmp(marks->marks[k].kind, kind) == 0)
            return false;
    return true;
}

static void judge_one(const shot_mark_list *marks, const double *arrived, double event,
                      const live_kind *kind, live_score *score) {
    double first = INFINITY;
    for (size_t i = 0; i < marks->count; i++) {
        if (!tells(marks, i, kind->mark))
            continue;
        if (fabs(marks->marks[i].from - event) <= near)
            first = fmin(first, arrived[i]);
        else
            score->misplaced++;
    }
    score->shots++;
    if (!isfinite(first))
        return;
    score->told++;
    score->in_time += first <= event + kind->limit;
    numbers_add(&score->delay, first - event);
}

void findings_judge_live(const shot_mark_list *marks, const double *arrived,
                         const findings_log *log, findings_score *score) {
    for (int which = 0; which < LIVE_COUNT; which++) {
        double event = event_of(log, &kinds[which]);
        if (can_show(log, (live_finding)which) && !isnan(event))
            judge_one(marks, arrived, event, &kinds[which], &score->live[which]);
    }
}
