/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of a foreign table: the first ones are held until they tell what each column is, then every
 * row becomes values, marks, or a rejected row. */
#include "stream/foreign_table.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/stage.h>

#include "stream/foreign_cells.h"
#include "stream/foreign_clock.h"
#include "stream/foreign_columns.h"
#include "stream/foreign_rejects.h"
#include "stream/foreign_restart.h"
#include "stream/foreign_shot.h"
#include "stream/held_records.h"

/* How many rows tell what the columns are: as many as tell what the clock is. */
enum { LOOK_AHEAD = SHOT_CLOCK_READINGS };

struct shot_foreign_table {
    shot_table_target target;
    const struct shot_read_settings *settings;
    const char *file;
    shot_foreign_cells cells;

    bool headed, settled;
    bool whole;       /* the header is that of a shot we wrote, which may have no row */
    shot_text header; /* the text of the titles, and its line */
    size_t header_line;
    shot_foreign_columns columns;
    shot_held_records held;       /* first rows */
    shot_held_records held_lines; /* that came among them: key and value; `line` rows before it */
    shot_foreign_clock clock;

    shot_foreign_shot shot;
    double *values;
    bool in_order; /* times may not repeat or fall */
    double last_time;
    shot_foreign_restart restart;

    shot_rejects rejects;
    size_t infinities; /* values that became missing */
    size_t losses;     /* something besides rows and values */
    bool cut;          /* the bytes of this file end too early */
    bool any_cut;      /* ... or those of any file did */
    bool abandoned;    /* a file could not be read further, as was told */
    bool stream_cut;   /* a trace stream did not say its end */
};

static shot_foreign_table *table_of(shot_table_target *target) {
    return (shot_foreign_table *)target;
}

/* ---------------------------------------------------------------------------------- places --- */

static void place(const shot_foreign_table *table, size_t line, shot_error *error) {
    if (error == NULL)
        return;
    snprintf(error->source, sizeof error->source, "%s", table->file);
    error->line = line;
}

void shot_foreign_table_explain(shot_foreign_table *table, const shot_text *reasons) {
    if (!table->settings->explain || reasons->bytes == NULL)
        return;
    for (const char *line = reasons->bytes; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        shot_notice_say(&table->shot.notice, "%s: %.*s", table->file, (int)length, line);
        line += length + (line[length] == '\n');
    }
}

shot_status shot_foreign_table_reject(shot_foreign_table *table, const shot_record *row,
                                      shot_error *error) {
    place(table, row->line, error);
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
                  row->count == 1 ? "" : "s", table->columns.count);
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
    else if (++table->infinities <= SHOT_REJECTS_NAMED)
        shot_notice_say(&table->shot.notice,
                        "%s:%zu: field %zu: %s is '%.*s', which is infinite and becomes missing; "
                        "if that means no value, say --missing '%.*s'",
                        table->file, row->line, field + 1, channel, shown, cell.text, shown,
                        cell.text);
}

static shot_status read_values(shot_foreign_table *table, const shot_record *row, bool *readable,
                               shot_error *error) {
    size_t channel = 1;
    for (size_t i = 0; i < table->columns.count; i++) {
        const shot_foreign_column *column = &table->columns.items[i];
        if (column->use != SHOT_USE_VALUE)
            continue;
        double *value = &table->values[channel++];
        SHOT_TRY(shot_foreign_cells_value(&table->cells, column, i + 1, &row->cells[i], value,
                                          readable, error));
        if (isinf(*value))
            lose_infinity(table, row, i, value, readable, error);
        if (!*readable)
            return SHOT_OK;
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

static shot_status begin_shot(shot_foreign_table *table, shot_error *error) {
    const shot_foreign_columns *columns = &table->columns;
    const char *name =
        columns->by != SHOT_NO_COLUMN ? columns->items[columns->by].last.bytes : NULL;
    for (size_t i = 0; i < columns->count; i++)
        if (columns->items[i].use == SHOT_USE_TEXT)
            shot_text_clear(&columns->items[i].last);
    return shot_foreign_shot_begin(&table->shot, name, columns,
                                   table->clock.has_origin ? &table->clock.origin : NULL, error);
}

/* A row whose cells could all be read. */
static shot_status hand_on_row(shot_foreign_table *table, const shot_record *row,
                               const shot_decimal *seconds, shot_error *error) {
    if (!table->shot.running) {
        SHOT_TRY(shot_foreign_clock_begin(&table->clock, seconds,
                                          shot_foreign_shot_has_origin(&table->shot)));
        SHOT_TRY(begin_shot(table, error));
        table->last_time = -INFINITY;
        shot_foreign_restart_begin(&table->restart);
        SHOT_TRY(shot_foreign_clock_time(&table->clock, seconds, &table->values[0]));
    }
    if (table->in_order && !(table->values[0] > table->last_time))
        return shot_fail_disorder(table->last_time, table->values[0], error);
    table->last_time = table->values[0];
    table->clock.rows++;
    shot_foreign_restart_took(&table->restart, table->values[0]);
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
    error = error != NULL ? error : &own;
    shot_status status = try_row(table, row, &readable, error);
    if (status == SHOT_OK && !readable)
        return shot_foreign_table_reject(table, row, error);
    if (status != SHOT_OK && !table->shot.failed)
        place(table, row->line, error);
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

/* The row held begins another shot if the clock stays back, else it is one that strayed. */
static shot_status settle_restart(shot_foreign_table *table, bool anew, shot_error *error) {
    shot_foreign_restart *restart = &table->restart;
    if (restart->held.count == 0)
        return SHOT_OK;
    const shot_record *row = &restart->held.items[0];
    shot_status status = SHOT_OK;
    if (anew) {
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

static shot_status take_row(shot_foreign_table *table, const shot_record *row, shot_error *error) {
    if (table->restart.held.count > 0) {
        const bool anew = shot_foreign_restart_stays(&table->restart, peek_time(table, row));
        SHOT_TRY(settle_restart(table, anew, error));
    }
    return take_row_now(table, row, error);
}

/* ------------------------------------------------------------------------- the first rows ---- */

static shot_status tell_held_line(shot_foreign_table *table, const shot_record *held,
                                  shot_error *error) {
    const shot_cell *key = &held->cells[0], *value = &held->cells[1];
    char *k = key->length > 0 ? shot_text_copy_bytes(key->text, key->length) : NULL;
    char *v = shot_text_copy_bytes(value->text, value->length);
    shot_status status = v == NULL || (k == NULL && key->length > 0)
                             ? SHOT_ERR_MEMORY
                             : shot_foreign_shot_line(&table->shot, k, v, error);
    free(k);
    free(v);
    return status;
}

/* Rows and lines that were held, in the order in which they came. */
static shot_status take_held(shot_foreign_table *table, shot_error *error) {
    size_t line = 0;
    for (size_t r = 0; r <= table->held.count; r++) {
        for (; line < table->held_lines.count && table->held_lines.items[line].line == r; line++)
            SHOT_TRY(tell_held_line(table, &table->held_lines.items[line], error));
        if (r < table->held.count)
            SHOT_TRY(take_row(table, &table->held.items[r], error));
    }
    return SHOT_OK;
}

/* A shot that was written without rows has a name and lines all the same. */
static shot_status begin_without_rows(shot_foreign_table *table, shot_error *error) {
    if (!table->whole || table->held.count > 0)
        return SHOT_OK;
    table->clock.has_origin = false;
    return begin_shot(table, error);
}

static void tell_doubt(shot_foreign_table *table) {
    if (table->clock.clock.doubtful)
        shot_notice_say(&table->shot.notice,
                        "%s: time has no unit, and its steps are taken for ms; if a hand read them "
                        "in s, say --clock s",
                        table->file);
}

/* The first rows are there: say what the columns are, and take the rows. */
static shot_status settle(shot_foreign_table *table, shot_error *error) {
    shot_text reasons = {0};
    table->settled = true;
    shot_status status = shot_foreign_columns_settle(
        &table->columns, table->held.items, table->held.count, &table->settings->missing, error);
    if (status == SHOT_OK)
        status = shot_foreign_clock_settle(&table->clock, &table->columns, &table->held,
                                           &table->cells, &reasons, error);
    if (status != SHOT_OK && status != SHOT_ERR_USAGE)
        place(table, table->header_line, error);
    if (status == SHOT_OK)
        status = shot_foreign_columns_explain(&table->columns, &reasons);
    if (status == SHOT_OK)
        shot_foreign_table_explain(table, &reasons);
    if (status == SHOT_OK)
        tell_doubt(table);
    shot_text_free(&reasons);
    free(table->values);
    table->values = calloc(table->columns.count + 1, sizeof *table->values);
    if (table->values == NULL)
        status = SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        status = begin_without_rows(table, error);
    if (status == SHOT_OK)
        status = take_held(table, error);
    shot_held_records_clear(&table->held);
    shot_held_records_clear(&table->held_lines);
    return status;
}

/* ---------------------------------------------------------------------------------- target --- */

static shot_status line(shot_table_target *target, const char *key, const char *value,
                        shot_error *error) {
    shot_foreign_table *table = table_of(target);
    if (!table->headed || table->settled)
        return shot_foreign_shot_line(&table->shot, key, value, error);
    shot_cell cells[] = {{key, key != NULL ? strlen(key) : 0}, {value, strlen(value)}};
    shot_record held = {.cells = cells, .count = 2, .line = table->held.count, .text = ""};
    return shot_held_records_add(&table->held_lines, &held);
}

/* A table is over.  One that came through a filter should have said so itself. */
static shot_status end_unsaid(shot_foreign_table *table, shot_error *error) {
    SHOT_TRY(settle_restart(table, false, error));
    bool cut = shot_foreign_shot_lacks_end(&table->shot);
    table->stream_cut = table->stream_cut || cut;
    table->any_cut = table->any_cut || cut;
    return shot_foreign_shot_end(&table->shot, cut || table->cut, error);
}

static shot_status end(shot_table_target *target, shot_error *error) {
    shot_foreign_table *table = table_of(target);
    if (table->headed && !table->settled)
        SHOT_TRY(settle(table, error));
    SHOT_TRY(settle_restart(table, false, error));
    SHOT_TRY(shot_foreign_shot_settle(&table->shot, error));
    table->headed = false;
    SHOT_TRY(end_unsaid(table, error));
    if (shot_foreign_shot_lacks_close(&table->shot))
        table->stream_cut = table->any_cut = true;
    return SHOT_OK;
}

static shot_status header(shot_table_target *target, const shot_record *titles,
                          const shot_record *units, shot_error *error) {
    shot_foreign_table *table = table_of(target);
    if (table->headed && !table->settled)
        SHOT_TRY(settle(table, error));
    SHOT_TRY(end_unsaid(table, error));
    shot_foreign_columns_free(&table->columns);
    SHOT_TRY(shot_foreign_shot_share(&table->shot, error));
    shot_text_clear(&table->header);
    SHOT_TRY(shot_text_add_bytes(&table->header, titles->text, titles->length));
    table->headed = table->settled = table->rejects.headed = false;
    size_t count = titles->count; /* a line may end in a delimiter */
    while (count > 1 && shot_cell_trimmed(&titles->cells[count - 1]).length == 0)
        count--;
    table->header_line = titles->line;
    table->whole = titles->literal;
    shot_status status = shot_foreign_columns_read(
        titles->cells, count, titles->literal || table->settings->literal,
        units != NULL ? units->cells : NULL, units != NULL ? units->count : 0, table->settings,
        &table->columns, error);
    if (status != SHOT_OK && status != SHOT_ERR_USAGE)
        place(table, titles->line, error);
    table->headed = status == SHOT_OK;
    return status;
}

static shot_status row(shot_table_target *target, const shot_record *record, shot_error *error) {
    shot_foreign_table *table = table_of(target);
    if (table->settled)
        return take_row(table, record, error);
    SHOT_TRY(shot_held_records_add(&table->held, record));
    return table->held.count >= LOOK_AHEAD ? settle(table, error) : SHOT_OK;
}

static void keep(shot_table_target *target) {
}

/* ----------------------------------------------------------------------------------- whole --- */

static const shot_table_target_calls calls = {line, header, row, end, keep};

shot_status shot_foreign_table_new(const shot_making *making, shot_foreign_table **out,
                                   shot_error *error) {
    shot_foreign_table *table = calloc(1, sizeof *table);
    *out = table;
    if (table == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for reading");
    table->target.calls = &calls;
    table->settings = table->cells.settings = table->clock.settings = making->settings;
    table->file = "-";
    table->shot.next = making->next;
    table->shot.history = making->history;
    table->shot.notice = table->rejects.notice = making->notice;
    table->rejects.settings = making->settings;
    table->in_order = making->in_order;
    return SHOT_OK;
}

shot_table_target *shot_foreign_table_target(shot_foreign_table *table) {
    return &table->target;
}

shot_status shot_foreign_table_file(shot_foreign_table *table, const char *name) {
    table->file = name;
    table->cut = false;
    return shot_foreign_shot_file(&table->shot, name);
}

bool shot_foreign_table_is_stream(const shot_foreign_table *table) {
    return table->shot.bears_history || table->shot.waiting_history ||
           shot_foreign_shot_lacks_close(&table->shot);
}

void shot_foreign_table_decimal(shot_foreign_table *table, char decimal) {
    table->cells.decimal = decimal;
}

shot_status shot_foreign_table_pause(shot_foreign_table *table, shot_error *error) {
    SHOT_TRY(shot_foreign_shot_flush(&table->shot, error));
    return shot_sink_pause(table->shot.next, error);
}

void shot_foreign_table_lose(shot_foreign_table *table, const char *what) {
    if (++table->losses <= SHOT_REJECTS_NAMED)
        shot_notice_say(&table->shot.notice, "%s: %s", table->file, what);
}

void shot_foreign_table_cut(shot_foreign_table *table) {
    table->cut = table->any_cut = true;
}

static shot_status tell_losses(const shot_foreign_table *table, shot_error *error) {
    size_t rows = table->rejects.count;
    if (table->stream_cut)
        return shot_fail(error, SHOT_ERR_DATA,
                         "the stream was cut short: the program before it did not finish; what "
                         "came was handed on");
    if (table->shot.shots == 0)
        return shot_fail(error, SHOT_ERR_DATA, "no row could be read");
    if (rows > 0)
        return shot_fail(error, SHOT_ERR_DATA, "%zu row%s could not be read and %s left out%s",
                         rows, rows == 1 ? "" : "s", rows == 1 ? "was" : "were",
                         table->settings->rejects != NULL ? "" : "; --rejects FILE keeps them");
    if (table->infinities > 0)
        return shot_fail(error, SHOT_ERR_DATA, "%zu value%s infinite and became missing",
                         table->infinities, table->infinities == 1 ? " was" : "s were");
    return shot_fail(error, SHOT_ERR_DATA, "not all of the log could be read");
}

shot_status shot_foreign_table_finish(shot_foreign_table *table, shot_error *error) {
    SHOT_TRY(shot_rejects_finish(&table->rejects, error));
    if (table->infinities > SHOT_REJECTS_NAMED)
        shot_notice_say(&table->shot.notice, "%zu more values are infinite",
                        table->infinities - SHOT_REJECTS_NAMED);
    if (!table->shot.failed)
        SHOT_TRY(shot_sink_close(table->shot.next, table->any_cut || table->abandoned, error));
    const size_t counted = table->rejects.count + table->infinities;
    const bool told = table->abandoned && !table->stream_cut; /* and there is no more to say */
    if (counted == 0 && (told || (table->losses == 0 && !table->any_cut && table->shot.shots > 0)))
        return SHOT_OK;
    if (error != NULL)
        *error = (shot_error){0};
    if (error != NULL && table->stream_cut)
        snprintf(error->source, sizeof error->source, "%s", table->file);
    return tell_losses(table, error);
}

void shot_foreign_table_abandon(shot_foreign_table *table, bool go_on) {
    if (table->headed && !table->settled && !table->shot.failed)
        settle(table, NULL);
    if (!table->shot.failed)
        settle_restart(table, false, NULL);
    table->headed = table->settled = false;
    table->abandoned = true;
    shot_held_records_clear(&table->held);
    shot_held_records_clear(&table->held_lines);
    shot_held_records_clear(&table->restart.held);
    if (!table->shot.failed)
        shot_foreign_shot_end(&table->shot, true, NULL);
    shot_foreign_shot_forget(&table->shot);
    if (!table->shot.failed && !go_on)
        shot_sink_close(table->shot.next, true, NULL);
}

void shot_foreign_table_free(shot_foreign_table *table) {
    if (table == NULL)
        return;
    shot_text_free(&table->header);
    shot_foreign_columns_free(&table->columns);
    shot_held_records_free(&table->held);
    shot_held_records_free(&table->held_lines);
    shot_foreign_restart_free(&table->restart);
    shot_foreign_shot_free(&table->shot);
    free(table->values);
    shot_rejects_free(&table->rejects);
    shot_text_free(&table->cells.scratch);
    free(table);
}
