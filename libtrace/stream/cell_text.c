/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cells as numbers. */
#include "stream/cell_text.h"

#include <string.h>

#include <shottrace/trace/number_text.h>

#include "ascii.h"

shot_cell shot_cell_trimmed(const shot_cell *cell) {
    shot_cell c = *cell;
    while (c.length > 0 && ascii_is_blank(*c.text)) {
        c.text++;
        c.length--;
    }
    while (c.length > 0 && ascii_is_blank(c.text[c.length - 1]))
        c.length--;
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
