/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report for a person: aligned, with units, at most 80 columns. */
#include "judge/report_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/judge/advice.h>
#include <shottrace/trace/wrap.h>

enum { WIDTH = 80 };

static const char *const group_titles[] = {"Course",
                                           "Pressure",
                                           "Against what was asked for",
                                           "Flow and resistance",
                                           "Cup",
                                           "By a model (docs/measures.md says which)",
                                           "Findings"};

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
    int most =
        strcmp(one->kind->unit, "s") == 0 ? 2 : 3; /* finer than any logger's clock or gauge */
    return decimals < 0 ? 0 : decimals > most ? most : decimals;
}

/* A length of time whose interval is wider than itself twice over is not known, whatever stands in
 * its middle: "0.0 s" would read as a fact. */
static bool is_uncertain(const shot_measure *one) {
    return strcmp(one->kind->unit, "s") == 0 && one->kind->group == SHOT_MEASURE_COURSE &&
           isfinite(one->low) && one->high - one->low > 2 * fabs(one->value);
}

static shot_status add_measure(shot_text *text, const shot_measure *one) {
    int decimals = decimals_of(one);
    double value = fabs(one->value) < 0.5 * pow(10, -decimals) ? 0 : one->value; /* no "-0.00" */
    SHOT_TRY(is_uncertain(one)
                 ? shot_text_add_format(text, "    %-30s %9s %-9s", one->kind->label, "uncertain",
                                        one->kind->unit)
                 : shot_text_add_format(text, "    %-30s %9.*f %-9s", one->kind->label, decimals,
                                        value, one->kind->unit));
    if (isfinite(one->low))
        SHOT_TRY(
            shot_text_add_format(text, " %.*f to %.*f", decimals, one->low, decimals, one->high));
    while (text->bytes[text->length - 1] == ' ')
        text->bytes[--text->length] = '\0';
    return shot_text_add(text, "\n");
}

/* The shape of the brew in words. */
static shot_status add_shape(shot_text *text, const shot_measure_list *measures) {
    const shot_measure *slope = shot_measure_list_find(measures, "brew.pressure.slope");
    return slope != NULL && slope->note != NULL
               ? shot_text_add_format(text, "    the brew's pressure was %s\n", slope->note)
               : SHOT_OK;
}

static shot_status add_group(shot_text *text, const shot_measure_list *measures,
                             shot_measure_group group) {
    bool titled = false, interval = false;
    for (size_t i = 0; i < measures->count; i++)
        if (measures->items[i].kind->group == group)
            interval = interval || isfinite(measures->items[i].low);
    for (size_t i = 0; i < measures->count; i++) {
        if (measures->items[i].kind->group != group)
            continue;
        if (!titled)
            SHOT_TRY(interval ? shot_text_add_format(text, "  %-52s %s\n", group_titles[group],
                                                     group == SHOT_MEASURE_MODEL ? "range assumed"
                                                                                 : "95 % interval")
                              : shot_text_add_format(text, "  %s\n", group_titles[group]));
        titled = true;
        SHOT_TRY(add_measure(text, &measures->items[i]));
    }
    return group == SHOT_MEASURE_PRESSURE ? add_shape(text, measures) : SHOT_OK;
}

/* ---- marks ---- */

static shot_status add_interval(shot_text *text, double low, double high) {
    return isfinite(low) && isfinite(high)
               ? shot_text_add_format(text, " (%.2f to %.2f)", low, high)
               : SHOT_OK;
}

static shot_status add_finding(shot_text *text, const shot_mark *mark) {
    shot_text words = {0};
    shot_status status = shot_text_add_format(&words, "%s at %.2f s", mark->kind, mark->from);
    if (status == SHOT_OK)
        status = add_interval(&words, mark->from_low, mark->from_high);
    if (status == SHOT_OK && isfinite(mark->to) && mark->to != mark->from)
        status = shot_text_add_format(&words, " to %.2f s", mark->to);
    if (status == SHOT_OK && isfinite(mark->value))
        status =
            shot_text_add_format(&words, ": %.3g %s", mark->value, mark->unit ? mark->unit : "");
    if (status == SHOT_OK && isfinite(mark->value) && isfinite(mark->value_low))
        status = shot_text_add_format(&words, " (%.3g to %.3g)", mark->value_low, mark->value_high);
    if (status == SHOT_OK && mark->note != NULL)
        status = shot_text_add_format(&words, "; %s", mark->note);
    if (status == SHOT_OK)
        status = shot_text_add(text, "    ");
    if (status == SHOT_OK)
        status = shot_text_add_wrapped(text, words.bytes, 4, 6, WIDTH);
    shot_text_free(&words);
    return status;
}

/* Phases stand under Course already, and the logger's own notes under none. */
static bool shown(const char *kind) {
    static const char *const kinds[] = {"knee", "surge", "pulse", "ripple"};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (strcmp(kinds[i], kind) == 0)
            return true;
    return false;
}

/* More knees than this make a page of their own: a pulsed pre-wetting has dozens. */
enum { MOST_KNEES = 8 };

static shot_status add_findings(shot_text *text, const shot_mark_list *marks) {
    size_t knees = 0;
    for (size_t i = 0; i < marks->count; i++) {
        const shot_mark *one = &marks->marks[i];
        if (!shown(one->kind) || !shot_mark_list_stands(marks, i))
            continue;
        knees += strcmp(one->kind, "knee") == 0;
        if (strcmp(one->kind, "knee") != 0 || knees <= MOST_KNEES || one->note != NULL)
            SHOT_TRY(add_finding(text, one));
    }
    if (knees > MOST_KNEES)
        SHOT_TRY(shot_text_add(text, "    knees beyond the first 8 stand in shot-marks\n"));
    return SHOT_OK;
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
    return shot_text_add(text, shot->cut ? ", CUT SHORT\n" : "\n");
}

static bool was_segmented(const shot_head *head) {
    for (size_t i = 0; i < head->line_count; i++)
        if (head->lines[i].key != NULL && strcmp(head->lines[i].key, "history") == 0 &&
            strncmp(head->lines[i].value, "shot-segment", 12) == 0)
            return true;
    return false;
}

static shot_status add_notes(shot_text *text, const shot_table *shot,
                             const shot_measure_list *measures) {
    bool titled = false;
    for (size_t i = 0; i < shot->head.line_count; i++) {
        const shot_line *line = &shot->head.lines[i];
        if (line->key == NULL || strcmp(line->key, "note") != 0)
            continue;
        SHOT_TRY(titled ? SHOT_OK : shot_text_add(text, "  Notes\n"));
        titled = true;
        SHOT_TRY(shot_text_add(text, "    "));
        SHOT_TRY(shot_text_add_wrapped(text, line->value, 4, 6, WIDTH));
    }
    if (shot_mark_list_last(&shot->marks, "preinfusion") == NULL &&
        shot_measure_list_find(measures, "brew.time") == NULL && !was_segmented(&shot->head))
        SHOT_TRY(shot_text_add(text, "  No phases are known; put shot-segment before "
                                     "shot-report in the pipe.\n"));
    return SHOT_OK;
}

/* ---- advice ---- */

static shot_status add_advice(shot_text *text, const char *sentences) {
    SHOT_TRY(shot_text_add(
        text, "  To try next (common practice; only within what the machine's maker allows)\n"));
    for (const char *line = sentences; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        char *one = shot_text_copy_bytes(line, length);
        shot_status status = one ? shot_text_add(text, "    ") : SHOT_ERR_MEMORY;
        if (status == SHOT_OK)
            status = shot_text_add_wrapped(text, one, 4, 6, WIDTH);
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
    for (int group = SHOT_MEASURE_COURSE; group <= SHOT_MEASURE_FINDINGS; group++)
        SHOT_TRY(add_group(text, measures, (shot_measure_group)group));
    SHOT_TRY(add_findings(text, &shot->marks));
    SHOT_TRY(advise(text, measures, advice));
    SHOT_TRY(add_notes(text, shot, measures));
    return shot_text_add(text, "\n");
}
