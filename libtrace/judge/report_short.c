/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shot in short: what a person asks first, in a few sentences above the figures. */
#include "judge/report_parts.h"

#include <math.h>
#include <string.h>

#include <shottrace/judge/measure_table.h>

#include "judge/words.h"

/* The measure, or NULL where its interval is wider than itself: without that it would read as a
 * fact. */
static const shot_measure *known(const shot_measure_list *measures, const char *name) {
    const shot_measure *one = shot_measure_list_find(measures, name);
    const bool wide = one != NULL && one->high - one->low > fabs(one->value);
    return wide && one->kind->group == SHOT_MEASURE_COURSE ? NULL : one;
}

#define TIE SHOT_WORDS_TIE

static shot_status add_seconds(shot_text *words, const shot_measure *one) {
    return shot_words_seconds(words, one->value, one->low, one->high, TIE);
}

/* "36.2 g, 2.0 times the dose; 21.6 s from the water to the end of the brew.", or as much of it as
 * is known.  The cup may have gained a little after that end. */
static shot_status say_cup(const shot_measure_list *measures, shot_text *words) {
    const shot_measure *mass = known(measures, "beverage.mass");
    const shot_measure *time = known(measures, "shot.time");
    const shot_measure *ratio = known(measures, "brew.ratio");
    if (mass == NULL)
        return SHOT_OK;
    const bool bound = mass->note != NULL && isnan(mass->low); /* the scale fell silent */
    SHOT_TRY(mass->low <= 0 ? shot_text_add(words, " Nothing on the scale")
                            : shot_text_add_format(words, "%s %.1f" TIE "g",
                                                   bound ? " At least" : "", mass->value));
    if (ratio != NULL && !(mass->low <= 0) && ratio->value >= 0.05) /* not "0.0 times" */
        SHOT_TRY(shot_text_add_format(words, ", %.1f times the dose", ratio->value));
    if (time != NULL) {
        SHOT_TRY(shot_text_add(words, "; "));
        SHOT_TRY(add_seconds(words, time));
        SHOT_TRY(shot_text_add(words, " from the water to the end of the brew"));
    }
    return shot_text_add(words, ".");
}

/* "Pre-wet for 6.2 s, brewed for 15.4 s at 8.4 bar (held)." */
static shot_status say_course(const shot_measure_list *measures, shot_text *words) {
    const shot_measure *before = known(measures, "preinfusion.time");
    const shot_measure *brew = known(measures, "brew.time");
    const shot_measure *pressure = known(measures, "brew.pressure");
    const shot_measure *slope = known(measures, "brew.pressure.slope");
    if (brew == NULL || pressure == NULL)
        return SHOT_OK;
    if (before != NULL) {
        SHOT_TRY(shot_text_add(words, " Pre-wet for "));
        SHOT_TRY(add_seconds(words, before));
    }
    SHOT_TRY(shot_text_add(words, before != NULL ? ", brewed for " : " Brewed for "));
    SHOT_TRY(add_seconds(words, brew));
    SHOT_TRY(shot_text_add_format(words, " at %.1f" TIE "bar", pressure->value));
    if (pressure->note != NULL) /* the gauge stood at the end of its scale */
        SHOT_TRY(shot_text_add(words, " or more"));
    if (slope != NULL && slope->note != NULL)
        SHOT_TRY(shot_text_add_format(words, " (%s)", slope->note));
    return shot_text_add(words, ".");
}

static shot_status say_drop(const shot_measure_list *measures, shot_text *words) {
    const shot_measure *drop = known(measures, "first-drip.time");
    const shot_measure *clock = known(measures, "first-drip.clock");
    if (drop == NULL && clock == NULL)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(words, drop != NULL ? " First drop " : " First drop at "));
    SHOT_TRY(add_seconds(words, drop != NULL ? drop : clock));
    return shot_text_add(words, drop != NULL ? " after the water." : " of the log.");
}

/* None larger than the log can show; where the pressure is not known it may have covered one. */
static shot_status say_no_channel(const shot_measure *count, shot_text *words) {
    return shot_text_add(words, count->note != NULL
                                    ? " No channel shows, but without the pressure one may be "
                                      "hidden."
                                    : " No channel shows.");
}

/* A surge is a channel that opened; found in the flow alone it may be a pressure that was raised.
 */
static shot_status say_channels(const shot_measure_list *measures, shot_text *words) {
    const shot_measure *count = known(measures, "surge.count");
    const shot_measure *loss = known(measures, "surge.loss");
    const shot_measure *first = known(measures, "surge.first");
    if (count == NULL)
        return SHOT_OK;
    if (!(count->value > 0))
        return say_no_channel(count, words);
    const bool sure = loss == NULL || loss->note == NULL;
    SHOT_TRY(count->value == 1 ? shot_text_add(words, sure ? " A channel" : " Perhaps a channel")
                               : shot_text_add_format(words, " %s%.0f channels",
                                                      sure ? "" : "Perhaps ", count->value));
    SHOT_TRY(shot_text_add(words, count->value == 1 ? " opened" : " opened, the first"));
    if (first == NULL)
        return shot_text_add(words, ".");
    SHOT_TRY(shot_text_add(words, " "));
    SHOT_TRY(add_seconds(words, first));
    return shot_text_add(words, " after the water.");
}

/* ---- an average ---- */

/* The shots of an average, as it hands on what each measured; a line that cannot be read is left
 * out. */
static shot_status take_shots(const shot_head *head, shot_measure_table *out) {
    for (size_t i = 0; i < head->line_count; i++) {
        const shot_line *line = &head->lines[i];
        if (line->key != NULL && strcmp(line->key, "measured") == 0 &&
            shot_measure_table_add_measured(out, line->value, 0, NULL) == SHOT_ERR_MEMORY)
            return SHOT_ERR_MEMORY;
    }
    return SHOT_OK;
}

/* "Surges in 2 of its 3 shots.": of those in which they were looked for. */
static shot_status say_surges_of(const shot_measure_table *shots, shot_text *words) {
    size_t column, known = 0, with = 0;
    if (!shot_measure_table_find(shots, "surge.count", &column))
        return SHOT_OK;
    for (size_t i = 0; i < shots->shot_count; i++) {
        const double count = shot_measure_table_value(shots, i, column);
        known += !isnan(count);
        with += count > 0;
    }
    if (with > 0)
        SHOT_TRY(shot_text_add_format(words, " Surges in %zu of its ", with));
    else
        SHOT_TRY(shot_text_add(words, " No surge in its "));
    SHOT_TRY(shot_words_count(words, known, "shot"));
    return shot_text_add(words, ".");
}

static shot_status say_shots(const shot_head *head, shot_text *words) {
    shot_measure_table shots = {0};
    shot_status status = take_shots(head, &shots);
    if (status == SHOT_OK)
        status = say_surges_of(&shots, words);
    shot_measure_table_free(&shots);
    return status;
}

shot_status shot_report_write_short(const shot_head *head, const shot_measure_list *measures,
                                    shot_text *text) {
    shot_text words = {0};
    SHOT_TRY(shot_text_add(&words, "In short:"));
    const size_t title = words.length;
    shot_status status = say_cup(measures, &words);
    if (status == SHOT_OK)
        status = say_course(measures, &words);
    if (status == SHOT_OK)
        status = say_drop(measures, &words);
    if (status == SHOT_OK)
        status = say_channels(measures, &words);
    if (status == SHOT_OK)
        status = say_shots(head, &words);
    if (status == SHOT_OK && words.length > title)
        status = shot_words_paragraph(text, words.bytes, 2, 4);
    shot_text_free(&words);
    return status;
}

/* ---- a hole in the log ---- */

/* A step between two rows of the shot as long as this many of the others, and this part of them all
 * together, is no slow logger's but a clock that was set, or rows that are lost (common practice,
 * no source). */
static const double many_steps = 10, much_of_all = 0.1;

/* The longest step between two rows from `from` to `to`; NaN where it is like the others. */
static double find_hole(const shot_table *shot, double from, double to, double *begins) {
    const double *time = shot->rows.column[0];
    double longest = 0, all = 0, steps = 0;
    for (size_t i = 1; i < shot->rows.rows; i++) {
        if (!(time[i] > from && time[i - 1] < to))
            continue;
        const double step = time[i] - time[i - 1];
        all += step;
        steps++;
        if (step > longest) {
            longest = step;
            *begins = time[i - 1];
        }
    }
    const double others = all - longest;
    return steps > 1 && longest > many_steps * others / (steps - 1) &&
                   longest > much_of_all * others
               ? longest
               : NAN;
}

static double end_of(const shot_table *shot) {
    const shot_mark *brew = shot_mark_list_last(&shot->marks, "brew");
    return brew != NULL && isfinite(brew->to) ? brew->to : INFINITY;
}

shot_status shot_report_write_hole(const shot_table *shot, shot_text *text) {
    const shot_mark *water = shot_mark_list_last(&shot->marks, "preinfusion");
    const double from = water != NULL ? water->from : -INFINITY;
    double begins = 0;
    const double hole = shot->rows.rows > 0 ? find_hole(shot, from, end_of(shot), &begins) : NAN;
    if (isnan(hole))
        return SHOT_OK;
    shot_text words = {0};
    const shot_status status = shot_text_add_format(
        &words,
        "The log has a hole of %.*f s, %.1f s after its first row: lengths, sums and means across "
        "it are not those of the shot.",
        hole < 10, hole, begins - shot->rows.column[0][0]);
    return shot_words_take_paragraph(text, &words, status, 2, 4);
}
