/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first drop: told while samples arrive. */
#include "detect/live_drip.h"

#include <math.h>

#include "detect/last_course.h"

static const double glance = 0.1; /* s between glances */
static const double memory = 20;  /* s that are looked at: what find_drip.c goes back by */
static const double stay = 1; /* s for which drops must; half of it is there when they are told */
static const double pause = 0.25;       /* s between searches */
static const double moved = 0.25;       /* s by which a mark must move to be told again */
static const double again[] = {1.5, 4}; /* s after it was told that it is looked at again */
enum { CHECKS = sizeof again / sizeof *again };

/* What a weight that rises lies over the least by: a few samples do not tell how a scale wanders.
 * That it is more than its noise the search tells. */
static const double least_rise = 0.2; /* g: scales wander by less; common practice, no source */

/* ---- a glance ---- */

/* Two weights on end, since one may be a spike, and one from before the drops had to stay. */
static bool is_up(const shot_table *shot, const double *weight) {
    const double *t = shot->rows.column[0], end = t[shot->rows.rows - 1];
    double least = INFINITY, latest = INFINITY, since = INFINITY;
    int seen = 0;
    for (size_t i = shot->rows.rows; i-- > 0 && t[i] >= end - memory;) {
        if (isnan(weight[i]))
            continue;
        if (seen++ < 2)
            latest = fmin(latest, weight[i]);
        if (t[i] >= end - stay / 2)
            since = fmin(since, weight[i]);
        least = fmin(least, weight[i]);
    }
    return seen > 2 && fmin(latest, since) > least + least_rise;
}

/* ---- the search ---- */

/* The drop in the last rows, NaN without one. */
static shot_status find_in_last(const shot_table *shot, double water, double *at,
                                shot_error *error) {
    last_course last;
    shot_phases phases = {.water_in.at = water, .first_drip = {NAN, NAN, NAN}};
    shot_status status = last_course_new(shot, memory, &last);
    last.course.drops_stay = stay;
    if (status == SHOT_OK)
        status = shot_find_drip(&last.course, &phases);
    *at = status == SHOT_OK ? phases.first_drip.at : NAN;
    last_course_free(&last);
    return status;
}

static void take(live_drip *drip, double at, double now, double water, live_drip_news *news) {
    const bool again_told = drip->told;
    if (isnan(at) || at < water) { /* no drop falls before water is in */
        *news = again_told ? LIVE_DRIP_NONE : LIVE_DRIP_NOTHING;
        drip->told = false;
        return;
    }
    if (again_told && fabs(at - drip->at) < moved)
        return;
    *news = LIVE_DRIP_TOLD;
    drip->at = at;
    if (again_told)
        return;
    drip->told = true;
    drip->told_t = now;
    drip->checks = 0;
}

/* ---- each row ---- */

/* Is it time to search?  Again only while the last rows still hold the rest before the drop. */
static bool is_due(live_drip *drip, const shot_table *shot, const double *stream, double now) {
    if (drip->told) {
        if (drip->checks == CHECKS || now < drip->told_t + again[drip->checks])
            return false;
        drip->checks++;
        return true;
    }
    if (now < drip->next_look)
        return false;
    drip->next_look = now + glance * 0.999;
    return is_up(shot, stream);
}

shot_status live_drip_look(live_drip *drip, const shot_table *shot, double water,
                           live_drip_news *news, shot_error *error) {
    const double *weight = shot_table_column(shot, "weight");
    const double *stream = weight != NULL ? weight : shot_table_column(shot, "outflow");
    const double now = shot->rows.column[0][shot->rows.rows - 1];
    double at;
    *news = LIVE_DRIP_NOTHING;
    if (stream == NULL || isnan(stream[shot->rows.rows - 1]) || !is_due(drip, shot, stream, now))
        return SHOT_OK;
    SHOT_TRY(find_in_last(shot, water, &at, error));
    drip->next_look = fmax(drip->next_look, now + pause * 0.999);
    take(drip, at, now, water, news);
    return SHOT_OK;
}
