/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "puck/cup_touch.h"

#include <math.h>

#include "puck/water_counter.h"

/* All of these are common practice, no source; water_fastest ml/s weigh as many g/s. */
static const double most = 0.75;
static const double look_again = 0.05; /* s: at 1 kHz not every sample need be tried */

double cup_blur(double sd, double inflation, double step) {
    return fmax(5 * sd * sqrt(inflation), 1.5 * step);
}

double cup_window(double spacing) {
    return fmax(CUP_JUDGED_OVER, 4 * spacing);
}

/* The time from which sample i stands: a scale with news in a few rows only repeats its figure. */
static double stands_since(const cup_weight *weight, size_t i) {
    while (i > 0 && weight->y[i - 1] == weight->y[i])
        i--;
    return weight->t[i];
}

bool cup_may_lead(const cup_weight *weight, size_t from, size_t to) {
    const double gain = weight->y[to] - weight->y[from], at_once = gain - weight->blur;
    if (gain <= -fmax(CUP_LEAST_CHANGE, weight->blur))
        return false;
    return at_once < water_fastest * (weight->t[to] - weight->t[from]) ||
           at_once < water_fastest * (weight->t[to] - stands_since(weight, from));
}

/* The index of the first sample at `time` or later; n if there is none. */
static size_t first_from(const cup_weight *weight, double time) {
    size_t low = 0, high = weight->n;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (weight->t[middle] < time)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* The samples of a stretch: [first, end). */
typedef struct stretch {
    size_t first, end;
} stretch;

static stretch samples_in(const cup_weight *weight, double from, double to) {
    const size_t first = first_from(weight, from);
    size_t end = first;
    while (end < weight->n && weight->t[end] <= to)
        end++;
    return (stretch){first, end};
}

static double mean_of(const cup_weight *weight, stretch of) {
    double sum = 0;
    for (size_t i = of.first; i < of.end; i++)
        sum += weight->y[i];
    return of.end > of.first ? sum / (double)(of.end - of.first) : NAN;
}

/* How many of the samples lie over `level`. */
static double share_over(const cup_weight *weight, stretch of, double level) {
    double over = 0;
    for (size_t i = of.first; i < of.end; i++)
        over += weight->y[i] > level;
    return over / (double)(of.end - of.first);
}

/* Does the weight of sample i, and of one beside it since one may be a spike, lie so far above that
 * shortly after it that no drop did it?  Then a cup stood there for less time than a weight is
 * judged over: it was put on and tared at once. */
static bool stood_shortly(const cup_weight *weight, size_t i, double after) {
    const bool before = i > 0 && weight->y[i - 1] > after;
    return weight->y[i] > after && (before || (i + 1 < weight->n && weight->y[i + 1] > after));
}

/* Does the weight up to sample i lie above that shortly after it, or so far below that no water
 * fills the difference?  Most samples must, since one may be a spike. */
static bool is_touched(const cup_weight *weight, size_t i) {
    const double t = weight->t[i], span = cup_window(weight->spacing);
    const stretch up_to = samples_in(weight, t - span, t);
    const stretch behind = samples_in(weight, t + CUP_KNOCK, t + CUP_KNOCK + span);
    const double before = mean_of(weight, up_to), after = mean_of(weight, behind);
    const double fall = fmax(CUP_LEAST_CHANGE, weight->blur),
                 rise = water_fastest * (span + CUP_KNOCK);
    const bool falls = share_over(weight, behind, before - fall) <= 1 - most &&
                       share_over(weight, up_to, after + fall) >= most;
    return falls || stood_shortly(weight, i, after + rise) ||
           (share_over(weight, behind, before + rise) >= most &&
            share_over(weight, up_to, after - rise) <= 1 - most);
}

size_t cup_next_touch(const cup_weight *weight, size_t i, bool touched) {
    for (double next = -INFINITY; i < weight->n; i++) {
        if (weight->t[i] < next)
            continue;
        next = weight->t[i] + look_again;
        if (is_touched(weight, i) == touched)
            break;
    }
    return i;
}
