/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a log can show: Cramer-Rao bounds from its rates and noise (signal/detectable.h). */
#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/detectable.h>
#include <shottrace/signal/median.h>
#include <shottrace/trace/unit.h>

#include "signal/channel_delay.h"
#include "judge/check_parts.h"
#include "puck/water_counter.h"

static const double normal_95 = 1.959963984540054;
/* One false find in 20 shots, and nine of ten changes found: common practice, no source. */
static const double false_alarm = 0.05, power = 0.9;
static const double least_correlation = 0.5;
static const double rate_span = 1; /* s, over which a weight becomes a rate */

/* A channel of the shot with what is known of it. */
typedef struct view {
    const double *y; /* NULL where there is none */
    const check_channel *is;
} view;

static view view_of(const shot_table *shot, const check_channel *channels, const char *name) {
    const ptrdiff_t index = shot_head_channel(&shot->head, name);
    return index > 0 ? (view){shot->rows.column[index], &channels[index - 1]} : (view){NULL, NULL};
}

static double duration(const shot_table *shot) {
    const shot_rows *rows = &shot->rows;
    return rows->rows > 1 ? rows->column[0][rows->rows - 1] - rows->column[0][0] : 0;
}

static double factor_of(const shot_table *shot, double span) {
    return shot_detectable_factor(false_alarm, fmax(duration(shot) / span, 1), power);
}

/* ---- what the shot was ---- */

/* The median of y where `where` is over a share of its own maximum; NaN where there is none. `work`
 * has room for all rows. */
static double level_where(const double *y, const double *where, double share, size_t n,
                          double *work) {
    double most = 0;
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        most = isnan(where[i]) ? most : fmax(most, where[i]);
    for (size_t i = 0; i < n; i++)
        if (!isnan(y[i]) && where[i] > share * most && most > 0)
            work[count++] = y[i];
    return count > 0 ? shot_median(work, count) : NAN;
}

/* What flows into the cup at each sample of the weight: the slope from half a second before to half
 * a second behind; missing where there is none. */
static void weight_to_rate(const double *t, const double *w, size_t n, double *out) {
    size_t low = 0, high = 0;
    for (size_t i = 0; i < n; i++) {
        out[i] = NAN;
        if (isnan(w[i]))
            continue;
        while (low < i && (isnan(w[low]) || t[low] < t[i] - rate_span / 2))
            low++;
        high = high < i ? i : high;
        for (size_t k = high; k < n && t[k] <= t[i] + rate_span / 2; k++)
            high = isnan(w[k]) ? high : k;
        if (t[high] - t[low] > rate_span / 2)
            out[i] = (w[high] - w[low]) / (t[high] - t[low]);
    }
}

/* ---- limits ---- */

static shot_status add_knee(const shot_table *shot, size_t index, const check_channel *is,
                            double span, check_list *out) {
    const shot_channel *channel = &shot->head.channels[index];
    const double smallest = factor_of(shot, span) *
                            shot_detectable_bend(is->noise.sd, is->noise.inflation, is->rate, span);
    const double time = normal_95 * shot_detectable_bend_time(is->noise.sd, is->noise.inflation,
                                                              is->rate, span, smallest);
    char *unit;
    if (!(smallest > 0))
        return SHOT_OK;
    SHOT_TRY(shot_unit_combine(channel->unit, 1, "s", -1, &unit, NULL));
    shot_status status = check_list_add(out, channel->name, "knee.smallest", unit, smallest, NULL);
    free(unit);
    if (status == SHOT_OK)
        status = check_list_add(out, channel->name, "knee.time.error", "s", time, NULL);
    return status;
}

/* Relative error of a change of level of one channel. */
static double relative_step(const check_channel *is, double level, double span) {
    return shot_detectable_step(is->noise.sd, is->noise.inflation, is->rate, span) / level;
}

/* Relative error of the slope of a running count, whose counts are the samples. */
static shot_status count_error(const shot_table *shot, view pressure, double span, double *work,
                               double *out) {
    const double *t = shot->rows.column[0], *water = shot_table_column(shot, "water");
    const size_t n = shot->rows.rows;
    double *rates = work + n;
    shot_counted counted;
    *out = NAN;
    weight_to_rate(t, water, n, rates);
    const double rate = level_where(rates, pressure.y != NULL ? pressure.y : rates, 0.6, n, work);
    shot_status status = shot_counted_new(t, water, n, &counted);
    const double counts = fmin(rate / counted.step, (double)n / duration(shot));
    if (status == SHOT_OK)
        *out = shot_detectable_bend(counted.volume_sd, 1, counts, span) / rate;
    shot_counted_free(&counted);
    return status == SHOT_ERR_SINGULAR ? SHOT_OK : status;
}

static shot_status add_surge(const shot_table *shot, view pressure, view flow, view weight,
                             double rate, double span, double *work, check_list *out) {
    const size_t n = shot->rows.rows;
    double error = NAN;
    const char *note = "by the resistance, pressure over flow; by noise alone, a bed's own "
                       "wander hides more";
    if (pressure.y != NULL && flow.y != NULL) {
        const double p = level_where(pressure.y, pressure.y, 0.6, n, work);
        const double q = level_where(flow.y, pressure.y, 0.6, n, work);
        error = q > 0.1
                    ? hypot(relative_step(pressure.is, p, span), relative_step(flow.is, q, span))
                    : NAN;
        note = q > 0.1 ? note : "next to nothing flows";
    } else if (shot_water_is_counted(&shot->head)) {
        SHOT_TRY(count_error(shot, pressure, span, work, &error));
        note = "by the running count of the water: no flow to divide the pressure by";
    } else if (weight.y != NULL) {
        error = shot_detectable_bend(weight.is->noise.sd, weight.is->noise.inflation,
                                     weight.is->rate, span) /
                rate;
        note = "by the weight alone: no flow to divide the pressure by";
    } else {
        note = "neither flow nor weight: resistance cannot be known";
    }
    return check_list_add(out, "", "surge.smallest", "%", 100 * factor_of(shot, span) * error,
                          note);
}

static shot_status add_drip(const shot_table *shot, view weight, double rate, double span,
                            check_list *out) {
    double lag;
    if (weight.y == NULL)
        return check_list_add(out, "", "drip.time.error", "s", NAN, "no weight: no first drop");
    SHOT_TRY(shot_head_quantity(&shot->head, "scale.lag", "s", &lag));
    const double bend = shot_detectable_bend_time(weight.is->noise.sd, weight.is->noise.inflation,
                                                  weight.is->rate, span, rate);
    /* and an instant within the spacing of the samples: uniform, hence the root of 12 */
    const double error = normal_95 * hypot(bend, 1 / (weight.is->rate * sqrt(12)));
    return check_list_add(out, "", "drip.time.error", "s", error,
                          isnan(lag) ? "besides the lag of the scale, which nothing tells" : NULL);
}

static shot_status add_delay(const shot_table *shot, view flow, const double *rate,
                             check_list *out) {
    channel_delay found;
    const shot_status status =
        channel_delay_find(shot->rows.column[0], flow.y, rate, shot->rows.rows, 3, &found);
    if (status != SHOT_OK && status != SHOT_ERR_SINGULAR)
        return status;
    const bool alike = status == SHOT_OK && found.correlation >= least_correlation;
    if (alike && !isnan(found.rival)) /* which of them came out on top, and which way, is chance */
        return check_list_add(out, "", "delay.flow-weight", "s", NAN,
                              "they repeat themselves, and more than one delay fits");
    /* the beverage cannot come before the water */
    if (!alike || found.opposite || found.delay + normal_95 * found.se < 0)
        return check_list_add(out, "", "delay.flow-weight", "s", NAN,
                              "they are no copies of each other here");
    SHOT_TRY(check_list_add(out, "", "delay.flow-weight", "s", found.delay, NULL));
    check_figure *last = &out->figures[out->count - 1];
    last->low = found.delay - normal_95 * found.se;
    last->high = found.delay + normal_95 * found.se;
    return SHOT_OK;
}

static shot_status add_shot_limits(const shot_table *shot, const check_channel *channels,
                                   double span, double *work, check_list *out) {
    const size_t n = shot->rows.rows;
    const view pressure = view_of(shot, channels, "pressure"),
               flow = view_of(shot, channels, "flow"), weight = view_of(shot, channels, "weight");
    double *rates = work + n, rate = NAN;
    if (weight.y != NULL) {
        weight_to_rate(shot->rows.column[0], weight.y, n, rates);
        rate = level_where(rates, rates, 0.4, n, work);
    }
    if (weight.y != NULL && flow.y != NULL)
        SHOT_TRY(add_delay(shot, flow, rates, out));
    SHOT_TRY(add_surge(shot, pressure, flow, weight, rate, span, work, out));
    return add_drip(shot, weight, rate, span, out);
}

shot_status check_limits(const shot_table *shot, const check_channel *channels,
                         const struct check_settings *settings, check_list *out) {
    for (size_t c = 1; c < shot->head.channel_count; c++)
        SHOT_TRY(add_knee(shot, c, &channels[c - 1], settings->span, out));
    double *work = malloc((2 * shot->rows.rows + 1) * sizeof *work);
    if (work == NULL)
        return SHOT_ERR_MEMORY;
    const shot_status status = add_shot_limits(shot, channels, settings->span, work, out);
    free(work);
    return status;
}
