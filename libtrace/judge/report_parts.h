/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The forms of a report. */
#ifndef SHOT_JUDGE_REPORT_PARTS_H
#define SHOT_JUDGE_REPORT_PARTS_H

#include <shottrace/judge/measure.h>
#include <shottrace/trace/option.h>
#include <shottrace/trace/text.h>

/* A block of text for a person, with at most `advice` sentences on what to try next. */
shot_status shot_report_write_page(const shot_table *shot, const shot_measure_list *measures,
                                   size_t advice, shot_text *text);

/* Its first lines: what a person asks first.  Nothing where nothing of it is known. */
shot_status shot_report_write_short(const shot_head *head, const shot_measure_list *measures,
                                    shot_text *text);

/* Adds that rows are missing in the midst of the shot, if they are. */
shot_status shot_report_write_hole(const shot_table *shot, shot_text *text);

/* Its lines on single findings, the weightiest kind first. */
shot_status shot_report_write_findings(const shot_table *shot, shot_text *text);

/* Rows shot,measure,value,unit,low,high,level,note; and their header line.  Of a shot that was cut
 * short the note says so wherever it has nothing else to say. */
shot_status shot_report_write_long_header(shot_text *text);
shot_status shot_report_write_long(const shot_table *shot, const shot_measure_list *measures,
                                   shot_text *text);

/* How --wide is asked for. */
typedef struct shot_report_wide {
    const shot_texts *keys; /* metadata that have a column */
    bool intervals;         /* the ends of each measure's interval have columns behind its own, and
                               what is said of measures stands in the note */
} shot_report_wide;

/* One row a shot with a column a measure, all of them, in the order of the kinds; then one for each
 * metadata key; last a note: "cut short", or nothing. */
shot_status shot_report_write_wide_header(const shot_report_wide *wide, shot_text *text);
shot_status shot_report_write_wide(const shot_table *shot, const shot_report_wide *wide,
                                   const shot_measure_list *measures, shot_text *text);

/* One JSON object a measure and line. */
shot_status shot_report_write_json(const shot_table *shot, const shot_measure_list *measures,
                                   shot_text *text);

/* What the measures are, one row each: measure,column,unit,label,group,meaning, `column` as --wide
 * heads it. */
shot_status shot_report_write_codebook(shot_text *text);

#endif
