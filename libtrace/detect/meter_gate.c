/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A meter that counts over a gate. */
#include "detect/meter_gate.h"

#include <math.h>

#include "detect/fresh_values.h"
#include "detect/onset.h"

static const double jitter = 1.5;     /* rows by which the clocks of meter and logger differ */
static const double by_chance = 1e-3; /* so seldom changes at any time look even */

enum { TRIES = 32 }; /* gates, over two rows */

/* The next row of another figure; view->n without. */
static size_t next_change(const shot_channel_view *view, size_t i) {
    for (i++; i < view->n && view->y[i] == view->y[i - 1];)
        i++;
    return i < view->n ? i : view->n;
}

/* How far the times between changes are from multiples of a gate. */
typedef struct beats {
    double squares, most, count;
} beats;

static beats beats_of(const shot_channel_view *view, double gate) {
    beats out = {.count = 0};
    size_t last = next_change(view, 0);
    for (size_t i = last; i < view->n && (i = next_change(view, i)) < view->n; last = i) {
        const double off = remainder(view->t[i] - view->t[last], gate);
        out.squares += off * off;
        out.most = fmax(out.most, fabs(off));
        out.count++;
    }
    return out;
}

/* The shortest stand is a gate but for a row or two.  Changes at any time would each be so near a
 * multiple of it by 2 off / gate. */
double shot_meter_gate(const shot_channel_view *view) {
    const double shortest = shot_view_least_stand(view), row = view->noise.spacing;
    const double off = jitter * row;
    double gate = shortest;
    beats best = {.squares = INFINITY};
    for (int k = 0; k <= TRIES && shortest > 0; k++) {
        const double one = shortest + 2 * row * k / TRIES;
        const beats now = beats_of(view, one);
        if (!(now.squares < best.squares))
            continue;
        best = now;
        gate = one;
    }
    return best.most <= off && best.count * log(2 * off / gate) < log(by_chance) ? gate : 0;
}

shot_status shot_meter_gate_values(const shot_channel_view *view, double gate,
                                   shot_channel_view *out) {
    SHOT_TRY(shot_view_copy(view, out));
    size_t kept = 0;
    double next = INFINITY;
    for (size_t i = next_change(view, 0); i < view->n; i++) {
        const bool changes = view->y[i] != view->y[i - 1];
        if (!changes && view->t[i] < next - view->noise.spacing / 2)
            continue;
        next = (changes ? view->t[i] : next) + gate;
        out->t[kept] = view->t[i];
        out->y[kept++] = view->y[i];
    }
    out->n = kept;
    out->rows = view->noise.spacing;
    out->noise = (shot_noise){.sd = view->noise.sd, .inflation = 1, .spacing = gate};
    return SHOT_OK;
}
