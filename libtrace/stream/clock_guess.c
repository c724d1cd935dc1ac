/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What clock a log has, from its first readings. */
#include <math.h>
#include <stdlib.h>
#include <strings.h>

#include <shottrace/signal/sample_quantile.h>
#include <shottrace/trace/number_text.h>

#include "stream/clock_text.h"

/* The form of most readings, as a few may be broken; UNKNOWN, and the first of those that are no
 * clock, if most are none. */
static shot_clock_form common_form(const shot_cell *texts, size_t count, const shot_cell **odd) {
    size_t counts[SHOT_CLOCK_DATE + 1] = {0};
    *odd = NULL;
    for (size_t i = 0; i < count; i++) {
        if (shot_cell_trimmed(&texts[i]).length == 0)
            continue;
        shot_clock_form form = shot_clock_form_of(texts[i].text, texts[i].text + texts[i].length);
        counts[form]++;
        if (form == SHOT_CLOCK_UNKNOWN && *odd == NULL)
            *odd = &texts[i];
    }
    shot_clock_form common = SHOT_CLOCK_NUMBER;
    for (int form = SHOT_CLOCK_NUMBER; form <= SHOT_CLOCK_DATE; form++)
        common = counts[form] > counts[common] ? (shot_clock_form)form : common;
    return counts[common] >= counts[SHOT_CLOCK_UNKNOWN] ? common : SHOT_CLOCK_UNKNOWN;
}

/* The first reading and the median of the steps that rise; 0 if none does. */
static shot_status median_step(const shot_cell *texts, size_t count, double *first,
                               double *median) {
    double *steps = malloc((count + 1) * sizeof *steps);
    if (steps == NULL)
        return SHOT_ERR_MEMORY;
    size_t rising = 0;
    bool begun = false;
    shot_decimal before = {{0}}, now;
    for (size_t i = 0; i < count; i++) {
        shot_clock plain = {.form = SHOT_CLOCK_NUMBER, .factor = 1};
        shot_clock_leap leap;
        if (!shot_clock_read(&plain, texts[i].text, texts[i].text + texts[i].length, &now, &leap))
            continue;
        shot_decimal step = now;
        if (begun && shot_decimal_subtract(&step, &before) == SHOT_OK &&
            shot_decimal_value(&step) > 0)
            steps[rising++] = shot_decimal_value(&step);
        if (!begun)
            *first = shot_decimal_value(&now);
        begun = true;
        before = now;
    }
    shot_sample_quantile_sort(steps, rising);
    *median = rising > 0 ? steps[rising / 2] : 0;
    free(steps);
    return SHOT_OK;
}

/* Units of a number without one, and the power of ten of each. */
static const struct {
    const char *name;
    double seconds;
} scales[] = {{"s", 1}, {"ms", 1e-3}, {"us", 1e-6}, {"ns", 1e-9}};
enum { SCALES = 4 };

/* Common practice, no source: loggers of shots take between 0.4 and 2500 readings a second (most
 * 5 to 50), so of a step of 100 only ms make sense; a hand reads a gauge every 10 s at least, and
 * does not do so for more than 90 s; and a first reading between 2001-09-09 and 2103-02-04 is an
 * epoch. */
static const double slowest_step = 2.5, slowest_hand = 10, longest_hand = 90;
static const double epoch_from = 1e9, epoch_to = 4.2e9;

/* A date and time as spreadsheets count it: days from 1899-12-30 (ISO/IEC 29500-1:2016, 18.17.4.1,
 * the 1900 date base), of which this one is 1970-01-01. */
enum { DAY = 86400, DAY_OF_EPOCH = 25569 };

/* A reading of such a date at a pace that, in seconds, no logger of shots has. */
static bool is_serial_date(double first, double step) {
    static const double fastest_step = 4e-4;
    const double date = (first - DAY_OF_EPOCH) * DAY;
    return date >= epoch_from && date < epoch_to && step < fastest_step &&
           step * DAY >= fastest_step && step * DAY <= 4 * slowest_step;
}

static shot_status guess_unit(const shot_cell *texts, size_t count, shot_clock *clock,
                              shot_text *reasons) {
    double first = 0, step = 0;
    SHOT_TRY(median_step(texts, count, &first, &step));
    if (is_serial_date(first, step)) {
        shot_clock_set(clock, "s");
        clock->factor = DAY;
        clock->zero = -(int64_t)DAY_OF_EPOCH * DAY;
        return shot_text_add_format(reasons,
                                    "clock: days as a spreadsheet counts them, as %.17g would be "
                                    "a date then and its usual step is %.6g\n",
                                    first, step);
    }
    for (int i = 0; i < SCALES; i++) {
        double start = first * scales[i].seconds;
        if (start >= epoch_from && start < epoch_to &&
            step * scales[i].seconds <= 4 * slowest_step) {
            shot_clock_set(clock, scales[i].name);
            return shot_text_add_format(reasons,
                                        "clock: epoch in %s, as %.17g would be a date then\n",
                                        scales[i].name, first);
        }
    }
    /* So few rows are no shot at the pace of a fast logger: a hand wrote them down. */
    const bool few = count < SHOT_CLOCK_READINGS;
    int i = 0;
    while (i < SCALES - 1 && step * scales[i].seconds > (few ? slowest_hand : slowest_step))
        i++;
    shot_clock_set(clock, scales[i].name);
    clock->doubtful = !few && i == 1 && step * (double)(count - 1) <= longest_hand;
    if (step == 0)
        return shot_text_add(reasons, "clock: s, as nothing says otherwise\n");
    return shot_text_add_format(reasons, "clock: %s, as its usual step is %.6g%s\n", scales[i].name,
                                step, few && step > slowest_step ? " in so few rows" : "");
}

/* Of clocks with colons: as many parts as most readings have. */
static const char *parts_of(const shot_cell *texts, size_t count) {
    size_t two = 0, three = 0, halves = 0;
    for (size_t i = 0; i < count; i++) {
        size_t colons = 0;
        for (size_t c = 0; c < texts[i].length; c++)
            colons += texts[i].text[c] == ':';
        two += colons == 1;
        three += colons == 2;
        const shot_cell cell = shot_cell_trimmed(&texts[i]);
        halves += cell.length > 0 && (cell.text[cell.length - 1] | 0x20) == 'm';
    }
    if (2 * halves > count)
        return "a time of day, AM and PM, as it has colons";
    return two > three ? "minutes and seconds, as it has one colon"
                       : "hours, minutes and seconds, as it has two colons";
}

shot_status shot_clock_guess(const shot_cell *texts, size_t count, const char *unit,
                             shot_clock *clock, shot_text *reasons, shot_error *error) {
    const shot_cell *odd;
    clock->factor = 1;
    clock->form = common_form(texts, count, &odd);
    if (clock->form == SHOT_CLOCK_UNKNOWN)
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "the time is '%.*s', which is no clock that is known; say what it is "
                         "with --clock, or name the column of time with --map time=COLUMN",
                         (int)(odd->length > 40 ? 40 : odd->length), odd->text);
    if (clock->form == SHOT_CLOCK_DAY && strcasecmp(unit, "hh:mm") == 0) {
        clock->hours_minutes = true;
        return shot_text_add(reasons, "clock: hours and minutes, as the header says\n");
    }
    if (clock->form == SHOT_CLOCK_DAY)
        return shot_text_add_format(reasons, "clock: %s\n", parts_of(texts, count));
    if (clock->form == SHOT_CLOCK_DATE)
        return shot_text_add(reasons, "clock: date and time of day\n");
    clock->form = SHOT_CLOCK_NUMBER;
    if (*unit == '\0')
        return guess_unit(texts, count, clock, reasons);
    if (!shot_clock_set(clock, unit) || clock->form != SHOT_CLOCK_NUMBER)
        return shot_fail(error, SHOT_ERR_UNIT, "time cannot be in '%s'; it is measured in s", unit);
    return shot_text_add_format(reasons, "clock: %s, as the header says\n", unit);
}
