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
    size_t base;  /* the first sample held */
    size_t count; /* samples pushed */
    size_t next;  /* the sample to deliver */
    span now;     /* the last window found */
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
    window->base = window->count = window->next = 0;
    window->now = (span){0, 0};
    window->finished = false;
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

/* Move the low edge forward to sample `number`, or to the first sample at or after a time. */
static void move_low(const shot_sliding_window *window, size_t number, double edge, span *edges) {
    if (window->reach.samples) {
        edges->low = number;
        return;
    }
    while (time_of(window, edges->low) < edge)
        edges->low++;
}

/* Move the high edge forward to behind sample `number`, or the last sample up to a time; false
 * while that is not known.  A sample within the margin of the edge closes the window: it need not
 * wait for the next one. */
static bool move_high(const shot_sliding_window *window, size_t number, double edge, double margin,
                      span *edges) {
    if (window->reach.samples) {
        edges->high = number < window->count ? number + 1 : window->count;
        return number < window->count;
    }
    if (edges->high == 0)
        edges->high = 1;
    while (time_of(window, edges->high - 1) < edge - margin) {
        if (edges->high == window->count)
            return false;
        if (time_of(window, edges->high) > edge + margin)
            return true;
        edges->high++;
    }
    return true;
}

/* The window of sample `centre`, cut at the ends; false if its high edge is not known. */
static bool move_to(const shot_sliding_window *window, size_t centre, span *edges) {
    const double before = window->reach.before, after = window->reach.after;
    const double t = time_of(window, centre);
    if (edges->high <= centre)
        edges->high = centre + 1;
    const bool closed = move_high(window, centre + (size_t)(window->reach.samples ? after : 0),
                                  t + after, slack(t, after), edges);
    const size_t left = window->reach.samples ? (size_t)before : 0;
    move_low(window, centre > left ? centre - left : 0, t - before - slack(t, before), edges);
    return closed;
}

/* The window at the very start; false while it is not known to fit in. */
static bool move_to_start(const shot_sliding_window *window, span *edges) {
    const double length = window->reach.before + window->reach.after, t = window->start;
    return move_high(window, window->reach.samples ? (size_t)length : 0, t + length,
                     slack(t, length), edges);
}

/* The window at the very end; false if it does not fit in. */
static bool move_to_end(const shot_sliding_window *window, span *edges) {
    const double length = window->reach.before + window->reach.after;
    const double t = time_of(window, window->count - 1);
    edges->high = window->count;
    if (window->reach.samples && (double)(window->count - 1) < length)
        return false;
    if (!window->reach.samples && t - window->start < length - slack(t, length))
        return false;
    move_low(window, window->count - 1 - (window->reach.samples ? (size_t)length : 0),
             t - length - slack(t, length), edges);
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

static void deliver(shot_sliding_window *window, bool centred, shot_window_view *view) {
    const size_t place = window->next - window->base;
    const span edges = window->now;
    *view = (shot_window_view){
        .t = window->t + (edges.low - window->base),
        .y = window->y + (edges.low - window->base),
        .n = edges.high - edges.low,
        .first = edges.low,
        .number = window->next,
        .at = window->t[place],
        .value = window->y[place],
        .middle = window->t[place],
        .centred = centred,
    };
    window->next++;
}

static bool next_cut(shot_sliding_window *window, shot_window_view *view) {
    const size_t centre = window->next;
    const bool closed = move_to(window, centre, &window->now);
    if (!closed && !window->finished)
        return false;
    drop(window);
    deliver(window, closed && begins_inside(window, centre), view);
    return true;
}

/* A window that is not the sample's own: its middle, or none at all. */
static void deliver_off_middle(shot_sliding_window *window, bool fits, size_t middle, double t,
                               shot_window_view *view) {
    deliver(window, false, view);
    view->middle = window->reach.samples && fits ? time_of(window, middle) : t;
    view->n = fits ? view->n : 0;
}

/* The window at the start serves all samples that it reaches before its middle, the one at the end
 * all after. */
static bool next_full(shot_sliding_window *window, shot_window_view *view) {
    const double before = window->reach.before, after = window->reach.after;
    const bool samples = window->reach.samples;
    if (!begins_inside(window, window->next)) {
        const bool fits = move_to_start(window, &window->now);
        if (!fits && !window->finished)
            return false;
        deliver_off_middle(window, fits, samples ? (size_t)before : 0, window->start + before,
                           view);
        return true;
    }
    span edges = window->now;
    const bool closed = move_to(window, window->next, &edges);
    if (!closed && !window->finished)
        return false;
    if (closed) {
        window->now = edges;
        drop(window);
        deliver(window, true, view);
        return true;
    }
    const bool fits = move_to_end(window, &window->now);
    const size_t last = window->count - 1;
    const double end = time_of(window, last);
    deliver_off_middle(window, fits, samples && fits ? last - (size_t)after : 0, end - after, view);
    return true;
}

bool shot_sliding_window_next(shot_sliding_window *window, shot_window_view *view) {
    if (window->next == window->count)
        return false;
    return window->ends == SHOT_ENDS_CUT ? next_cut(window, view) : next_full(window, view);
}
