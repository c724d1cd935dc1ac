/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Steps of a meter. */
#include "detect/surge_resolved.h"

#include <math.h>

#include "detect/surge_drive.h"
#include "detect/surge_shapes.h"

/* What flows for the pressure of the second before, in the second before and in that `late` behind
 * the end; the standard errors are those of the flow. */
typedef struct rise {
    double before, after, before_se, after_se;
} rise;

static rise rise_of(const conductance_data *data, const surge *one, double late) {
    const double from = one->from, to = one->to + late;
    double se;
    rise out = {.before = surge_mean_flow(data, from - 1, from, &out.before_se),
                .after = surge_mean_flow(data, to, to + 1, &out.after_se)};
    const double eases =
        surge_mean_pressure(data, from - 1, from, &se) / surge_mean_pressure(data, to, to + 1, &se);
    out.after *= eases;
    out.after_se *= eases;
    return out;
}

/* Does a scale beside the meter show half of it or more, beyond its noise? */
static bool is_weighed(const surge_scan *scan, const surge *one) {
    if (scan->channel_count < 2 || !scan->channels[1].data->drains)
        return false;
    const rise seen = rise_of(scan->channels[1].data, one, surge_longest_drain);
    const double half = seen.before * one->loss / (1 - one->loss) / 2;
    return seen.after - seen.before > fmax(half, 2 * hypot(seen.before_se, seen.after_se));
}

/* Where noise does not carry a meter over its steps, a rise of its figures by one may be none: the
 * flow may have stood at the edge of a step.  Two are a rise (Widrow & Kollar 2008, 'Quantization
 * Noise', chapter 19: noise of half a step makes rounding linear).  A count is off by as much (JCGM
 * 100:2008, 4.3.7: a bound of one count), and its means over a second by half of it, before and
 * behind: figures that show no more have shown nothing. */
bool surge_is_resolved(const surge_scan *scan, bool running, double flow, const surge *one) {
    const conductance_data *data = scan->channels[0].data;
    const double step = data->coarse;
    if (!(step > 0))
        return true;
    if (flow * one->loss / (1 - one->loss) >= 1.5 * step) {
        const rise seen = rise_of(data, one, 0);
        if (running || !(seen.after - seen.before < step))
            return true;
    }
    return !running && is_weighed(scan, one);
}
