/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A pump that gives less for a moment. */
#include "detect/surge_dip.h"

#include <math.h>

#include "detect/surge_drive.h"
#include "detect/surge_rules.h"

static const double aside = 0.1; /* s between the places that are looked at */
static const double longest = 2; /* s before it in which a fall began that is felt */
static const double per = 1;     /* s over which a fall of pressure is measured */
static const double clear = 2;   /* standard errors */

/* A mean of pressure and flow, with their standard errors. */
typedef struct drive_means {
    double pressure, pressure_se, flow, flow_se;
} drive_means;

static drive_means means_over(const conductance_data *data, double from, double to) {
    drive_means out;
    out.pressure = surge_mean_pressure(data, from, to, &out.pressure_se);
    out.flow = surge_mean_flow(data, from, to, &out.flow_se);
    return out;
}

/* In the last samples before t. */
static drive_means means_until(const conductance_data *data, double t) {
    return means_over(data, fmin(t - surge_around, surge_last_before(data, t)), t);
}

/* As fast as only a person or a program lowers it. */
static bool fell(const drive_means *before, const drive_means *after) {
    const double share = after->pressure / before->pressure;
    const double se =
        hypot(before->pressure_se / before->pressure, after->pressure_se / after->pressure);
    return -log(share) > surge_purpose + clear * se;
}

/* Flow fell by more than pressure.  No bed closes while its load falls: less was pumped, and the
 * room over the puck emptied into it. */
static bool dipped(const drive_means *before, const drive_means *low) {
    const double share = low->pressure / before->pressure;
    return (1 - surge_least_loss) * share * before->flow - low->flow >
           clear * hypot(before->flow_se, low->flow_se);
}

static bool rose(const drive_means *before, const drive_means *after) {
    return (1 - surge_least_loss) * after->flow - before->flow >
           clear * hypot(before->flow_se, after->flow_se);
}

/* Where the least flows for its pressure, from an onset on until it shows. */
static drive_means lowest(const conductance_data *data, const conductance_opening *opening) {
    const double end = opening->onset + opening->seconds + opening->gate;
    drive_means low = means_until(data, opening->onset);
    for (double at = opening->onset + aside; at < end; at += aside) {
        const drive_means one = means_until(data, at);
        if (one.flow / one.pressure < low.flow / low.pressure)
            low = one;
    }
    return low;
}

bool surge_is_end_of_dip(const conductance_data *data, const conductance_opening *opening) {
    const double end = opening->onset + opening->seconds + opening->gate;
    if (data->summed || data->blind)
        return false;
    const drive_means low = lowest(data, opening);
    const drive_means after =
        means_over(data, end, fmax(end + surge_shortly, surge_first_from(data, end)));
    for (double at = opening->onset - surge_around; at > opening->onset - longest; at -= aside) {
        const drive_means before = means_until(data, at);
        const drive_means next = means_until(data, at + per);
        if (fell(&before, &next) && dipped(&before, &low) && !rose(&before, &after))
            return true;
    }
    return false;
}
