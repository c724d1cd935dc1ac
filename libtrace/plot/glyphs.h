/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Characters as a layout sees them: one after another, cleaned, and how wide they will be. */
#ifndef SHOT_PLOT_GLYPHS_H
#define SHOT_PLOT_GLYPHS_H

#include <stdbool.h>
#include <stdint.h>

#include <shottrace/trace/text.h>

/* How long texts and lengths on the page are.  In a terminal all text is of one size, and a
 * character takes whole cells. */
typedef struct plot_type {
    double title, text, small; /* sizes of fonts, page units */
    double line;               /* from one line of text to the next */
    bool cells;                /* characters stand in cells of line/2 by line */
} plot_type;

/* The next character of a UTF-8 text that ends with NUL; U+FFFD for each byte that is none.
 * Overlong forms and surrogates are none (RFC 3629). */
uint32_t plot_glyphs_next(const char **text);

/* Append a character as UTF-8. */
shot_status plot_glyphs_add(shot_text *out, uint32_t character);

/* Append the text without control characters and without the marks of writing direction U+200E,
 * U+200F, U+202A..E, U+2066..9 and U+061C, and with U+FFFD for what is no UTF-8 and for the
 * noncharacters U+FFFE and U+FFFF, which XML forbids. Line breaks and tabs become spaces. */
shot_status plot_glyphs_clean(const char *words, shot_text *out);

/* The width of a text of that size, an estimate that does not depend on the fonts of the machine,
 * so that the same log gives the same picture everywhere.  It is that of a wide typeface. */
double plot_glyphs_width(const plot_type *type, const char *words, double size, bool bold);
/* That of one character. */
double plot_glyphs_width_of(const plot_type *type, uint32_t character, double size, bool bold);

/* How many cells of a terminal it takes. */
size_t plot_glyphs_cells(const char *words);
/* 0, 1 or 2 cells for a character. */
int plot_glyphs_cells_of(uint32_t character);

/* Append as much of `words` as fits into `room`, with an ellipsis where something was left out. */
shot_status plot_glyphs_fit(const plot_type *type, const char *words, double size, bool bold,
                            double room, shot_text *out);
/* The same of a name, which keeps its beginning and its end: those of one person's shots differ in
 * what stands last. */
shot_status plot_glyphs_fit_name(const plot_type *type, const char *name, double size, bool bold,
                                 double room, shot_text *out);

#endif
