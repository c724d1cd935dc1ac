/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The end of the brew and of the release: told while samples arrive. */
#include "detect/live_end.h"

#include <math.h>

#include "detect/brewing.h"
#include "detect/last_course.h"

static const double glance = 0.1;      /* s between glances */
static const double memory = 8;        /* s that are searched */
static const double before = 4;        /* s of the brew by which its end is judged */
static const double eased = 0.65;      /* of the pressure: left of it where water runs no more; a
                                          machine that goes from 9 to 6 bar may stand until then */
static const double gone_alone = 0.25; /* ... whatever the flow, if less than half is left of it */
static const double next_to_nothing = 0.1; /* of the brew's flow */
static const double runs = 0.5;            /* of the brew's flow: the pump runs */
static const double least_flow = 0.3; /* ml/s that are worth the name; common practice, no source */
static const double back = 0.8;       /* of the pressure: the pump runs again */
static const double held = 0.3;       /* s for which a pressure must be gone */

/* The last pressures and flows; of the last two the higher and the lower, since one may be a spike.
 */
typedef struct glimpse {
    double now;              /* s */
    double latest, lowest;   /* bar over rest */
    double top;              /* the highest of the last 4 s, two on end */
    double highest_left;     /* the highest since `held` s ago */
    double flow, least_flow; /* ml/s; NaN without */
    double brew_flow;        /* the mean of the last 4 s, where it is worth the name */
} glimpse;

static void take_pressure(const double *t, const double *p, size_t n, double rest, glimpse *out) {
    double later = NAN;
    int seen = 0;
    out->latest = out->highest_left = -INFINITY;
    out->lowest = INFINITY;
    for (size_t i = n; i-- > 0 && t[i] >= out->now - before;) {
        if (isnan(p[i]))
            continue;
        const double y = p[i] - rest;
        if (seen++ < 2) {
            out->latest = fmax(out->latest, y);
            out->lowest = fmin(out->lowest, y);
        }
        if (t[i] >= out->now - held)
            out->highest_left = fmax(out->highest_left, y);
        if (!isnan(later))
            out->top = fmax(out->top, fmin(y, later));
        later = y;
    }
}

static void take_flow(const double *t, const double *q, size_t n, glimpse *out) {
    double sum = 0, count = 0;
    out->flow = out->least_flow = out->brew_flow = NAN;
    for (size_t i = n; q != NULL && i-- > 0 && t[i] >= out->now - before;) {
        if (isnan(q[i]))
            continue;
        if (count < 2) { /* of NaN and a number the number */
            out->flow = fmax(out->flow, q[i]);
            out->least_flow = fmin(out->least_flow, q[i]);
        }
        sum += q[i];
        count++;
    }
    if (sum > least_flow * count)
        out->brew_flow = sum / count;
}

static glimpse glimpse_at(const shot_table *shot, double rest) {
    const double *t = shot->rows.column[0];
    const size_t n = shot->rows.rows;
    glimpse out = {.now = t[n - 1]};
    take_pressure(t, shot_table_column(shot, "pressure"), n, rest, &out);
    take_flow(t, shot_table_column(shot, "flow"), n, &out);
    return out;
}

static bool has_ended(const glimpse *last) {
    if (last->latest < shot_no_pressure)
        return last->top > 2 * shot_no_pressure;
    if (last->latest < gone_alone * last->top && !(last->flow > runs * last->brew_flow))
        return true;
    return last->latest < eased * last->top && last->flow < next_to_nothing * last->brew_flow;
}

/* The pressure is back, or water runs as it did before. */
static bool runs_again(const live_end *end, const glimpse *last) {
    return last->now > end->off + 1 && last->now < end->off + shot_brewed &&
           (last->lowest > back * end->level || last->least_flow > runs * end->flow);
}

/* ---- the search ---- */

/* The last rows alone do not tell what the gauge shows without pressure. */
static shot_status find_in_last(const shot_table *shot, double full, double rest,
                                shot_phases *phases, shot_error *error) {
    const shot_instant never = {NAN, NAN, NAN};
    last_course last;
    *phases = (shot_phases){.pump_off = never, .released = never, .full = never};
    shot_status status = last_course_new(shot, memory, &last);
    if (status == SHOT_OK && last.course.puck.n >= 5) {
        last.course.rest = rest;
        phases->full.at = fmax(full, last.course.puck.t[0]);
        status = shot_find_end(&last.course, phases);
    }
    last_course_free(&last);
    return status;
}

/* ---- each row ---- */

static shot_status look_for_off(live_end *end, const shot_table *shot, double full, double rest,
                                live_end_news *news, shot_error *error) {
    const glimpse last = glimpse_at(shot, rest);
    shot_phases phases;
    if (last.now < full + shot_brewed || !has_ended(&last))
        return SHOT_OK;
    SHOT_TRY(find_in_last(shot, full, rest, &phases, error));
    if (isnan(phases.pump_off.at))
        return SHOT_OK;
    end->ended = true;
    end->off = phases.pump_off.at;
    end->level = last.top;
    end->flow = last.brew_flow;
    *news = LIVE_END_OFF;
    return SHOT_OK;
}

static shot_status look_for_release(live_end *end, const shot_table *shot, double full, double rest,
                                    live_end_news *news, shot_error *error) {
    const glimpse last = glimpse_at(shot, rest);
    shot_phases phases;
    if (runs_again(end, &last)) {
        end->ended = false;
        *news = LIVE_END_ON_AGAIN;
        return SHOT_OK;
    }
    if (end->gone || !(last.highest_left < shot_no_pressure))
        return SHOT_OK;
    SHOT_TRY(find_in_last(shot, full, rest, &phases, error));
    end->gone = true;
    if (isnan(phases.released.at) || !(phases.released.at > end->off))
        return SHOT_OK;
    end->released = phases.released.at;
    *news = LIVE_END_RELEASED;
    return SHOT_OK;
}

shot_status live_end_look(live_end *end, const shot_table *shot, double full, double rest,
                          live_end_news *news, shot_error *error) {
    const size_t last = shot->rows.rows - 1;
    const double now = shot->rows.column[0][last];
    *news = LIVE_END_NOTHING;
    if (isnan(shot_table_column(shot, "pressure")[last]) || now < end->next_look ||
        live_end_is_over(end, now))
        return SHOT_OK;
    end->next_look = now + glance * 0.999;
    return end->ended ? look_for_release(end, shot, full, rest, news, error)
                      : look_for_off(end, shot, full, rest, news, error);
}

bool live_end_is_over(const live_end *end, double now) {
    return end->ended && end->gone && now >= end->off + shot_brewed;
}
