/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cells as values of channels. */
#include "stream/foreign_cells.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quantity.h>

#include "stream/column_names.h"

int shot_foreign_cells_shown(shot_cell cell) {
    return cell.length > 40 ? 40 : (int)cell.length;
}

/* "9.1 bar" */
static bool has_unit(const shot_cell *bare) {
    const char *const end = bare->text + bare->length;
    double value;
    const char *unit = shot_number_read(bare->text, end, &value);
    return unit != NULL && shot_title_is_unit(unit, (size_t)(end - unit));
}

static void not_a_number(const shot_foreign_cells *cells, const shot_foreign_column *column,
                         size_t field, const shot_cell *cell, const shot_cell_number *number,
                         shot_error *error) {
    shot_cell c = shot_cell_trimmed(cell);
    int shown = shot_foreign_cells_shown(c);
    if (number->found)
        shot_fail(error, SHOT_ERR_SYNTAX, "field %zu: %s is '%.*s', but the decimal mark is a %s%s",
                  field, column->channel, shown, c.text, cells->decimal == ',' ? "comma" : "point",
                  shot_cell_may_be_thousands(number) ? "; a mark of thousands has to be taken out"
                                                     : "");
    else if (has_unit(&c))
        shot_fail(
            error, SHOT_ERR_SYNTAX,
            "field %zu: %s is '%.*s', with a unit in the field; take it out there, and say it "
            "in the title or with --unit",
            field, column->channel, shown, c.text);
    else if (memchr(c.text, '\0', c.length) != NULL)
        shot_fail(error, SHOT_ERR_SYNTAX, "field %zu: %s holds a NUL byte, and is no number", field,
                  column->channel);
    else
        shot_fail(error, SHOT_ERR_SYNTAX,
                  "field %zu: %s is '%.*s', not a number; if that means no value, say --missing "
                  "'%.*s'",
                  field, column->channel, shown, c.text, shown, c.text);
}

static shot_status out_of_range(const shot_foreign_column *column, size_t field, double value,
                                shot_error *error) {
    const shot_channel_kind *kind = column->reading.kind;
    const char *likely = shot_channel_likely_unit(kind, value);
    return shot_fail(error, SHOT_ERR_UNIT,
                     "field %zu: %s has no unit and is %g, outside %g to %g %s; say its unit with "
                     "--unit %s=%s, or --missing '%g' if that means no value",
                     field, column->channel, value, kind->low, kind->high, kind->unit,
                     column->channel, likely != NULL ? likely : "UNIT", value);
}

static bool mark_fits(shot_foreign_cells *cells, char mark) {
    if (mark == '\0')
        return true;
    if (cells->decimal == '\0')
        cells->decimal = mark;
    return mark == cells->decimal;
}

/* "inf", "-Infinity" */
static bool says_infinity(const shot_cell *cell) {
    shot_cell c = shot_cell_trimmed(cell);
    const size_t sign = c.length > 0 && (*c.text == '-' || *c.text == '+');
    return c.length - sign >= 3 && strncasecmp(c.text + sign, "inf", 3) == 0;
}

static bool is_said_missing(const shot_foreign_cells *cells, const shot_cell *cell) {
    shot_cell c = shot_cell_trimmed(cell);
    const shot_texts *said = &cells->settings->missing;
    for (size_t i = 0; i < said->count; i++)
        if (strlen(said->items[i]) == c.length && memcmp(said->items[i], c.text, c.length) == 0)
            return true;
    return false;
}

/* A number that means no value, as -999 does in some logs, however many digits it is written with.
 */
static bool is_missing_number(const shot_foreign_cells *cells, double value) {
    const shot_texts *said = &cells->settings->missing;
    for (size_t i = 0; i < said->count; i++) {
        const char *end = said->items[i] + strlen(said->items[i]);
        double number;
        if (shot_number_read(said->items[i], end, &number) == end && number == value)
            return true;
    }
    return false;
}

shot_status shot_foreign_cells_value(shot_foreign_cells *cells, const shot_foreign_column *column,
                                     size_t field, const shot_cell *cell, double *value,
                                     bool *readable, shot_error *error) {
    shot_cell_number number;
    *value = NAN;
    *readable = true;
    SHOT_TRY(shot_cell_read_number(cell, &cells->scratch, &number));
    if (!number.found || !mark_fits(cells, number.mark)) {
        *readable = shot_cell_is_missing(cell, &cells->settings->missing);
        if (!*readable)
            not_a_number(cells, column, field, cell, &number, error);
        else if (says_infinity(cell) && !is_said_missing(cells, cell))
            *value = INFINITY;
        return SHOT_OK;
    }
    if (is_missing_number(cells, number.value))
        return SHOT_OK;
    double v = number.value;
    if (column->reading.converts)
        v = shot_column_convert(&column->reading, number.text, number.end, v);
    if (!isfinite(v)) {
        *value = is_said_missing(cells, cell) ? NAN : v;
        return SHOT_OK;
    }
    *value = v;
    const shot_channel_kind *kind = column->reading.kind;
    if (column->reading.unit_assumed && (v < kind->low || v > kind->high))
        return out_of_range(column, field, v, error);
    return SHOT_OK;
}

shot_status shot_foreign_cells_clock(shot_foreign_cells *cells, const shot_cell *cell,
                                     shot_cell *out) {
    shot_cell_number number;
    *out = *cell;
    SHOT_TRY(shot_cell_read_number(cell, &cells->scratch, &number));
    if (!number.found)
        return SHOT_OK;
    const bool fits = mark_fits(cells, number.mark);
    if (fits)
        *out = (shot_cell){number.text, (size_t)(number.end - number.text)};
    else if (shot_cell_may_be_thousands(&number)) /* "1.000" ms among decimal commas */
        *out = (shot_cell){number.text, 0};
    return SHOT_OK;
}
