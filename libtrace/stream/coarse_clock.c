/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A clock that says whole seconds to rows that come faster. */
#include "stream/coarse_clock.h"

#include <math.h>

/* What the first rows show of rows that bear one reading. */
typedef struct groups {
    size_t count;      /* readings that differ */
    size_t first;      /* rows of the first of them, */
    size_t inner;      /* of those between the first and the last, */
    size_t most;       /* and of the one that has most */
    bool differ;       /* some rows of one reading do */
    bool whole_second; /* all readings are whole and none falls */
} groups;

static void end_group(groups *all, size_t rows, bool is_last) {
    all->first = all->count == 0 ? rows : all->first;
    all->inner += all->count > 0 && !is_last ? rows : 0;
    all->most = rows > all->most ? rows : all->most;
    all->count++;
}

static groups groups_of(const double *readings, const bool *differs, size_t count) {
    groups all = {.whole_second = count > 0};
    size_t rows = 0;
    for (size_t i = 0; i < count; i++) {
        const bool same = i > 0 && readings[i] == readings[i - 1];
        const bool falls = i > 0 && readings[i] < readings[i - 1];
        all.whole_second = all.whole_second && readings[i] == floor(readings[i]) && !falls;
        all.differ = all.differ || (same && differs[i]);
        if (i > 0 && !same) {
            end_group(&all, rows, false);
            rows = 0;
        }
        rows++;
    }
    end_group(&all, rows, true);
    return all;
}

void shot_coarse_clock_settle(shot_coarse_clock *clock, const double *readings, const bool *differs,
                              size_t count) {
    const groups all = groups_of(readings, differs, count);
    *clock = (shot_coarse_clock){.reading = NAN};
    if (!all.whole_second || all.count < 2)
        return;
    /* between the first and the last reading all rows came; without one the fullest tells least */
    const double rows =
        all.count > 2 ? (double)all.inner / (double)(all.count - 2) : (double)all.most;
    if (!(rows >= (all.differ && all.count > 2 ? 2 : 3)))
        return;
    clock->rows = rows;
    clock->lead = fmax(0, 1 - (double)all.first / rows) + 0.5 / rows;
}

void shot_coarse_clock_begin(shot_coarse_clock *clock) {
    clock->reading = NAN;
    clock->from_start = false;
}

/* A second is over; the rate is that of all seconds of which no row is missing. */
static void learn(shot_coarse_clock *clock, double reading) {
    const bool next = reading == clock->reading + 1;
    if (clock->from_start && next) {
        clock->whole++;
        clock->in += clock->of_it;
        clock->rows = (double)clock->in / (double)clock->whole;
    }
    clock->from_start = next;
}

double shot_coarse_clock_time(shot_coarse_clock *clock, double reading) {
    if (!(clock->rows > 0))
        return reading;
    const bool first = !(reading >= clock->reading), same = reading == clock->reading;
    if (!first && !same)
        learn(clock, reading);
    const double step = 1 / clock->rows, end = reading + 1;
    double time = first ? reading + clock->lead : fmax(clock->last + step, reading);
    if (!first && !same && !clock->from_start)
        time = reading + step / 2; /* rows are missing before it */
    if (!(time < end))
        time = same ? clock->last + (end - clock->last) / 2 : end - step / 2;
    clock->of_it = same ? clock->of_it + 1 : 1;
    clock->from_start = clock->from_start && !first;
    clock->lead = step / 2;
    clock->reading = reading;
    clock->last = time;
    return reading + fmin(rint(1e6 * (time - reading)), 1e6 - 1) / 1e6;
}
