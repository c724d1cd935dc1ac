/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An axis: from values to places, and its ticks. */
#include "plot/axis.h"

#include <math.h>
#include <stdio.h>

/* ---- places ---- */

double plot_axis_place(const plot_axis *axis, double value) {
    /* halves, since the difference of two large numbers need not be a number */
    double part = (value / 2 - axis->low / 2) / (axis->high / 2 - axis->low / 2);
    if (axis->logarithmic)
        part = log(value / axis->low) / log(axis->high / axis->low);
    return axis->from + part * (axis->to - axis->from);
}

double plot_axis_clamp(const plot_axis *axis, double value) {
    return plot_axis_place(axis, value < axis->low    ? axis->low
                                 : value > axis->high ? axis->high
                                                      : value);
}

/* ---- ticks ---- */

/* The smallest of 1, 2, 5, 10 times a power of ten that is at least x. */
static double nice_step(double x) {
    double power = pow(10, floor(log10(x)));
    static const double steps[] = {1, 2, 5};
    for (int i = 0; i < 3; i++)
        if (x <= steps[i] * power * (1 + 1e-9))
            return steps[i] * power;
    return 10 * power;
}

/* The next smaller one of 1, 2, 2.5, 4, 5 times a power of ten. */
static double smaller_step(double step) {
    double power = pow(10, floor(log10(step) + 1e-9));
    double digit = step / power;
    double next = digit > 4.5 ? 4 : digit > 3 ? 2.5 : digit > 2.2 ? 2 : digit > 1.5 ? 1 : 0.5;
    return next * power;
}

/* An interval to show where the data give none. */
static void mend(double *low, double *high) {
    if (!isfinite(*low) || !isfinite(*high)) {
        *low = 0;
        *high = 1;
    }
    if (*low > *high) {
        double other = *low;
        *low = *high;
        *high = other;
    }
    double around = fabs(*low) > fabs(*high) ? fabs(*low) : fabs(*high);
    if (!(*high - *low > 1e-9 * around && *high - *low > 1e-290)) {
        double more = around > 1e-280 ? 0.1 * around : 1;
        *low -= more;
        *high += more;
    }
}

plot_axis plot_axis_cover(double low, double high, size_t ticks, bool loose) {
    mend(&low, &high);
    plot_axis axis = {.low = low, .high = high, .unit = 1};
    double spaces = ticks > 3 ? (double)(ticks - 1) : 2;
    axis.step = nice_step(high / spaces - low / spaces);
    for (int i = 0; i < 4 && plot_axis_ticks(&axis) < 3; i++) /* two numbers make no scale */
        axis.step = smaller_step(axis.step);
    if (!loose)
        return axis;
    double first = floor(low / axis.step + 1e-9), last = ceil(high / axis.step - 1e-9);
    if (isfinite(first * axis.step) && isfinite(last * axis.step)) {
        axis.low = first * axis.step;
        axis.high = last * axis.step;
    }
    return axis;
}

plot_axis plot_axis_cover_log(double low, double high, size_t ticks) {
    plot_axis axis = {.low = low, .high = high, .logarithmic = true, .step = 10, .unit = 1};
    if (!(low > 0) || !isfinite(low) || !isfinite(high) || !(high > low * 1.001)) {
        axis.low = low > 0 && isfinite(low) ? low / 2 : 0.1;
        axis.high = axis.low * 10;
    }
    axis.low = pow(10, floor(log10(axis.low) + 1e-9)); /* from decade to decade */
    axis.high = pow(10, ceil(log10(axis.high) - 1e-9));
    while (log10(axis.high / axis.low) / log10(axis.step) > (double)(ticks > 1 ? ticks : 2))
        axis.step *= 10;
    return axis;
}

plot_axis plot_axis_cover_time(double low, double high, size_t ticks) {
    double span = high - low, unit = span > 4 * 3600.0 ? 3600 : span > 600 ? 60 : 1;
    plot_axis axis = plot_axis_cover(low / unit, high / unit, ticks, false);
    axis.low *= unit;
    axis.high *= unit;
    axis.step *= unit;
    axis.unit = unit;
    return axis;
}

const char *plot_axis_time_unit(const plot_axis *axis) {
    return axis->unit == 3600 ? "h" : axis->unit == 60 ? "min" : "s";
}

static double first_of(const plot_axis *axis) {
    if (axis->logarithmic)
        return ceil(log(axis->low) / log(axis->step) - 1e-9);
    return ceil(axis->low / axis->step - 1e-6);
}

size_t plot_axis_ticks(const plot_axis *axis) {
    double last = axis->logarithmic ? floor(log(axis->high) / log(axis->step) + 1e-9)
                                    : floor(axis->high / axis->step + 1e-6);
    double count = last - first_of(axis) + 1;
    return count > 0 && count < 1000 ? (size_t)count : 0;
}

double plot_axis_tick(const plot_axis *axis, size_t index) {
    double number = first_of(axis) + (double)index;
    return axis->logarithmic ? pow(axis->step, number) : number * axis->step;
}

/* Powers of ten with many noughts as such. */
static shot_status add_power(shot_text *text, double value) {
    static const char *const digits[] = {
        "\xe2\x81\xb0", "\xc2\xb9",     "\xc2\xb2",     "\xc2\xb3",     "\xe2\x81\xb4",
        "\xe2\x81\xb5", "\xe2\x81\xb6", "\xe2\x81\xb7", "\xe2\x81\xb8", "\xe2\x81\xb9"};
    int power = (int)floor(log10(value) + 0.5);
    char figures[16];
    if (power >= -2 && power <= 3)
        return shot_text_add_format(text, "%.10g", value);
    SHOT_TRY(shot_text_add(text, power < 0 ? "10\xe2\x81\xbb" : "10"));
    snprintf(figures, sizeof figures, "%d", power < 0 ? -power : power);
    for (const char *c = figures; *c != '\0'; c++)
        SHOT_TRY(shot_text_add(text, digits[*c - '0']));
    return SHOT_OK;
}

/* 3 * 0.1 is not 0.3: round to the place of the step. */
shot_status plot_axis_add_label(const plot_axis *axis, double value, shot_text *text) {
    double shown = value / axis->unit, step = axis->step / axis->unit;
    if (axis->logarithmic)
        return add_power(text, shown);
    if (shown == 0)
        return shot_text_add(text, "0");
    if (shown < 0) {
        SHOT_TRY(shot_text_add(text, PLOT_MINUS));
        shown = -shown;
    }
    double most = fmax(fabs(axis->low), fabs(axis->high)) / axis->unit;
    if (most >= 1e6 || step < 1e-5)
        return shot_text_add_format(text, "%.*g", 1 + (int)ceil(log10(most / step)), shown);
    int decimals = (int)ceil(-log10(step) - 1e-9);
    double digits = step * pow(10, decimals);
    if (fabs(digits - floor(digits + 0.5)) > 1e-6)
        decimals++; /* a step of 2.5 */
    return shot_text_add_format(text, "%.*f", decimals > 0 ? decimals : 0, shown);
}
