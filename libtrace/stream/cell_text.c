/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cells as numbers. */
#include "stream/cell_text.h"

#include <string.h>

#include <shottrace/trace/number_text.h>

#include "ascii.h"

/* Blanks of Unicode that spreadsheets and pages put around numbers so that no line breaks there:
 * no-break space, figure space, thin space, narrow no-break space, and the mark of byte order (The
 * Unicode Standard, 6.2). */
static const char *const wide_blanks[] = {"\xc2\xa0", "\xe2\x80\x87", "\xe2\x80\x89",
                                          "\xe2\x80\xaf", "\xef\xbb\xbf"};

/* The length of such a blank at the start of the cell, or at its end; 0 if none is there. */
static size_t wide_blank(const shot_cell *cell, bool at_end) {
    for (size_t i = 0; i < sizeof wide_blanks / sizeof *wide_blanks; i++) {
        const size_t length = strlen(wide_blanks[i]);
        if (length <= cell->length &&
            memcmp(at_end ? cell->text + cell->length - length : cell->text, wide_blanks[i],
                   length) == 0)
            return length;
    }
    return 0;
}

/* The blank at the start, or at the end. */
static size_t blank_at(const shot_cell *cell, bool at_end) {
    if (cell->length == 0)
        return 0;
    const char c = at_end ? cell->text[cell->length - 1] : *cell->text;
    return (unsigned char)c >= 0x80 ? wide_blank(cell, at_end) : ascii_is_blank(c);
}

shot_cell shot_cell_trimmed(const shot_cell *cell) {
    shot_cell c = *cell;
    size_t blank;
    while ((blank = blank_at(&c, false)) > 0) {
        c.text += blank;
        c.length -= blank;
    }
    while ((blank = blank_at(&c, true)) > 0)
        c.length -= blank;
    return c;
}

bool shot_cell_is_dashes(const shot_cell *cell) {
    size_t dashes = 0;
    while (dashes < cell->length && cell->text[dashes] == '-')
        dashes++;
    return dashes > 0 && dashes == cell->length;
}

bool shot_cell_is_date(const shot_cell *cell) {
    const shot_cell c = shot_cell_trimmed(cell);
    size_t signs = 0;
    for (size_t i = 0; i < c.length; i++) {
        const bool sign = strchr("-/.:", c.text[i]) != NULL && c.text[i] != '\0';
        signs += sign;
        if (!sign && !ascii_is_digit(c.text[i]) &&
            (i == 0 || c.text[i] == '\0' || strchr(" aApPmM", c.text[i]) == NULL))
            return false;
    }
    return signs >= 2 && ascii_is_digit(c.text[0]);
}

/* Spreadsheets of some languages write a true minus sign, U+2212 (Unicode CLDR, symbols of numbers
 * of Swedish, Norwegian, Finnish ...); the number that it stands before is copied for it. */
static shot_status plain_minus(const shot_cell *cell, shot_text *scratch, shot_cell *out) {
    static const char minus[] = "\xe2\x88\x92";
    const size_t length = sizeof minus - 1;
    *out = *cell;
    if (cell->length <= length || memcmp(cell->text, minus, length) != 0)
        return SHOT_OK;
    shot_text_clear(scratch);
    SHOT_TRY(shot_text_add(scratch, "-"));
    SHOT_TRY(shot_text_add_bytes(scratch, cell->text + length, cell->length - length));
    *out = (shot_cell){scratch->bytes, scratch->length};
    return SHOT_OK;
}

shot_status shot_cell_read_number(const shot_cell *cell, shot_text *scratch,
                                  shot_cell_number *out) {
    const shot_cell bare = shot_cell_trimmed(cell);
    shot_cell c;
    SHOT_TRY(plain_minus(&bare, scratch, &c));
    *out = (shot_cell_number){.text = c.text, .end = c.text + c.length};
    const char *comma = c.length > 0 ? memchr(c.text, ',', c.length) : NULL;
    if (comma != NULL) {
        const size_t at = (size_t)(comma - c.text);
        if (c.text == bare.text) {
            shot_text_clear(scratch);
            SHOT_TRY(shot_text_add_bytes(scratch, c.text, c.length));
        }
        scratch->bytes[at] = '.';
        out->text = scratch->bytes;
        out->end = scratch->bytes + c.length;
    }
    out->found =
        out->text < out->end && shot_number_read(out->text, out->end, &out->value) == out->end;
    if (comma != NULL)
        out->mark = ',';
    else if (out->found && memchr(c.text, '.', c.length) != NULL)
        out->mark = '.';
    return SHOT_OK;
}

bool shot_cell_may_be_thousands(const shot_cell_number *number) {
    const char *text = number->text + (*number->text == '-' || *number->text == '+');
    const ptrdiff_t before = number->end - text - 4; /* less the mark and three digits */
    if (before < 1 || before > 3 || *text == '0')
        return false;
    for (ptrdiff_t i = 0; i < before + 4; i++)
        if (i == before ? text[i] != '.' : text[i] < '0' || text[i] > '9')
            return false;
    return true;
}
