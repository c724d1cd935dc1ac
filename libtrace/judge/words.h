/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers as a person wants them: as many digits as are known, and columns that line up. */
#ifndef SHOT_JUDGE_WORDS_H
#define SHOT_JUDGE_WORDS_H

#include <shottrace/trace/text.h>

/* Decimals that show two digits of a scatter; where it is not > 0, three digits of the value. */
int shot_words_decimals(double scatter, double value);

/* The value with that many decimals, whatever the locale; "-" if it is missing.  No "-0.00".
 * From ten decimals on the shortest text of the rounded value: 3.2e-14. */
shot_status shot_words_number(shot_text *text, double value, int decimals);

/* "mean ± sd", or the mean alone where there is no scatter. */
shot_status shot_words_spread(shot_text *text, double mean, double sd, int decimals);

/* "low to high". */
shot_status shot_words_range(shot_text *text, double low, double high, int decimals);

/* "p = 0.012", "p < 0.001", "p -" if it is missing: two digits, one where it is large. */
shot_status shot_words_p(shot_text *text, double p);

/* "label [unit]", or the label alone for a pure number. */
shot_status shot_words_label(shot_text *text, const char *label, const char *unit);

/* "1 shot", "7 shots". */
shot_status shot_words_count(shot_text *text, size_t count, const char *singular);

/* Spaces until what stands behind byte `start` is `width` columns wide (UTF-8), and at least two.
 */
shot_status shot_words_pad(shot_text *text, size_t start, size_t width);

/* Keeps what stands before and behind it in one line of a paragraph. */
#define SHOT_WORDS_TIE "\xc2\xa0"

/* A time in a sentence, "9.2 s": no tenths where its interval is wider than 1 s; NaN is an end that
 * is not known.  `space` stands before the unit: " ", or SHOT_WORDS_TIE. */
shot_status shot_words_seconds(shot_text *text, double value, double low, double high,
                               const char *space);

/* Decimals of the figures of a comparison, whose means add up to `size` without their signs: two
 * digits of the scatter, but one where numbers are so small that a line of 80 columns would not
 * hold them. */
int shot_words_contrast_decimals(double scatter, double size);

/* The first `columns` characters of the words, or all of them. */
shot_status shot_words_cut(shot_text *text, const char *words, size_t columns);

/* What a terminal would obey of the page behind byte `start` becomes '?' (trace/plain_text.h). */
void shot_words_make_plain(shot_text *text, size_t start);

/* Columns of a page. */
enum { SHOT_WORDS_WIDTH = 80 };

/* Words as a paragraph of a page: its first line is indented by `indent`, those that follow by
 * `hang`.  No line is broken at a no-break space (U+00A0), which becomes a space. */
shot_status shot_words_paragraph(shot_text *text, const char *words, size_t indent, size_t hang);

/* What a list is made of: `say` adds item `i`, or nothing where it does not belong to it. */
typedef struct shot_words_items {
    size_t count;
    shot_status (*say)(shot_text *words, const void *user, size_t i);
    const void *user;
} shot_words_items;

/* "TITLE a; b; c" as a paragraph, of those of the items that belong to the list; nothing where
 * none does.  *said (may be NULL) grows by how many they are. */
shot_status shot_words_list(shot_text *text, const char *title, shot_words_items items,
                            size_t *said, size_t indent, size_t hang);

/* The same of words that were made for it, with `status`: a failure is handed on.  Frees the words.
 */
shot_status shot_words_take_paragraph(shot_text *text, shot_text *words, shot_status status,
                                      size_t indent, size_t hang);

/* End the line: no spaces at its end. */
shot_status shot_words_end_line(shot_text *text);

#endif
