/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cells as numbers. */
#include "stream/cell_text.h"

#include <string.h>

#include <shottrace/trace/number_text.h>

static bool is_blank(char c) {
    return c == ' ' || c == '\t';
}

shot_cell shot_cell_trimmed(const shot_cell *cell) {
    shot_cell c = *cell;
    while (c.length > 0 && is_blank(*c.text)) {
        c.text++;
        c.length--;
    }
    while (c.length > 0 && is_blank(c.text[c.length - 1]))
        c.length--;
    return c;
}

shot_status shot_cell_read_number(const shot_cell *cell, shot_text *scratch,
                                  shot_cell_number *out) {
    shot_cell c = shot_cell_trimmed(cell);
    *out = (shot_cell_number){.text = c.text, .end = c.text + c.length};
    const char *comma = c.length > 0 ? memchr(c.text, ',', c.length) : NULL;
    if (comma != NULL) {
        shot_text_clear(scratch);
        SHOT_TRY(shot_text_add_bytes(scratch, c.text, c.length));
        scratch->bytes[comma - c.text] = '.';
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
