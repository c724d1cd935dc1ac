/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The findings of a shot in words, for the page of the report. */
#include "judge/report_parts.h"

#include <math.h>
#include <string.h>

#include "judge/measure_parts.h"
#include "judge/words.h"

/* More knees than this make a page of their own: a pulsed pre-wetting has dozens. */
enum { MOST_KNEES = 8 };

/* Findings by the weight that they have for a person, and what their value says.  Phases stand
 * under Course already, and the logger's own notes under none. */
static const struct {
    const char *kind, *value;
} kinds[] = {{"surge", "resistance lost "},
             {"pulse", "lowest after it "},
             {"ripple", ""},
             {"knee", "slope changes by "}};

static shot_status add_interval(shot_text *words, double low, double high) {
    return isfinite(low) && isfinite(high)
               ? shot_text_add_format(words, " (%.2f to %.2f)", low, high)
               : SHOT_OK;
}

static shot_status add_value(shot_text *words, const shot_mark *mark, const char *meaning) {
    if (!isfinite(mark->value))
        return SHOT_OK;
    const char *unit = mark->unit != NULL ? mark->unit : "";
    if (strcmp(unit, "bar") == 0) { /* no gauge shows more than hundredths */
        SHOT_TRY(shot_text_add_format(words, ": %s", meaning));
        SHOT_TRY(shot_words_number(words, mark->value, 2));
        return shot_text_add(words, " bar");
    }
    SHOT_TRY(shot_text_add_format(words, ": %s%.3g %s", meaning, mark->value, unit));
    return isfinite(mark->value_low)
               ? shot_text_add_format(words, " (%.3g to %.3g)", mark->value_low, mark->value_high)
               : SHOT_OK;
}

/* What a pulse did to the puck: "; 5.3 ml, up to 3.4 bar, halved 0.9 s after it". */
static shot_status add_effect(shot_text *words, const shot_view *view, const shot_mark *pulse) {
    const shot_pulse_effect effect = shot_pulse_effect_of(view, pulse);
    const char *before = "; ";
    if (!isnan(effect.water)) {
        SHOT_TRY(shot_text_add_format(words, "%s%.1f ml of water", before, effect.water));
        before = ", ";
    }
    if (!isnan(effect.peak))
        SHOT_TRY(shot_text_add_format(words, "%sup to %.1f bar", before, effect.peak));
    return isnan(effect.halving)
               ? SHOT_OK
               : shot_text_add_format(words, ", halved %.1f s after it", effect.halving);
}

static shot_status say_finding(shot_text *words, const shot_view *view, const shot_mark *mark,
                               const char *meaning) {
    SHOT_TRY(shot_text_add_format(words, "%s at %.2f s", mark->kind, mark->from));
    SHOT_TRY(add_interval(words, mark->from_low, mark->from_high));
    if (isfinite(mark->to) && mark->to != mark->from)
        SHOT_TRY(shot_text_add_format(words, " to %.2f s", mark->to));
    SHOT_TRY(add_value(words, mark, meaning));
    if (mark->note != NULL)
        SHOT_TRY(shot_text_add_format(words, "; %s", mark->note));
    return strcmp(mark->kind, "pulse") == 0 ? add_effect(words, view, mark) : SHOT_OK;
}

static shot_status add_finding(shot_text *text, const shot_view *view, const shot_mark *mark,
                               const char *meaning) {
    shot_text words = {0};
    const shot_status status = say_finding(&words, view, mark, meaning);
    return shot_words_take_paragraph(text, &words, status, 4, 6);
}

/* A trace counts from its `# t0:`; without one, as the log does. */
static shot_status add_clock(shot_text *text, const shot_head *head) {
    const char *origin = shot_head_origin(head);
    return strcmp(origin, "0") == 0
               ? shot_text_add(text, "    on the log's clock:\n")
               : shot_text_add_format(text, "    counted from %s s of the log's clock:\n", origin);
}

static shot_status add_kind(shot_text *text, const shot_view *view, size_t kind, bool *titled) {
    const shot_mark_list *marks = &view->shot->marks;
    size_t knees = 0;
    for (size_t i = 0; i < marks->count; i++) {
        const shot_mark *one = &marks->marks[i];
        if (strcmp(kinds[kind].kind, one->kind) != 0 || !view->marks.counts[i])
            continue;
        knees += strcmp(one->kind, "knee") == 0;
        if (knees > MOST_KNEES && one->note == NULL)
            continue;
        if (!*titled)
            SHOT_TRY(add_clock(text, &view->shot->head));
        *titled = true;
        SHOT_TRY(add_finding(text, view, one, kinds[kind].value));
    }
    return knees > MOST_KNEES
               ? shot_text_add(text, "    knees beyond the first 8 stand in shot-marks\n")
               : SHOT_OK;
}

shot_status shot_report_write_findings(const shot_table *shot, shot_text *text) {
    bool titled = false;
    shot_view view;
    SHOT_TRY(shot_view_make(shot, NULL, &view));
    shot_status status = SHOT_OK;
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds && status == SHOT_OK; k++)
        status = add_kind(text, &view, k, &titled);
    shot_view_free(&view);
    return status;
}
