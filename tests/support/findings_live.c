/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Provisional marks against the truth: how soon, how many, where. */
#include "support/findings.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "support/onset_limit.h"

typedef struct live_kind {
    const char *name, *mark, *truth;
    bool mark_ends;  /* the event is the end of the mark */
    bool truth_ends; /* ... of the true interval */
    bool many;       /* a shot may have none, or several */
    double limit;    /* s */
    double near;     /* s: two instants that a person calls the same */
} live_kind;

static const live_kind kinds[LIVE_COUNT] = {
    {"water in", "preinfusion", "preinfusion", false, false, false, 0.5, 0.5},
    {"end of fill", "fill", "fill", true, true, false, 1.0, 0.5},
    {"soak", "soak", "soak", false, false, false, 2.0, 0.5},
    {"main rise", "ramp", "ramp", false, false, false, INFINITY, 0.5},
    {"full pressure", "brew", "preinfusion", false, true, false, 1.0, 0.5},
    {"first drip", "first-drip", "first-drip", false, false, false, 2.0, 0.7},
    {"end of brew", "release", "release", false, false, false, 1.0, 0.5},
    {"released", "release", "release", true, true, false, 1.0, 0.5},
    {"surge", "surge", "surge", false, false, true, 1.0, 1.0},
    {"pulse on", "pulse", "pulse", false, false, true, INFINITY, 0.5},
    {"pulse off", "pulse", "pulse", true, true, true, 1.0, 0.5},
};

const char *live_finding_name(live_finding which) {
    return kinds[which].name;
}

double live_finding_limit(live_finding which) {
    return kinds[which].limit;
}

static bool can_show(const findings_log *log, live_finding which) {
    if (which == LIVE_WATER || which == LIVE_PULSE || which == LIVE_PULSE_OFF)
        return findings_log_has(log, "flow");
    if (which == LIVE_FILL)
        return findings_log_has(log, "flow") && findings_log_has(log, "pressure");
    if (which == LIVE_SOAK || which == LIVE_RISE || which == LIVE_FULL || which == LIVE_OFF ||
        which == LIVE_RELEASED)
        return findings_log_has(log, "pressure");
    if (which == LIVE_DRIP)
        return findings_log_has(log, "weight") || findings_log_has(log, "outflow");
    return findings_log_has(log, "pressure") &&
           (findings_log_has(log, "flow") || findings_log_has(log, "weight"));
}

/* An event, and when it was first told. */
typedef struct live_event {
    double at, told; /* s; told is infinite until then */
    bool note;       /* neither to be told nor to be passed over */
} live_event;

/* Channels too small or too slow for a surge stand in the truth as notes. */
static bool is_note(const shot_truth *truth, const live_kind *kind) {
    return strcmp(kind->mark, "surge") == 0 && strcmp(truth->kind, "note") == 0 &&
           strncmp(truth->note, "a channel opened", 16) == 0;
}

static size_t events_of(const findings_log *log, const live_kind *kind, live_event *events) {
    size_t count = 0;
    for (size_t i = 0; i < log->truth->count; i++) {
        const shot_truth *truth = &log->truth->items[i];
        if (strcmp(truth->kind, kind->truth) != 0 && !is_note(truth, kind))
            continue;
        live_event one = {kind->truth_ends ? truth->to : truth->from, INFINITY,
                          strcmp(truth->kind, "note") == 0};
        if (!isnan(one.at))
            events[count++] = one;
    }
    return count;
}

static double instant_of(const shot_mark *mark, const live_kind *kind) {
    return kind->mark_ends ? mark->to : mark->from;
}

/* A provisional mark has an id that bears its kind; one that only refines the end of another says
 * nothing new of its start. */
static bool tells(const shot_mark_list *marks, size_t i, const live_kind *kind) {
    const shot_mark *mark = &marks->marks[i];
    const size_t length = strlen(kind->mark);
    const double at = instant_of(mark, kind);
    if (strcmp(mark->kind, kind->mark) != 0 || mark->id == NULL || isnan(at) ||
        strncmp(mark->id, kind->mark, length) != 0)
        return false;
    for (size_t k = 0; k < i; k++)
        if (strcmp(marks->marks[k].kind, kind->mark) == 0 &&
            instant_of(&marks->marks[k], kind) == at)
            return false;
    return true;
}

/* The mark that refines or withdraws mark i, or NULL. */
static const shot_mark *successor(const shot_mark_list *marks, size_t i) {
    for (size_t k = i + 1; k < marks->count; k++)
        if (marks->marks[k].refines != NULL &&
            strcmp(marks->marks[k].refines, marks->marks[i].id) == 0)
            return &marks->marks[k];
    return NULL;
}

static live_event *nearest(live_event *events, size_t count, double at, double near) {
    live_event *best = NULL;
    for (size_t i = 0; i < count; i++)
        if (fabs(events[i].at - at) <= near &&
            (best == NULL || fabs(events[i].at - at) < fabs(best->at - at)))
            best = &events[i];
    return best;
}

static void judge_mark(const shot_mark_list *marks, size_t i, double arrived, live_event *of,
                       live_score *score) {
    const shot_mark *next = successor(marks, i);
    bool withdrawn = next != NULL && strcmp(next->kind, "note") == 0;
    score->sent++;
    score->misplaced += of == NULL;
    score->withdrawn += withdrawn;
    score->withdrawn_true += withdrawn && of != NULL;
    score->refined += next != NULL && !withdrawn;
    if (of != NULL)
        of->told = fmin(of->told, arrived);
}

static void judge_event(const live_event *event, double limit, live_score *score) {
    if (event->note)
        return;
    score->events++;
    if (!isfinite(event->told))
        return;
    score->told++;
    score->in_time += event->told <= event->at + limit;
    numbers_add(&score->delay, event->told - event->at);
}

/* Could it have been told in time? */
static void judge_limit(const findings_log *log, const live_event *event, double limit,
                        live_score *score) {
    const double delay = onset_limit_delay(log, event->at);
    score->judged += !isnan(delay);
    score->could += delay <= limit;
}

static void judge_kind(const shot_mark_list *marks, const double *arrived, const live_kind *kind,
                       live_event *events, size_t count, live_score *score) {
    score->shots++;
    for (size_t i = 0; i < marks->count; i++)
        if (tells(marks, i, kind))
            judge_mark(marks, i, arrived[i],
                       nearest(events, count, instant_of(&marks->marks[i], kind), kind->near),
                       score);
    for (size_t i = 0; i < count; i++)
        judge_event(&events[i], kind->limit, score);
}

void findings_judge_live(const shot_mark_list *marks, const double *arrived,
                         const findings_log *log, findings_score *score) {
    live_event *events = calloc(log->truth->count + 1, sizeof *events);
    if (events == NULL)
        abort();
    for (int which = 0; which < LIVE_COUNT; which++) {
        size_t count = events_of(log, &kinds[which], events);
        if (can_show(log, (live_finding)which) && (count > 0 || kinds[which].many))
            judge_kind(marks, arrived, &kinds[which], events, count, &score->live[which]);
        if (which == LIVE_WATER && can_show(log, LIVE_WATER) && count > 0)
            judge_limit(log, &events[0], kinds[which].limit, &score->live[which]);
    }
    free(events);
}
