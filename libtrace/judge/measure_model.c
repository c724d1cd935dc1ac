/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures that no sensor shows: they rest on a model with an assumed figure, and their low and
 * high are what the ends of its assumed range give.  docs/measures.md, "By a model". */
#include "judge/measure_parts.h"

#include <math.h>

typedef struct range {
    double low, middle, high;
} range;

/* All of these are common practice, no source. */
static const range uptake = {0.85, 1.1, 1.4};  /* ml a g of dry coffee, before it drips */
static const range above = {5, 16, 32};        /* ml between screen and bed */
static const range soluble = {16, 20, 25};     /* % of the dose that this brewing can dissolve */
static const range washing = {0.6, 0.85, 1.2}; /* beverage in doses that washes out 63 % of it */

/* ---- wet through ---- */

/* When so much water had entered; NaN if it never did. */
static double time_of_water(const shot_view *view, double wanted) {
    const double *flow = view->water;
    double water = 0, last = NAN, last_flow = NAN;
    for (size_t i = 0; flow != NULL && i < view->rows; i++) {
        if (isnan(flow[i]) || view->time[i] < view->water_in)
            continue;
        double mean = (flow[i] + last_flow) / 2, more = (view->time[i] - last) * mean;
        if (more > 0 && water + more >= wanted)
            return last + (wanted - water) / mean;
        water += isnan(more) ? 0 : more;
        last = view->time[i];
        last_flow = flow[i];
    }
    return NAN;
}

static shot_status add_wet_through(const shot_view *view, double dose, shot_measure_list *out) {
    const shot_mark *drip = shot_mark_list_last(&view->shot->marks, "first-drip");
    double latest = drip == NULL                ? INFINITY
                    : isfinite(drip->from_high) ? drip->from_high
                                                : drip->from;
    double low = time_of_water(view, uptake.low * dose + above.low);
    double middle = time_of_water(view, uptake.middle * dose + above.middle);
    double high = time_of_water(view, uptake.high * dose + above.high);
    if (isnan(low) || isnan(view->water_in))
        return SHOT_OK;
    /* nothing drips from a bed that is dry below: the first drop ends the range */
    high = isnan(high) ? latest : fmin(high, latest);
    middle = isnan(middle) || middle > high ? high : middle;
    if (!isfinite(high) || low > high)
        return SHOT_OK;
    return shot_measure_list_add(out, "model.wet-through", middle - view->water_in,
                                 low - view->water_in, high - view->water_in,
                                 "assumes that the bed takes 0.85 to 1.4 ml a g and 5 to 32 ml "
                                 "stand above it; not after the first drop");
}

/* ---- solids ---- */

/* Share of what can dissolve that has left with `mass` of beverage: each part of it carries away
 * the same share of what is left. */
static double washed(double mass, double dose, double doses) {
    return 1 - exp(-mass / (doses * dose));
}

static shot_status add_yield(double dose, double mass, shot_measure_list *out) {
    return shot_measure_list_add(
        out, "model.yield", soluble.middle * washed(mass, dose, washing.middle),
        soluble.low * washed(mass, dose, washing.high),
        soluble.high * washed(mass, dose, washing.low),
        "assumes that 16 to 25 % can dissolve, and 0.6 to 1.2 doses of beverage wash out 63 % "
        "of it; measure dissolved solids to know");
}

/* Beverage that had left the spout when preinfusion ended; the scale shows it later by its lag. */
static shot_status find_early_mass(const shot_view *view, double *out) {
    const shot_mark *preinfusion = shot_mark_list_last(&view->shot->marks, "preinfusion");
    const double *weight = view->cup.weight;
    double lag;
    *out = NAN;
    if (preinfusion == NULL || weight == NULL || isnan(preinfusion->to))
        return SHOT_OK;
    SHOT_TRY(shot_head_quantity(&view->shot->head, "scale.lag", "s", &lag));
    /* half a second around that moment */
    const double end = preinfusion->to + (isnan(lag) ? 0 : lag) + 0.25;
    for (size_t i = view->rows; i-- > 0 && isnan(*out);)
        if (view->time[i] <= end && !isnan(weight[i]))
            *out = fmax(0, shot_view_half_second(view, weight, i));
    return SHOT_OK;
}

/* The least that can be expected is a beverage of one strength throughout. */
static shot_status add_early_solids(const shot_view *view, double dose, double mass, double solids,
                                    shot_measure_list *out) {
    double early;
    SHOT_TRY(find_early_mass(view, &early));
    const range *k = &washing;
    return shot_measure_list_add(
        out, "model.early-solids",
        solids * washed(early, dose, k->middle) / washed(mass, dose, k->middle),
        solids * early / mass, solids * washed(early, dose, k->low) / washed(mass, dose, k->low),
        "of the measured solids; assumes a strength between the same throughout and one of which "
        "0.6 doses of beverage wash out 63 %");
}

static double value_of(const shot_measure_list *list, const char *name) {
    const shot_measure *one = shot_measure_list_find(list, name);
    return one != NULL ? one->value : NAN;
}

shot_status shot_measure_model(const shot_view *view, shot_measure_list *out) {
    double dose = value_of(out, "dose"), mass = value_of(out, "beverage.mass");
    double tds = value_of(out, "tds");
    if (!(dose > 0))
        return SHOT_OK;
    SHOT_TRY(add_wet_through(view, dose, out));
    if (!(mass > 0))
        return SHOT_OK;
    return isnan(tds) ? add_yield(dose, mass, out)
                      : add_early_solids(view, dose, mass, mass * tds / 100, out);
}
