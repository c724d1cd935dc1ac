/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report for a person: aligned, with units, at most 80 columns. */
#include "judge/report_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/judge/advice.h>
#include <shottrace/trace/unit.h>
#include <shottrace/trace/wrap.h>

#include "judge/measure_parts.h"
#include "judge/words.h"

static const double zero_matters = 0.2; /* bar that a gauge may read where there is no pressure */

static const char *const group_titles[] = {"Course",
                                           "Pressure",
                                           "Against what was asked for",
                                           "Flow and resistance",
                                           "Cup",
                                           "By a model (docs/measures.md says which)",
                                           "Findings"};

static bool is_in(const shot_measure *one, const char *unit) {
    return strcmp(one->kind->unit, unit) == 0;
}

/* Decimals that show what is known: two digits of half the interval, or three of the value. */
static int decimals_of(const shot_measure *one) {
    double scale = fabs(one->value);
    int digits = 3;
    if (strcmp(one->kind->unit, "") == 0 && one->value == floor(one->value))
        return 0;
    if (isfinite(one->low) && one->high > one->low) {
        scale = (one->high - one->low) / 2;
        digits = 2;
    }
    if (!(scale > 0))
        return 2;
    int decimals = digits - 1 - (int)floor(log10(scale));
    /* finer than any logger's clock, scale or gauge */
    int most = is_in(one, "s") || is_in(one, "g") || is_in(one, "ml") ? 2 : 3;
    return decimals < 0 ? 0 : decimals > most ? most : decimals;
}

/* A length of time whose interval is wider than itself twice over is not known, whatever stands in
 * its middle: "0.0 s" would read as a fact. */
static bool is_uncertain(const shot_measure *one) {
    return strcmp(one->kind->unit, "s") == 0 && one->kind->group == SHOT_MEASURE_COURSE &&
           !shot_measure_is_clock(one->kind->name) && isfinite(one->low) &&
           one->high - one->low > 2 * fabs(one->value);
}

static shot_status end_line(shot_text *text) {
    while (text->bytes[text->length - 1] == ' ')
        text->bytes[--text->length] = '\0';
    return shot_text_add(text, "\n");
}

static shot_status add_range(shot_text *text, int decimals, double low, double high) {
    return isfinite(low)
               ? shot_text_add_format(text, " %.*f to %.*f", decimals, low, decimals, high)
               : SHOT_OK;
}

static shot_status add_measure(shot_text *text, const shot_measure *one) {
    int decimals = decimals_of(one);
    double value = fabs(one->value) < 0.5 * pow(10, -decimals) ? 0 : one->value; /* no "-0.00" */
    if (is_uncertain(one)) {
        SHOT_TRY(
            shot_text_add_format(text, "    %-30s %9s %-9s", one->kind->label, "uncertain", ""));
        SHOT_TRY(add_range(text, decimals, one->low, one->high));
        return shot_text_add_format(text, " %s\n", one->kind->unit);
    }
    SHOT_TRY(shot_text_add_format(text, "    %-30s %9.*f %-9s", one->kind->label, decimals, value,
                                  one->kind->unit));
    SHOT_TRY(add_range(text, decimals, one->low, one->high));
    return end_line(text);
}

/* Why the beverage is not what the scale showed at the end of the log. */
static shot_status add_scale(shot_text *text, const shot_measure_list *measures) {
    const shot_measure *mass = shot_measure_list_find(measures, "beverage.mass");
    return mass != NULL && mass->note != NULL ? shot_words_paragraph(text, mass->note, 4, 6)
                                              : SHOT_OK;
}

/* The shape of the brew in words, or why its pressure is no more than a bound. */
static shot_status add_shape(shot_text *text, const shot_measure_list *measures) {
    const shot_measure *pressure = shot_measure_list_find(measures, "brew.pressure");
    if (pressure != NULL && pressure->note != NULL)
        return shot_words_paragraph(text, pressure->note, 4, 6);
    const shot_measure *slope = shot_measure_list_find(measures, "brew.pressure.slope");
    return slope != NULL && slope->note != NULL
               ? shot_text_add_format(text, "    the brew's pressure was %s\n", slope->note)
               : SHOT_OK;
}

/* When water came stands before all lengths of the course, which count from there. */
static bool stands_first(const shot_measure *one) {
    return strcmp(one->kind->name, "preinfusion.clock") == 0;
}

/* Seconds since 1970 are for programs. */
static bool is_told(const shot_measure *one) {
    return strcmp(one->kind->name, "pulled.clock") != 0;
}

static shot_status add_lines(shot_text *text, const shot_measure_list *measures,
                             shot_measure_group group, bool first) {
    for (size_t i = 0; i < measures->count; i++) {
        const shot_measure *one = &measures->items[i];
        if (one->kind->group == group && stands_first(one) == first && is_told(one))
            SHOT_TRY(add_measure(text, one));
    }
    return SHOT_OK;
}

static shot_status add_group(shot_text *text, const shot_measure_list *measures,
                             shot_measure_group group) {
    bool any = false, interval = false;
    for (size_t i = 0; i < measures->count; i++)
        if (measures->items[i].kind->group == group && is_told(&measures->items[i])) {
            any = true;
            interval = interval || isfinite(measures->items[i].low);
        }
    if (any)
        SHOT_TRY(interval ? shot_text_add_format(text, "  %-52s %s\n", group_titles[group],
                                                 group == SHOT_MEASURE_MODEL ? "range assumed"
                                                                             : "95 % interval")
                          : shot_text_add_format(text, "  %s\n", group_titles[group]));
    SHOT_TRY(add_lines(text, measures, group, true));
    SHOT_TRY(add_lines(text, measures, group, false));
    if (group == SHOT_MEASURE_PRESSURE)
        return add_shape(text, measures);
    return group == SHOT_MEASURE_CUP ? add_scale(text, measures) : SHOT_OK;
}

/* ---- head and notes ---- */

static shot_status add_title(shot_text *text, const shot_table *shot) {
    static const char *const keys[] = {"gauge", "grind", "basket"};
    const double *time = shot_table_column(shot, "time");
    size_t rows = shot->rows.rows;
    double length = rows > 0 ? time[rows - 1] - time[0] : 0;
    SHOT_TRY(shot_text_add_format(text, "Shot %s: %zu row%s in %.1f s", shot->head.name, rows,
                                  rows == 1 ? "" : "s", length));
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        const char *value = shot_head_value(&shot->head, keys[i]);
        if (value != NULL)
            SHOT_TRY(shot_text_add_format(text, ", %s %s", keys[i], value));
    }
    const char *lack = shot->cut ? "CUT SHORT" : shot_measure_lack(shot);
    return shot_text_add_format(text, "%s%s\n", lack != NULL ? ", " : "", lack != NULL ? lack : "");
}

static bool was_segmented(const shot_head *head) {
    for (size_t i = 0; i < head->line_count; i++)
        if (head->lines[i].key != NULL && strcmp(head->lines[i].key, "history") == 0 &&
            strncmp(head->lines[i].value, "shot-segment", 12) == 0)
            return true;
    return false;
}

/* What a person looks for first in a log, and the unit in which it may come. */
static const struct sought {
    const char *channel, *unit;
} sought[] = {{"pressure", "bar"}, {"flow", "ml/s"}, {"weight", "g"}};

enum { SOUGHT = sizeof sought / sizeof *sought };

static bool may_be(const shot_channel *channel, const struct sought *one) {
    return shot_channel_kind_of(channel->name) == NULL &&
           (*channel->unit == '\0' || shot_unit_same_kind(channel->unit, one->unit));
}

/* The shot lacks the channel, and this one may be it by another name. */
static bool may_be_lacking(const shot_table *shot, const shot_channel *channel,
                           const struct sought *one) {
    return shot_table_column(shot, one->channel) == NULL && may_be(channel, one);
}

/* "flow or weight"; *first is the first of them, NULL if there is none. */
static shot_status say_lacking(shot_text *words, const shot_table *shot, const char **first) {
    for (size_t i = 0; i < SOUGHT; i++) {
        bool lacking = false;
        for (size_t c = 0; c < shot->head.channel_count; c++)
            lacking = lacking || may_be_lacking(shot, &shot->head.channels[c], &sought[i]);
        if (!lacking)
            continue;
        SHOT_TRY(shot_text_add_format(words, "%s%s", *first ? " or " : "", sought[i].channel));
        *first = *first ? *first : sought[i].channel;
    }
    return SHOT_OK;
}

/* "'P1', 'force'". */
static shot_status say_strangers(shot_text *words, const shot_table *shot) {
    const char *before = "";
    for (size_t c = 0; c < shot->head.channel_count; c++) {
        const shot_channel *channel = &shot->head.channels[c];
        bool stranger = false;
        for (size_t i = 0; i < SOUGHT; i++)
            stranger = stranger || may_be_lacking(shot, channel, &sought[i]);
        if (!stranger)
            continue;
        SHOT_TRY(shot_text_add_format(words, "%s'%s'", before, channel->name));
        before = ", ";
    }
    return SHOT_OK;
}

/* A channel by another name is none to the filters; a person sees at once which one it is.  An
 * average has columns of its own. */
static shot_status add_strangers(shot_text *text, const shot_table *shot) {
    shot_text words = {0};
    const char *lacking = NULL;
    shot_status status = shot_text_add(&words, "No channel is called ");
    if (status == SHOT_OK)
        status = say_lacking(&words, shot, &lacking);
    if (status == SHOT_OK)
        status = shot_text_add(&words, ". The log has also ");
    if (status == SHOT_OK)
        status = say_strangers(&words, shot);
    if (status == SHOT_OK)
        status = shot_text_add_format(&words,
                                      ": if one of them is it, say so, as in shot-read --map "
                                      "%s=NAME",
                                      lacking != NULL ? lacking : "");
    if (status == SHOT_OK && lacking != NULL && shot_head_value(&shot->head, "band") == NULL)
        return shot_words_take_paragraph(text, &words, status, 4, 6);
    shot_text_free(&words);
    return status;
}

/* A gauge of absolute pressure, or one whose zero is off, beyond its noise.  0.2 bar, a fiftieth of
 * nine, would not change what is tried next (common practice, no source). */
static shot_status add_zero(shot_text *text, const shot_measure_list *measures) {
    const shot_measure *zero = shot_measure_list_find(measures, "pressure.zero");
    if (zero == NULL || !(zero->low > zero_matters || zero->high < -zero_matters))
        return SHOT_OK;
    shot_text words = {0};
    const shot_status status = shot_text_add_format(
        &words,
        "The gauge reads %.2g bar before the water comes, and all pressures and resistances above "
        "are off by it: put shot-clean --zero pressure first in the pipe.",
        zero->value);
    return shot_words_take_paragraph(text, &words, status, 2, 4);
}

/* A filter that ran twice says the same twice. */
static bool is_said(const shot_head *head, size_t index) {
    for (size_t i = 0; i < index; i++)
        if (head->lines[i].key != NULL && strcmp(head->lines[i].key, "note") == 0 &&
            strcmp(head->lines[i].value, head->lines[index].value) == 0)
            return true;
    return false;
}

static shot_status add_notes(shot_text *text, const shot_table *shot,
                             const shot_measure_list *measures) {
    bool titled = false;
    for (size_t i = 0; i < shot->head.line_count; i++) {
        const shot_line *line = &shot->head.lines[i];
        if (line->key == NULL || strcmp(line->key, "note") != 0 || is_said(&shot->head, i))
            continue;
        SHOT_TRY(titled ? SHOT_OK : shot_text_add(text, "  Notes\n"));
        titled = true;
        SHOT_TRY(shot_words_paragraph(text, line->value, 4, 6));
    }
    SHOT_TRY(add_strangers(text, shot));
    SHOT_TRY(add_zero(text, measures));
    if (shot_mark_list_last(&shot->marks, "preinfusion") == NULL &&
        shot_measure_list_find(measures, "brew.time") == NULL && !was_segmented(&shot->head))
        SHOT_TRY(shot_text_add(text, "  No phases are known; put shot-find before "
                                     "shot-report in the pipe.\n"));
    return SHOT_OK;
}

/* ---- advice ---- */

static shot_status add_advice(shot_text *text, const char *sentences) {
    SHOT_TRY(shot_text_add(
        text, "  To try next, one at a time (common practice; within what the maker allows)\n"));
    for (const char *line = sentences; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        char *one = shot_text_copy_bytes(line, length);
        const shot_status status = one ? shot_words_paragraph(text, one, 4, 6) : SHOT_ERR_MEMORY;
        free(one);
        SHOT_TRY(status);
        line += length + (line[length] == '\n');
    }
    return SHOT_OK;
}

static shot_status advise(shot_text *text, const shot_measure_list *measures, size_t most) {
    shot_text sentences = {0};
    shot_status status = shot_advice_write(measures, most, &sentences);
    if (status == SHOT_OK && sentences.length > 0)
        status = add_advice(text, sentences.bytes);
    shot_text_free(&sentences);
    return status;
}

shot_status shot_report_write_page(const shot_table *shot, const shot_measure_list *measures,
                                   size_t advice, shot_text *text) {
    SHOT_TRY(add_title(text, shot));
    SHOT_TRY(shot_report_write_short(&shot->head, measures, text));
    SHOT_TRY(shot_report_write_hole(shot, text));
    for (int group = SHOT_MEASURE_COURSE; group <= SHOT_MEASURE_FINDINGS; group++)
        SHOT_TRY(add_group(text, measures, (shot_measure_group)group));
    SHOT_TRY(shot_report_write_findings(shot, text));
    SHOT_TRY(advise(text, measures, advice));
    SHOT_TRY(add_notes(text, shot, measures));
    return shot_text_add(text, "\n");
}
