/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The clock of a foreign table. */
#include "stream/foreign_clock.h"

#include <math.h>
#include <stdlib.h>

#include "stream/foreign_date.h"

/* From about 11 days on a double's spacing is over 1e-10 s, and differences of such times show
 * it: larger clocks get an origin, as in the reader of streams. */
static const double large_clock = 1e6;

/* What the clock shows in a row that has its cells: with a date before it where there is one. */
static shot_status text_of(const shot_foreign_clock *clock, const shot_record *row,
                           shot_foreign_cells *cells, shot_cell *out) {
    SHOT_TRY(shot_foreign_cells_clock(cells, &row->cells[clock->column], out));
    if (clock->date == SHOT_NO_COLUMN || clock->date >= row->count)
        return SHOT_OK;
    SHOT_TRY(shot_foreign_date_join(&row->cells[clock->date], out, &cells->dated));
    *out = (shot_cell){cells->dated.bytes, cells->dated.length};
    return SHOT_OK;
}

static shot_status guess(shot_foreign_clock *clock, const shot_title *title,
                         const shot_held_records *rows, shot_foreign_cells *cells,
                         shot_text *reasons, shot_error *error) {
    shot_cell *readings = calloc(rows->count + 1, sizeof *readings);
    shot_text texts = {0};
    shot_status status = readings != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    for (size_t r = 0; r < rows->count && status == SHOT_OK; r++) {
        const shot_record *row = &rows->items[r];
        shot_cell text = {NULL, 0};
        if (clock->column < row->count)
            status = text_of(clock, row, cells, &text);
        if (status == SHOT_OK)
            status = shot_text_add_bytes(&texts, text.text, text.length);
        readings[r].length = text.length;
    }
    for (size_t r = 0, at = 0; r < rows->count && status == SHOT_OK; at += readings[r++].length)
        readings[r].text = texts.bytes + at;
    if (status == SHOT_OK)
        status =
            shot_clock_guess(readings, rows->count, title->unit.length > 0 ? title->unit.bytes : "",
                             &clock->clock, reasons, error);
    shot_text_free(&texts);
    free(readings);
    return status;
}

/* Where titles mean what they say, the unit of the clock is no guess. */
static bool is_literal(shot_foreign_clock *clock, const shot_foreign_columns *columns) {
    const shot_text *unit = &columns->items[clock->column].title.unit;
    return columns->literal && shot_clock_set(&clock->clock, unit->length > 0 ? unit->bytes : "s");
}

shot_status shot_foreign_clock_settle(shot_foreign_clock *clock,
                                      const shot_foreign_columns *columns,
                                      const shot_held_records *rows, shot_foreign_cells *cells,
                                      shot_text *reasons, shot_error *error) {
    const struct shot_read_settings *said = clock->settings;
    clock->clock = (shot_clock){.factor = 1};
    clock->column = columns->time;
    clock->date = said->clock == NULL ? columns->date : SHOT_NO_COLUMN;
    if (clock->column == SHOT_NO_COLUMN)
        return shot_text_add_format(reasons, "clock: %g rows a second, as --rate says\n",
                                    said->rate);
    if (said->clock == NULL && is_literal(clock, columns))
        SHOT_TRY(shot_text_add(reasons, "clock: as its title says\n"));
    else if (said->clock == NULL)
        SHOT_TRY(guess(clock, &columns->items[clock->column].title, rows, cells, reasons, error));
    else if (!shot_clock_set(&clock->clock, said->clock))
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--clock: '%s' is not known; give s, ms, us, ns, min, h, min:s, h:min, "
                         "h:min:s or date",
                         said->clock);
    if (said->wrap > 0 && !shot_clock_set_wrap(&clock->clock, said->wrap))
        return shot_fail(error, SHOT_ERR_USAGE, "--wrap: the clock of this log is no counter");
    return SHOT_OK;
}

shot_status shot_foreign_clock_read(shot_foreign_clock *clock, const shot_record *row,
                                    shot_foreign_cells *cells, shot_decimal *seconds,
                                    shot_clock_leap *leap, bool *readable, shot_error *error) {
    *leap = SHOT_LEAP_NONE;
    *readable = true;
    if (clock->column == SHOT_NO_COLUMN)
        return shot_decimal_from((double)clock->rows / clock->settings->rate, seconds);
    shot_cell text, cell = shot_cell_trimmed(&row->cells[clock->column]);
    SHOT_TRY(text_of(clock, row, cells, &text));
    *readable = shot_clock_read(&clock->clock, text.text, text.text + text.length, seconds, leap);
    if (!*readable && cell.length == 0)
        shot_fail(error, SHOT_ERR_DATA, "field %zu: the time is missing; every row needs one",
                  clock->column + 1);
    else if (!*readable && text.length == 0)
        shot_fail(
            error, SHOT_ERR_SYNTAX,
            "field %zu: the time is '%.*s', but the decimal mark is a %s; a mark of thousands "
            "has to be taken out",
            clock->column + 1, shot_foreign_cells_shown(cell), cell.text,
            cells->decimal == ',' ? "comma" : "point");
    else if (!*readable)
        shot_fail(error, SHOT_ERR_SYNTAX,
                  "field %zu: the time is '%.*s', which its clock cannot read", clock->column + 1,
                  shot_foreign_cells_shown(cell), cell.text);
    return SHOT_OK;
}

shot_status shot_foreign_clock_begin(shot_foreign_clock *clock, const shot_decimal *first,
                                     bool said) {
    double whole = floor(shot_decimal_value(first));
    bool far = fabs(whole) >= large_clock || shot_clock_needs_origin(&clock->clock);
    clock->rows = 0;
    clock->has_origin = far && !said && whole != 0;
    clock->origin = (shot_decimal){{0}};
    return clock->has_origin ? shot_decimal_from(whole, &clock->origin) : SHOT_OK;
}

shot_status shot_foreign_clock_time(const shot_foreign_clock *clock, const shot_decimal *seconds,
                                    double *time) {
    shot_decimal t = *seconds;
    if (clock->has_origin)
        SHOT_TRY(shot_decimal_subtract(&t, &clock->origin));
    *time = shot_decimal_value(&t);
    return SHOT_OK;
}
