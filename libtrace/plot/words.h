/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands on a picture in words: titles, lines below them, findings. */
#ifndef SHOT_PLOT_WORDS_H
#define SHOT_PLOT_WORDS_H

#include <shottrace/trace/table_list.h>
#include <shottrace/trace/text.h>

#include "plot/axis.h"

/* A figure to three digits, with its unit as people read it. */
shot_status plot_words_add_figure(shot_text *text, double value, const char *unit);

/* The value of a mark with its unit, in no finer steps than its instrument shows. */
shot_status plot_words_add_value(const shot_mark *mark, shot_text *text);
/* "8.31 to 8.49": as many decimals as tell the two apart. */
shot_status plot_words_add_range(shot_text *text, double low, double high);

/* "Shot quay-017" is the name itself; a bare number becomes "Shot 3". */
shot_status plot_words_add_title(const shot_head *head, shot_text *text);
/* "24 shots", or "1 shot". */
shot_status plot_words_add_count(shot_text *text, size_t shots);
/* The same of these; "2 averages" where all of them are some. */
shot_status plot_words_add_count_of(const shot_table_list *shots, shot_text *text);
/* What is known about the shot, "dose 18.2 g · grind 4". */
shot_status plot_words_add_metadata(const shot_head *head, shot_text *text);
/* How the data were made, "shot-read | shot-clean --zero pressure"; nothing without a
 * history.  Times of a log whose clock did not start near 0 are told from there. */
shot_status plot_words_add_history(const shot_head *head, shot_text *text);
/* The same for all shots of a picture: the history of the first, and how many have another. */
shot_status plot_words_add_histories(const shot_table_list *shots, shot_text *text);

/* "time s", in the unit of the labels. */
shot_status plot_words_add_time_name(const plot_axis *axis, shot_text *text);

/* A finding in a sentence, "surge at 20.4 s (20.2 to 20.6) to 22.2 s: 23.4 %". */
shot_status plot_words_add_mark(const shot_mark *mark, shot_text *text);

#endif
