/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A window that slides over a stream.  Samples are known by their number in the stream; those from
 * `base` on are held, the oldest at t[0].  Windows are [low, high) and move forward only. */
#include <shottrace/signal/sliding_window.h>

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

typedef struct span {
    size_t low, high;
} span;

struct shot_sliding_window {
    shot_reach reach;
    shot_ends ends;
    double *store; /* t, then y             [2][room] */
    double *t, *y; /* in store              [count - base] */
    size_t room;
    size_t base;   /* the first sample held */
    size_t count;  /* samples pushed */
    size_t next;   /* the sample to deliver */
    span now;      /* the last window delivered, or found */
    size_t centre; /* SHOT_ENDS_FULL: the sample whose own window `now` is, or will be */
    bool known;    /* SHOT_ENDS_FULL: there is such a window */
    bool finished;
    double start; /* time of sample 0 */
};

static bool is_reach(double length, bool samples) {
    return length >= 0 && isfinite(length) &&
           (!samples || (length == floor(length) && length < (double)(SIZE_MAX / 4)));
}

shot_status shot_sliding_window_new(shot_reach reach, shot_ends ends, shot_sliding_window **out) {
    *out = NULL;
    if (!is_reach(reach.before, reach.samples) || !is_reach(reach.after, reach.samples))
        return SHOT_ERR_RANGE;
    shot_sliding_window *window = calloc(1, sizeof *window);
    if (window == NULL)
        return SHOT_ERR_MEMORY;
    window->reach = reach;
    window->ends = ends;
    *out = window;
    return SHOT_OK;
}

void shot_sliding_window_free(shot_sliding_window *window) {
    if (window != NULL)
        free(window->store);
    free(window);
}

void shot_sliding_window_reset(shot_sliding_window *window) {
    window->t = window->store;
    window->y = window->store == NULL ? NULL : window->store + window->room;
    window->base = window->count = window->next = window->centre = 0;
    window->now = (span){0, 0};
    window->known = window->finished = false;
}

/* Room for one more sample: by moving those held to the front, if half of the store is free there,
 * else by a larger store.  Either way each sample is moved a bounded number of times. */
static shot_status make_room(shot_sliding_window *window) {
    const size_t held = window->count - window->base;
    const size_t used = (size_t)(window->t - window->store) + held;
    if (window->store != NULL && used < window->room)
        return SHOT_OK;
    double *store = window->store;
    size_t room = window->room;
    if (store == NULL || held > room / 2) {
        room = room == 0 ? 32 : 2 * room;
        if (room > SIZE_MAX / 2 / sizeof *store)
            return SHOT_ERR_MEMORY;
        store = malloc(2 * room * sizeof *store);
        if (store == NULL)
            return SHOT_ERR_MEMORY;
    }
    if (held > 0) {
        memmove(store, window->t, held * sizeof *store);
        memmove(store + room, window->y, held * sizeof *store);
    }
    if (store != window->store)
        free(window->store);
    window->store = window->t = store;
    window->y = store + room;
    window->room = room;
    return SHOT_OK;
}

shot_status shot_sliding_window_push(shot_sliding_window *window, double t, double y) {
    const size_t held = window->count - window->base;
    if (!isfinite(t) || (held > 0 && t < window->t[held - 1]))
        return SHOT_ERR_DATA;
    SHOT_TRY(make_room(window));
    if (window->count == 0)
        window->start = t;
    window->t[held] = t;
    window->y[held] = y;
    window->count++;
    return SHOT_OK;
}

void shot_sliding_window_finish(shot_sliding_window *window) {
    window->finished = true;
}

static double time_of(const shot_sliding_window *window, size_t sample) {
    return window->t[sample - window->base];
}

/* By how much a stamp may miss the edge at a distance of `reach`. */
static double slack(double t, double reach) {
    return fmax(1e-6 * reach, 2 * DBL_EPSILON * fabs(t));
}

/* Move the low edge forward to where the window of `centre` begins. */
static void move_low(const shot_sliding_window *window, size_t centre, span *edges) {
    const double reach = window->reach.before;
    if (window->reach.samples) {
        const size_t before = (size_t)reach;
        edges->low = centre > before ? centre - before : 0;
        return;
    }
    const double t = time_of(window, centre), edge = t - reach - slack(t, reach);
    while (time_of(window, edges->low) < edge)
        edges->low++;
}

/* Move the high edge forward to where the window of `centre` ends; false while that is not known.
 * A sample on the edge closes the window: it need not wait for the next one. */
static bool move_high(const shot_sliding_window *window, size_t centre, span *edges) {
    const double reach = window->reach.after;
    if (window->reach.samples) {
        const size_t wanted = centre + (size_t)reach + 1;
        edges->high = wanted < window->count ? wanted : window->count;
        return wanted <= window->count;
    }
    const double t = time_of(window, centre), margin = slack(t, reach), edge = t + reach;
    if (edges->high <= centre)
        edges->high = centre + 1;
    while (time_of(window, edges->high - 1) < edge - margin) {
        if (edges->high == window->count)
            return false;
        if (time_of(window, edges->high) > edge + margin)
            return true;
        edges->high++;
    }
    return true;
}

/* Whether the window of `centre` begins within the data. */
static bool begins_inside(const shot_sliding_window *window, size_t centre) {
    const double reach = window->reach.before;
    if (window->reach.samples)
        return (double)centre >= reach;
    const double t = time_of(window, centre);
    return t - reach >= window->start - slack(t, reach);
}

/* Let the samples go that no later window needs. */
static void drop(shot_sliding_window *window) {
    const size_t needed = window->now.low < window->next ? window->now.low : window->next;
    window->t += needed - window->base;
    window->y += needed - window->base;
    window->base = needed;
}

static void deliver(shot_sliding_window *window, span edges, bool centred, shot_window_view *view) {
    const size_t place = window->next - window->base;
    *view = (shot_window_view){
        .t = window->t + (edges.low - window->base),
        .y = window->y + (edges.low - window->base),
        .n = edges.high - edges.low,
        .first = edges.low,
        .number = window->next,
        .at = window->t[place],
        .value = window->y[place],
        .centred = centred,
    };
    window->next++;
}

static bool next_cut(shot_sliding_window *window, shot_window_view *view) {
    const size_t centre = window->next;
    const bool closed = move_high(window, centre, &window->now);
    if (!closed && !window->finished)
        return false;
    move_low(window, centre, &window->now);
    drop(window);
    deliver(window, window->now, closed && begins_inside(window, centre), view);
    return true;
}

/* Look for the next full window: that of the sample to deliver, or at the start the first that
 * begins within the data.  False if there is none (yet). */
static bool advance_full(shot_sliding_window *window) {
    size_t centre = window->known ? window->next : window->centre;
    while (centre < window->count && !begins_inside(window, centre))
        centre++;
    if (!window->known)
        window->centre = centre;
    span edges = window->now;
    if (centre == window->count || !move_high(window, centre, &edges))
        return false;
    move_low(window, centre, &edges);
    window->now = edges;
    window->centre = centre;
    window->known = true;
    return true;
}

/* The first full window serves all samples before its own, the last one all after. */
static bool next_full(shot_sliding_window *window, shot_window_view *view) {
    const bool served = window->known && window->next <= window->centre;
    if (!served && !advance_full(window) && !window->finished)
        return false;
    if (window->known)
        drop(window);
    deliver(window, window->known ? window->now : (span){window->base, window->base},
            window->known && window->next == window->centre, view);
    return true;
}

bool shot_sliding_window_next(shot_sliding_window *window, shot_window_view *view) {
    if (window->next == window->count)
        return false;
    return window->ends == SHOT_ENDS_CUT ? next_cut(window, view) : next_full(window, view);
}
