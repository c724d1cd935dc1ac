/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of a foreign table become values, marks, or rejected rows. */
#include "plain_format.h"
#include "stream/foreign_table_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <shottrace/trace/stage.h>

/* ---------------------------------------------------------------------------------- places --- */

void foreign_table_place(const shot_foreign_table *table, size_t line, shot_error *error) {
    if (error == NULL)
        return;
    snprintf(error->source, sizeof error->source, "%s", table->file);
    error->line = line;
}

void shot_foreign_table_explain(shot_foreign_table *table, const shot_text *reasons) {
    if (table->settings->explain)
        shot_notice_say_lines(&table->shot.notice, table->file, reasons->bytes);
}

shot_status shot_foreign_table_reject(shot_foreign_table *table, const shot_record *row,
                                      shot_error *error) {
    foreign_table_place(table, row->line, error);
    return shot_rejects_take(&table->rejects, table->header.bytes, table->header.length, row,
                             error);
}

/* ------------------------------------------------------------------------------------ rows --- */

/* Cells of a row, those behind the last column being blank. */
static bool fits_header(const shot_foreign_table *table, const shot_record *row,
                        shot_error *error) {
    bool fits = row->count >= table->columns.count;
    for (size_t i = table->columns.count; i < row->count && fits; i++)
        fits = shot_cell_trimmed(&row->cells[i]).length == 0;
    if (!fits)
        shot_fail(error, SHOT_ERR_SYNTAX, "the row has %zu field%s, the header %zu", row->count,
                  shot_plural(row->count), table->columns.count);
    return fits;
}

static bool says_next_shot(const shot_foreign_table *table, const shot_record *row) {
    if (table->columns.by == SHOT_NO_COLUMN)
        return false;
    const shot_text *last = &table->columns.items[table->columns.by].last;
    const shot_cell cell = shot_cell_trimmed(&row->cells[table->columns.by]);
    return cell.length > 0 &&
           (last->length != cell.length || memcmp(last->bytes, cell.text, cell.length) != 0);
}

/* A row that says another shot ends the one that runs. */
static shot_status look_for_next_shot(shot_foreign_table *table, const shot_record *row,
                                      shot_error *error) {
    if (!says_next_shot(table, row))
        return SHOT_OK;
    shot_text *last = &table->columns.items[table->columns.by].last;
    const shot_cell cell = shot_cell_trimmed(&row->cells[table->columns.by]);
    shot_text_clear(last);
    SHOT_TRY(shot_text_add_bytes(last, cell.text, cell.length));
    shot_clock_next_shot(&table->clock.clock);
    return shot_foreign_shot_end(&table->shot, false, error);
}

static void explain_leap(shot_foreign_table *table, size_t line, shot_clock_leap leap) {
    static const char *const names[] = {"", "midnight", "a change of summer time",
                                        "its counter beginning anew"};
    if (leap != SHOT_LEAP_NONE && table->settings->explain)
        shot_notice_say(&table->shot.notice, "%s:%zu: the clock leaps over %s", table->file, line,
                        names[leap]);
}

/* A stream has no infinite values: each becomes missing, and is told with its place. */
static void lose_infinity(shot_foreign_table *table, const shot_record *row, size_t field,
                          double *value, bool *readable, shot_error *error) {
    const shot_cell cell = shot_cell_trimmed(&row->cells[field]);
    const char *channel = table->columns.items[field].channel;
    const int shown = shot_foreign_cells_shown(cell);
    *value = NAN;
    *readable = !table->settings->strict;
    if (!*readable)
        shot_fail(error, SHOT_ERR_SYNTAX, "field %zu: %s is '%.*s', which is infinite", field + 1,
                  channel, shown, cell.text);
    else if (shot_loss_is_named(&table->infinities))
        shot_notice_say(&table->shot.notice,
                        "%s:%zu: field %zu: %s is '%.*s', which is infinite and becomes missing; "
                        "if that means no value, say --missing '%.*s'",
                        table->file, row->line, field + 1, channel, shown, cell.text, shown,
                        cell.text);
}

/* A unit that the title says may be wrong, and a number that no sensor shows may mean no value: the
 * first one of a column is told.  A shot as it was handed on once is believed. */
static void tell_beyond(shot_foreign_table *table, const shot_record *row, size_t field,
                        double value) {
    shot_foreign_column *column = &table->columns.items[field];
    const shot_channel_kind *kind = column->reading.kind;
    if (column->beyond || kind == NULL || !(value < kind->low || value > kind->high) ||
        shot_foreign_table_is_stream(table))
        return;
    column->beyond = true;
    const shot_cell cell = shot_cell_trimmed(&row->cells[field]);
    shot_notice_say(&table->shot.notice,
                    "%s:%zu: field %zu: %s is %g %s, outside %g to %g, as others behind it may be; "
                    "say another unit with --unit %s=UNIT, or --missing '%.*s' if that means no "
                    "value",
                    table->file, row->line, field + 1, column->channel, value, kind->unit,
                    kind->low, kind->high, column->channel, shot_foreign_cells_shown(cell),
                    cell.text);
}

static shot_status read_values(shot_foreign_table *table, const shot_record *row, bool *readable,
                               shot_error *error) {
    size_t channel = 1;
    for (size_t i = 0; i < table->columns.count; i++) {
        shot_foreign_column *column = &table->columns.items[i];
        if (column->use != SHOT_USE_VALUE)
            continue;
        double *value = &table->values[channel++];
        SHOT_TRY(shot_foreign_cells_value(&table->cells, column, i + 1, &row->cells[i], value,
                                          readable, error));
        if (isinf(*value))
            lose_infinity(table, row, i, value, readable, error);
        if (!*readable)
            return SHOT_OK;
        tell_beyond(table, row, i, *value);
        column->seen = column->seen || !isnan(*value);
    }
    return SHOT_OK;
}

static shot_status take_notes(shot_foreign_table *table, const shot_record *row,
                              shot_error *error) {
    for (size_t i = 0; i < table->columns.count; i++) {
        shot_foreign_column *column = &table->columns.items[i];
        if (column->use != SHOT_USE_TEXT)
            continue;
        shot_cell cell = shot_cell_trimmed(&row->cells[i]);
        shot_text *last = &column->last;
        if (last->length == cell.length &&
            (cell.length == 0 || memcmp(last->bytes, cell.text, cell.length) == 0))
            continue;
        shot_text_clear(last);
        SHOT_TRY(shot_text_add_bytes(last, cell.text, cell.length));
        if (cell.length > 0)
            SHOT_TRY(shot_foreign_shot_note(&table->shot, table->values[0], column->channel,
                                            last->bytes, error));
    }
    return SHOT_OK;
}

shot_status foreign_table_begin_shot(shot_foreign_table *table, shot_error *error) {
    const shot_foreign_columns *columns = &table->columns;
    const char *name =
        columns->by != SHOT_NO_COLUMN ? columns->items[columns->by].last.bytes : NULL;
    for (size_t i = 0; i < columns->count; i++) {
        columns->items[i].seen = false;
        if (columns->items[i].use == SHOT_USE_TEXT)
            shot_text_clear(&columns->items[i].last);
    }
    return shot_foreign_shot_begin(&table->shot, name, columns,
                                   table->clock.has_origin ? &table->clock.origin : NULL, error);
}

/* An export in pages says its header on each; as a header begins a shot, what was one is many. Only
 * the first shot behind the header can be such a page. */
static void tell_next_page(shot_foreign_table *table, const shot_record *row, double reading) {
    static const double near = 2.5; /* the slowest step of a logger (clock_guess.c) */
    const double end = table->page_end;
    table->page_end = NAN;
    if (!(reading > end && reading < end + near))
        return;
    shot_notice_say(
        &table->shot.notice,
        "%s:%zu: the header comes again, which begins another shot, though the clock "
        "goes on; if these are pages of one shot, take the header out of the later ones",
        table->file, row->line);
}

/* A row whose cells could all be read. */
static shot_status hand_on_row(shot_foreign_table *table, const shot_record *row,
                               const shot_decimal *seconds, shot_error *error) {
    if (!table->shot.running) {
        tell_next_page(table, row, shot_decimal_value(seconds));
        SHOT_TRY(shot_foreign_clock_begin(&table->clock, seconds,
                                          shot_foreign_shot_has_origin(&table->shot)));
        SHOT_TRY(foreign_table_begin_shot(table, error));
        table->last_time = -INFINITY;
        shot_foreign_restart_begin(&table->restart);
        shot_coarse_clock_begin(&table->coarse);
        SHOT_TRY(shot_foreign_clock_time(&table->clock, seconds, &table->values[0]));
    }
    if (table->in_order && !(table->values[0] > table->last_time))
        return shot_fail_disorder(table->last_time, table->values[0], error);
    table->last_time = table->values[0];
    table->clock.rows++;
    shot_foreign_restart_took(&table->restart, table->values[0]);
    table->values[0] = shot_coarse_clock_time(&table->coarse, table->values[0]);
    SHOT_TRY(shot_foreign_shot_row(&table->shot, table->values, error));
    return take_notes(table, row, error);
}

/* Read the clock; a row of the shot that runs has its time then, and may have to wait for the one
 * behind it. */
static shot_status read_time(shot_foreign_table *table, const shot_record *row,
                             shot_decimal *seconds, bool *readable, bool *waits,
                             shot_error *error) {
    shot_clock_leap leap;
    *waits = false;
    SHOT_TRY(shot_foreign_clock_read(&table->clock, row, &table->cells, seconds, &leap, readable,
                                     error));
    explain_leap(table, row->line, leap);
    if (!*readable || !table->shot.running)
        return SHOT_OK;
    SHOT_TRY(shot_foreign_clock_time(&table->clock, seconds, &table->values[0]));
    *waits = table->restart.held.count == 0 &&
             shot_foreign_restart_may_be(&table->restart, table->values[0]);
    return SHOT_OK;
}

/* Read all cells, then hand the row on; `readable` is false, and the reason in `error`, if that
 * cannot be. */
static shot_status try_row(shot_foreign_table *table, const shot_record *row, bool *readable,
                           shot_error *error) {
    shot_decimal seconds;
    bool waits;
    *readable = fits_header(table, row, error);
    if (!*readable)
        return SHOT_OK;
    SHOT_TRY(look_for_next_shot(table, row, error));
    SHOT_TRY(read_time(table, row, &seconds, readable, &waits, error));
    if (waits)
        return shot_held_records_add(&table->restart.held, row);
    if (*readable)
        SHOT_TRY(read_values(table, row, readable, error));
    return *readable ? hand_on_row(table, row, &seconds, error) : SHOT_OK;
}

static shot_status take_row_now(shot_foreign_table *table, const shot_record *row,
                                shot_error *error) {
    shot_error own = {0}; /* a caller may not care for the sentence, a rejected row does */
    bool readable;
    table->came++;
    error = error != NULL ? error : &own;
    shot_status status = try_row(table, row, &readable, error);
    if (status == SHOT_OK && !readable)
        return shot_foreign_table_reject(table, row, error);
    if (status != SHOT_OK && !table->shot.failed)
        foreign_table_place(table, row->line, error);
    return status;
}

/* ------------------------------------------------------------------ a clock that begins anew - */

/* The time that a row of the shot that runs would have; NaN if it has none. */
static double peek_time(shot_foreign_table *table, const shot_record *row) {
    shot_foreign_clock clock = table->clock;
    shot_decimal seconds;
    shot_clock_leap leap;
    bool readable;
    double time = NAN;
    if (!table->shot.running || !fits_header(table, row, NULL) || says_next_shot(table, row) ||
        shot_foreign_clock_read(&clock, row, &table->cells, &seconds, &leap, &readable, NULL) !=
            SHOT_OK ||
        !readable || shot_foreign_clock_time(&clock, &seconds, &time) != SHOT_OK)
        return NAN;
    return time;
}

/* True if the row has values, and none of a channel that the shot has had: another device tells of
 * the same times. */
static bool is_of_another_device(const shot_foreign_table *table, const shot_record *row) {
    bool any = false;
    for (size_t i = 0; i < table->columns.count; i++) {
        const shot_foreign_column *column = &table->columns.items[i];
        const shot_cell cell = shot_cell_trimmed(&row->cells[i]);
        if (column->use != SHOT_USE_VALUE || shot_cell_is_missing(&cell, &table->settings->missing))
            continue;
        if (column->seen)
            return false;
        any = true;
    }
    return any;
}

static void tell_another_device(shot_foreign_table *table, const shot_record *row) {
    const double late = table->restart.newest - peek_time(table, row);
    shot_notice_say(&table->shot.notice,
                    "%s:%zu: the clock begins anew with other channels: another device, of the "
                    "same shot; put its rows in their places with shot-clean --reorder %.0fs",
                    table->file, row->line, ceil(late));
}

shot_status foreign_table_settle_restart(shot_foreign_table *table, bool anew, shot_error *error) {
    shot_foreign_restart *restart = &table->restart;
    if (restart->held.count == 0)
        return SHOT_OK;
    const shot_record *row = &restart->held.items[0];
    shot_status status = SHOT_OK;
    if (anew && is_of_another_device(table, row)) {
        tell_another_device(table, row);
        shot_foreign_restart_begin(restart);
    } else if (anew) {
        if (table->settings->explain)
            shot_notice_say(&table->shot.notice, "%s:%zu: the clock begins anew: another shot",
                            table->file, row->line);
        shot_clock_next_shot(&table->clock.clock);
        status = shot_foreign_shot_end(&table->shot, false, error);
    }
    if (status == SHOT_OK)
        status = take_row_now(table, row, error);
    shot_held_records_clear(&restart->held);
    return status;
}

/* ------------------------------------------------------------------- a last line without end -- */

/* Digits behind the decimal mark of a plain number; 0 for anything else. */
static size_t decimals_of(shot_cell cell) {
    size_t digits = 0;
    cell = shot_cell_trimmed(&cell);
    while (digits < cell.length && cell.text[cell.length - 1 - digits] >= '0' &&
           cell.text[cell.length - 1 - digits] <= '9')
        digits++;
    const char before = digits < cell.length ? cell.text[cell.length - 1 - digits] : '\0';
    return before == '.' || before == ',' ? digits : 0;
}

void foreign_table_learn_decimals(shot_foreign_table *table, const shot_held_records *rows) {
    table->last_decimals = 0;
    for (size_t i = 0; i < rows->count; i++) {
        const shot_record *row = &rows->items[i];
        if (row->count != table->columns.count || row->open)
            continue;
        const size_t decimals = decimals_of(row->cells[row->count - 1]);
        table->last_decimals = decimals > table->last_decimals ? decimals : table->last_decimals;
    }
}

/* A last line need not have an end (RFC 4180, section 2), but so does one that was cut.  Its last
 * number is whole where it has as many decimals as numbers there have, or stands in quotes. */
static bool may_be_cut(const shot_foreign_table *table, const shot_record *row) {
    if (!row->open || row->count != table->columns.count || row->length == 0)
        return false;
    const shot_foreign_column *column = &table->columns.items[row->count - 1];
    const shot_cell last = row->cells[row->count - 1];
    const bool whole = row->text[row->length - 1] == '"' ||
                       (table->last_decimals > 0 && decimals_of(last) >= table->last_decimals);
    return column->use == SHOT_USE_VALUE && !whole && shot_cell_trimmed(&last).length > 0;
}

/* The number goes, the rest of the row stays. */
static shot_status take_open_row(shot_foreign_table *table, const shot_record *row,
                                 shot_error *error) {
    shot_held_records own = {0};
    const shot_cell last = shot_cell_trimmed(&row->cells[row->count - 1]);
    shot_status status = shot_held_records_add(&own, row);
    if (status == SHOT_OK) {
        ((shot_cell *)own.items[0].cells)[row->count - 1].length = 0;
        own.items[0].open = false;
        shot_notice_say(&table->shot.notice,
                        "%s:%zu: the last line has no line end, so that its last number, '%.*s', "
                        "may be cut: it becomes missing",
                        table->file, row->line, shot_foreign_cells_shown(last), last.text);
        status = foreign_table_take_row(table, &own.items[0], error);
    }
    shot_held_records_free(&own);
    return status;
}

shot_status foreign_table_take_row(shot_foreign_table *table, const shot_record *row,
                                   shot_error *error) {
    if (may_be_cut(table, row))
        return take_open_row(table, row, error);
    if (table->restart.held.count > 0) {
        const bool anew = shot_foreign_restart_stays(&table->restart, peek_time(table, row));
        SHOT_TRY(foreign_table_settle_restart(table, anew, error));
    }
    return take_row_now(table, row, error);
}
