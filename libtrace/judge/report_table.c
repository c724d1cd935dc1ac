/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report for machines. */
#include "judge/report_parts.h"

#include <math.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quoting.h>

#include "judge/measure_parts.h"
#include "judge/words.h"

shot_status shot_report_write_long_header(shot_text *text) {
    return shot_text_add(text, "shot,measure,value,unit,low,high,level,note\n");
}

/* Figures are estimates: further digits than those of marks would mean nothing.  An instant of the
 * calendar needs all that it has. */
enum { DIGITS = 6 };
static const double calendar = 1e8;

static shot_status add_figure(shot_text *text, double value) {
    if (value >= calendar)
        return shot_text_add_number(text, value);
    char figure[SHOT_NUMBER_ROOM];
    return shot_text_add_bytes(text, figure, shot_number_write_digits(figure, value, DIGITS));
}

static shot_status add_cell(shot_text *text, double value) {
    SHOT_TRY(shot_text_add(text, ","));
    return add_figure(text, value);
}

/* What there is to say of a measure, or of its shot; NULL for nothing. */
static const char *note_of(const shot_table *shot, const shot_measure *one) {
    return one != NULL && one->note != NULL ? one->note : shot_measure_lack(shot);
}

static shot_status add_long_row(const shot_table *shot, const shot_measure *one, shot_text *text) {
    SHOT_TRY(shot_text_add_csv(text, shot->head.name));
    SHOT_TRY(shot_text_add_format(text, ",%s", one->kind->name));
    SHOT_TRY(add_cell(text, one->value));
    SHOT_TRY(shot_text_add_format(text, ",%s", one->kind->unit));
    SHOT_TRY(add_cell(text, one->low));
    SHOT_TRY(add_cell(text, one->high));
    SHOT_TRY(add_cell(text, one->level));
    SHOT_TRY(shot_text_add(text, ","));
    SHOT_TRY(shot_text_add_csv(text, note_of(shot, one)));
    return shot_text_add(text, "\n");
}

shot_status shot_report_write_long(const shot_table *shot, const shot_measure_list *measures,
                                   shot_text *text) {
    for (size_t i = 0; i < measures->count; i++)
        SHOT_TRY(add_long_row(shot, &measures->items[i], text));
    return SHOT_OK;
}

/* ---- a row a shot ---- */

static shot_status add_heads(shot_text *text, const shot_measure_kind *kind, bool intervals) {
    static const char *const ends[] = {"", ".low", ".high"};
    for (size_t i = 0; i < (intervals ? 3 : 1); i++) {
        SHOT_TRY(shot_text_add_format(text, ",%s", kind->name));
        SHOT_TRY(shot_words_label(text, ends[i], kind->unit));
    }
    return SHOT_OK;
}

shot_status shot_report_write_wide_header(const shot_report_wide *wide, shot_text *text) {
    size_t count;
    const shot_measure_kind *kinds = shot_measure_kinds(&count);
    SHOT_TRY(shot_text_add(text, "shot"));
    for (size_t i = 0; i < count; i++)
        SHOT_TRY(add_heads(text, &kinds[i], wide->intervals));
    for (size_t i = 0; i < wide->keys->count; i++) {
        SHOT_TRY(shot_text_add(text, ","));
        SHOT_TRY(shot_text_add_csv(text, wide->keys->items[i]));
    }
    return shot_text_add(text, ",note\n");
}

static shot_status add_cells(shot_text *text, const shot_measure *one, bool intervals) {
    SHOT_TRY(add_cell(text, one != NULL ? one->value : NAN));
    if (!intervals)
        return SHOT_OK;
    SHOT_TRY(add_cell(text, one != NULL ? one->low : NAN));
    return add_cell(text, one != NULL ? one->high : NAN);
}

/* "cut short; MEASURE: what is said of it; ..." */
static shot_status add_notes(shot_text *text, const shot_table *shot,
                             const shot_measure_list *measures, bool all) {
    shot_text notes = {0};
    const char *lack = shot_measure_lack(shot);
    shot_status status = lack != NULL ? shot_text_add(&notes, lack) : SHOT_OK;
    for (size_t i = 0; all && i < measures->count && status == SHOT_OK; i++) {
        const shot_measure *one = &measures->items[i];
        if (one->note != NULL)
            status = shot_text_add_format(&notes, "%s%s: %s", notes.length > 0 ? "; " : "",
                                          one->kind->name, one->note);
    }
    if (status == SHOT_OK)
        status = shot_text_add_csv(text, notes.bytes);
    shot_text_free(&notes);
    return status;
}

shot_status shot_report_write_wide(const shot_table *shot, const shot_report_wide *wide,
                                   const shot_measure_list *measures, shot_text *text) {
    size_t count;
    const shot_measure_kind *kinds = shot_measure_kinds(&count);
    SHOT_TRY(shot_text_add_csv(text, shot->head.name));
    for (size_t i = 0; i < count; i++)
        SHOT_TRY(add_cells(text, shot_measure_list_find(measures, kinds[i].name), wide->intervals));
    for (size_t i = 0; i < wide->keys->count; i++) {
        SHOT_TRY(shot_text_add(text, ","));
        SHOT_TRY(shot_text_add_csv(text, shot_head_value(&shot->head, wide->keys->items[i])));
    }
    SHOT_TRY(shot_text_add(text, ","));
    SHOT_TRY(add_notes(text, shot, measures, wide->intervals));
    return shot_text_add(text, "\n");
}

/* ---- what the measures are ---- */

static shot_status add_kind(shot_text *text, const shot_measure_kind *kind) {
    static const char *const groups[] = {"course", "pressure", "wanted",  "flow",
                                         "cup",    "model",    "findings"};
    shot_text label = {0};
    SHOT_TRY(shot_text_add_format(text, "%s,", kind->name));
    SHOT_TRY(shot_words_label(text, kind->name, kind->unit));
    SHOT_TRY(shot_text_add_format(text, ",%s,", kind->unit));
    shot_status status = shot_measure_kind_add_label(kind, &label);
    if (status == SHOT_OK)
        status = shot_text_add_csv(text, label.bytes);
    shot_text_free(&label);
    SHOT_TRY(status);
    SHOT_TRY(shot_text_add_format(text, ",%s,", groups[kind->group]));
    SHOT_TRY(shot_text_add_csv(text, kind->meaning));
    return shot_text_add(text, "\n");
}

shot_status shot_report_write_codebook(shot_text *text) {
    size_t count;
    const shot_measure_kind *kinds = shot_measure_kinds(&count);
    SHOT_TRY(shot_text_add(text, "measure,column,unit,label,group,meaning\n"));
    for (size_t i = 0; i < count; i++)
        SHOT_TRY(add_kind(text, &kinds[i]));
    return SHOT_OK;
}

/* ---- JSON ---- */

static shot_status add_member(shot_text *text, const char *name, double value) {
    if (!isfinite(value))
        return SHOT_OK;
    SHOT_TRY(shot_text_add_format(text, ",\"%s\":", name));
    return add_figure(text, value);
}

static shot_status add_object(const shot_table *shot, const shot_measure *one, shot_text *text) {
    SHOT_TRY(shot_text_add(text, "{\"shot\":"));
    SHOT_TRY(shot_text_add_json(text, shot->head.name));
    SHOT_TRY(shot_text_add_format(text, ",\"measure\":\"%s\"", one->kind->name));
    SHOT_TRY(add_member(text, "value", one->value));
    SHOT_TRY(shot_text_add_format(text, ",\"unit\":\"%s\"", one->kind->unit));
    SHOT_TRY(add_member(text, "low", one->low));
    SHOT_TRY(add_member(text, "high", one->high));
    SHOT_TRY(add_member(text, "level", one->level));
    const char *note = note_of(shot, one);
    if (note != NULL) {
        SHOT_TRY(shot_text_add(text, ",\"note\":"));
        SHOT_TRY(shot_text_add_json(text, note));
    }
    return shot_text_add(text, "}\n");
}

shot_status shot_report_write_json(const shot_table *shot, const shot_measure_list *measures,
                                   shot_text *text) {
    for (size_t i = 0; i < measures->count; i++)
        SHOT_TRY(add_object(shot, &measures->items[i], text));
    return SHOT_OK;
}
