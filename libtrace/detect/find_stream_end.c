/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the stream into the cup stops, as far as a scale tells. */
#include <math.h>

#include "detect/course.h"

static const double seconds_before = 4; /* of the stream by which its end is judged */
static const double clear = 6;          /* SD by which a stream stands out */

/* The weight gained in a second around `t`, from the means of `span` seconds on either side. */
static double rate_at(const shot_channel_view *weight, double t, double span) {
    return (shot_view_mean(weight, t, t + span) - shot_view_mean(weight, t - span, t)) / span;
}

/* The last time at which the scale gained half of what it did in the seconds before. */
void shot_find_stream_end(const shot_course *course, shot_phases *out) {
    const shot_channel_view *weight = &course->weight;
    const shot_noise *noise = &weight->noise;
    if (weight->n < 5 || isnan(out->first_drip.at))
        return;
    double span = fmax(1, 4 * noise->spacing), lag = course->input->scale_lag;
    double means = fmax(1, span / noise->spacing);
    double se = noise->sd * sqrt(2 * noise->inflation / means) / span;
    double end = weight->t[weight->n - 1] - span, stops = NAN;
    for (size_t i = shot_view_first(weight, end); i-- > 0 && weight->t[i] > out->first_drip.at;) {
        double usual = rate_at(weight, weight->t[i] - seconds_before / 2, seconds_before / 2);
        if (!(usual > clear * se) || !(rate_at(weight, weight->t[i], span) > usual / 2))
            continue;
        stops = weight->t[i];
        break;
    }
    if (!(stops < end - span)) /* the log ends in the stream */
        return;
    stops -= isnan(lag) ? 0 : lag;
    out->stream_end = (shot_instant){stops, stops - span, stops + span};
}
