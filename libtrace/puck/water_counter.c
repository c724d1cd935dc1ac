/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Water that a running count alone measures. */
#include "puck/water_counter.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/resolution.h>

static const double stands = 3;      /* times the counts on either side: nothing runs */
static const double known = 0.1;     /* of the flow: a corner of the line more tells no more */
static const double rounding = 1e-9; /* of decimals and of sums of them */
static const double noisy = 0.05;    /* of all that was counted: a fall by less is noise */
enum { FEWEST = 5 };

bool shot_water_is_counted(const shot_head *head) {
    return shot_head_channel(head, "water") >= 0 && shot_head_channel(head, "flow") < 0;
}

/* ---- rows ---- */

/* The largest figure. */
static double largest(const double *water, size_t n) {
    double most = 0;
    for (size_t i = 0; i < n; i++)
        most = fmax(most, fabs(water[i]));
    return most;
}

/* What ran between two figures so many seconds apart; a counter that starts anew, or is set to
 * another figure, does not tell. */
static double ran_between(double last, double now, double seconds, double most) {
    const double more = now - last;
    const double doubtful = noisy * most;
    const bool anew = -more > doubtful;
    const bool leaps = more > 2 * water_fastest * seconds + doubtful;
    return anew || leaps ? 0 : more;
}

double shot_counter_between(const double *t, const double *water, size_t n, double from,
                            double to) {
    const double most = largest(water, n);
    double sum = 0, last_t = NAN, last = NAN;
    for (size_t i = 0; i < n && !(t[i] > to); i++) {
        if (isnan(water[i]))
            continue;
        if (t[i] > from && !isnan(last))
            sum += ran_between(last, water[i], t[i] - last_t, most);
        last_t = t[i];
        last = water[i];
    }
    return sum;
}

/* The rows that are not missing, with the figures put together. */
static void take_rows(const double *t, const double *water, size_t n, shot_counted *out) {
    const double most = largest(water, n);
    double last = NAN;
    for (size_t i = 0; i < n; i++) {
        if (isnan(water[i]))
            continue;
        const size_t k = out->n++;
        out->t[k] = t[i];
        out->volume[k] =
            k == 0 ? water[i]
                   : out->volume[k - 1] + ran_between(last, water[i], t[i] - out->t[k - 1], most);
        last = water[i];
    }
    out->step = shot_resolution(out->volume, out->n);
}

/* A count came in the row before row i, at any time; where several came, the last is as near to its
 * row as it is a part of them. */
static void find_counts(shot_counted *out) {
    for (size_t i = 1; i < out->n; i++) {
        const double more = out->volume[i] - out->volume[i - 1], row = out->t[i] - out->t[i - 1];
        if (!(fabs(more) > fmax(out->step / 2, rounding * fabs(out->volume[i]))))
            continue;
        out->count_t[out->counts] = out->t[i] - row * fmin(1, out->step / fabs(more)) / 2;
        out->silent[out->counts] = out->t[i - 1];
        out->count[out->counts++] = out->volume[i];
    }
}

/* ---- between counts ---- */

static double gap(const shot_counted *of, size_t k) {
    return of->count_t[k] - of->count_t[k - 1];
}

/* Does the water stand between counts k - 1 and k?  A hole of the log does not tell. */
static bool stands_before(const shot_counted *of, size_t k) {
    const double before = k > 1 ? gap(of, k - 1) : 0,
                 after = k + 1 < of->counts ? gap(of, k + 1) : 0;
    return of->silent[k] - of->count_t[k - 1] > stands * fmax(before, after);
}

/* The flow behind count k, and the one before it; NaN where none runs. */
static double flow_behind(const shot_counted *of, size_t k) {
    return k + 1 < of->counts && !stands_before(of, k + 1)
               ? (of->count[k + 1] - of->count[k]) / gap(of, k + 1)
               : NAN;
}

static double flow_before(const shot_counted *of, size_t k) {
    return k > 0 && !stands_before(of, k) ? (of->count[k] - of->count[k - 1]) / gap(of, k) : NAN;
}

/* ---- the line ---- */

static void add_corner(shot_counted *of, double t, double volume) {
    const bool first = of->corners == 0;
    if (!first && !(t > of->corner_t[of->corners - 1])) /* a leap takes no time */
        t = nextafter(of->corner_t[of->corners - 1], INFINITY);
    of->corner_t[of->corners] = t;
    of->corner[of->corners++] = volume;
}

/* How long a flow takes for a volume; where no flow is known the count is a lone one. */
static double time_for(double volume, double flow, double otherwise) {
    return flow > 0 ? fmax(volume, 0) / flow : otherwise;
}

/* Half a count runs on behind count k, and stays until the next. */
static void add_stop(shot_counted *of, size_t k, double until) {
    const double half = of->step / 2;
    const double t = of->count_t[k] + time_for(half, flow_before(of, k), 0);
    add_corner(of, fmin(t, until), of->count[k] + half);
}

static void add_start(shot_counted *of, size_t k, double level, double since) {
    const double t = of->count_t[k] - time_for(of->count[k] - level, flow_behind(of, k), 0);
    add_corner(of, fmax(t, since), level);
}

static void add_before_first(shot_counted *of) {
    const double flow = flow_behind(of, 0), start = of->t[0];
    const double level = of->volume[0] + of->step / 2;
    const double since = of->count_t[0] - time_for(of->count[0] - level, flow, 0);
    add_corner(of, start, since > start ? level : of->count[0] - flow * (of->count_t[0] - start));
    if (since > start)
        add_start(of, 0, level, start);
}

static void add_after_last(shot_counted *of) {
    const size_t last = of->counts - 1;
    const double end = of->t[of->n - 1], left = end - of->count_t[last];
    const double flow = flow_before(of, last);
    if (!(left > 0))
        return;
    if (!(left <= stands * gap(of, last)) || isnan(flow)) {
        add_stop(of, last, end);
        add_corner(of, end, of->count[last] + of->step / 2);
    } else
        add_corner(of, end, of->count[last] + fmin(left * flow, of->step));
}

/* How surely a volume between two counts is known: each is off by less than a count, or than what
 * runs in a row. */
static double volume_sd(const shot_counted *of, double flow, double row) {
    return fmin(of->step, fabs(flow) * row) / sqrt(12);
}

/* The mean time between rows, s. */
static double row_of(const shot_counted *of) {
    return (of->t[of->n - 1] - of->t[0]) / (double)(of->n - 1);
}

/* Is the flow since the last corner known well enough that count k may be the next? */
static bool is_known(const shot_counted *of, size_t k) {
    const size_t last = of->corners - 1;
    const double volume = of->count[k] - of->corner[last];
    const double flow = volume / (of->count_t[k] - of->corner_t[last]);
    return volume_sd(of, flow, row_of(of)) * sqrt(2) <= known * fabs(volume);
}

static void draw_line(shot_counted *of) {
    add_before_first(of);
    for (size_t k = 0; k < of->counts; k++) {
        const bool starts = k == 0 || stands_before(of, k);
        const bool stops = k + 1 == of->counts || stands_before(of, k + 1);
        if (k > 0 && starts) {
            add_stop(of, k - 1, of->count_t[k]);
            add_start(of, k, of->count[k - 1] + of->step / 2, of->corner_t[of->corners - 1]);
        }
        if (starts || stops || is_known(of, k))
            add_corner(of, of->count_t[k], of->count[k]);
    }
    add_after_last(of);
}

/* ---- what is known of it ---- */

/* Medians over the rows in which water runs. */
static void judge(shot_counted *of, double *work) {
    const double row = row_of(of);
    double *const found[] = {&of->spacing, &of->volume_sd, &of->flow_sd};
    for (int wanted = 0; wanted < 3; wanted++) {
        size_t n = 0, k = 1;
        for (size_t i = 0; i < of->n; i++) {
            while (k + 1 < of->corners && of->corner_t[k] < of->t[i])
                k++;
            const double seconds = of->corner_t[k] - of->corner_t[k - 1];
            const double volume = of->corner[k] - of->corner[k - 1];
            const double sd = volume_sd(of, volume / seconds, row);
            if (volume > 0)
                work[n++] = wanted == 0 ? seconds : wanted == 1 ? sd : sqrt(2) * sd / seconds;
        }
        *found[wanted] = n > 0 ? shot_median(work, n) : 0;
    }
}

shot_status shot_counted_new(const double *t, const double *water, size_t n, shot_counted *out) {
    *out = (shot_counted){0};
    double **const arrays[] = {&out->t, &out->volume, &out->count_t, &out->count, &out->silent};
    double *work = malloc((n + 1) * sizeof *work);
    bool fine = work != NULL;
    for (size_t i = 0; i < sizeof arrays / sizeof *arrays; i++)
        fine = (*arrays[i] = malloc((n + 1) * sizeof(double))) != NULL && fine;
    out->corner_t = malloc((3 * n + 4) * sizeof(double));
    out->corner = malloc((3 * n + 4) * sizeof(double));
    shot_status status = fine && out->corner_t && out->corner ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK) {
        take_rows(t, water, n, out);
        find_counts(out);
        status = out->counts >= FEWEST ? SHOT_OK : SHOT_ERR_SINGULAR;
    }
    if (status == SHOT_OK) {
        draw_line(out);
        judge(out, work);
    }
    free(work);
    return status;
}

void shot_counted_free(shot_counted *counted) {
    free(counted->t);
    free(counted->volume);
    free(counted->count_t);
    free(counted->count);
    free(counted->silent);
    free(counted->corner_t);
    free(counted->corner);
    *counted = (shot_counted){0};
}

void shot_counted_volumes(const shot_counted *counted, double *out) {
    const double *t = counted->corner_t, *v = counted->corner;
    size_t k = 1;
    for (size_t i = 0; i < counted->n; i++) {
        while (k + 1 < counted->corners && t[k] < counted->t[i])
            k++;
        const double share = (counted->t[i] - t[k - 1]) / (t[k] - t[k - 1]);
        out[i] = v[k - 1] + fmin(share, 1) * (v[k] - v[k - 1]);
    }
}
