/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table of marks. */
#include <shottrace/trace/mark_table.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/log_time.h>
#include <shottrace/trace/number_text.h>

#include "room.h"

const shot_mark_column shot_mark_columns[SHOT_MARK_COLUMNS] = {
    {"id", SHOT_MARK_TEXT, offsetof(shot_mark, id)},
    {"kind", SHOT_MARK_TEXT, offsetof(shot_mark, kind)},
    {"from", SHOT_MARK_TIME, offsetof(shot_mark, from)},
    {"to", SHOT_MARK_TIME, offsetof(shot_mark, to)},
    {"channel", SHOT_MARK_TEXT, offsetof(shot_mark, channel)},
    {"value", SHOT_MARK_NUMBER, offsetof(shot_mark, value)},
    {"unit", SHOT_MARK_TEXT, offsetof(shot_mark, unit)},
    {"from.low", SHOT_MARK_TIME, offsetof(shot_mark, from_low)},
    {"from.high", SHOT_MARK_TIME, offsetof(shot_mark, from_high)},
    {"to.low", SHOT_MARK_TIME, offsetof(shot_mark, to_low)},
    {"to.high", SHOT_MARK_TIME, offsetof(shot_mark, to_high)},
    {"value.low", SHOT_MARK_NUMBER, offsetof(shot_mark, value_low)},
    {"value.high", SHOT_MARK_NUMBER, offsetof(shot_mark, value_high)},
    {"level", SHOT_MARK_NUMBER, offsetof(shot_mark, level)},
    {"refines", SHOT_MARK_TEXT, offsetof(shot_mark, refines)},
    {"note", SHOT_MARK_TEXT, offsetof(shot_mark, note)},
};

/* ---- the header ---- */

static const shot_mark_column *column_named(const char *name) {
    for (size_t i = 0; i < SHOT_MARK_COLUMNS; i++)
        if (strcmp(shot_mark_columns[i].name, name) == 0)
            return &shot_mark_columns[i];
    return NULL;
}

/* A column that is no field of a mark becomes KEY=VALUE in it. */
static bool can_be_key(const char *title) {
    for (const char *c = title; *c != '\0'; c++)
        if ((unsigned char)*c <= ' ' || *c == '=' || *c == '"')
            return false;
    return *title != '\0';
}

static shot_status check_header(const shot_csv_line *header, shot_error *error) {
    static const char *const needed[] = {"shot", "kind", "from"};
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++)
        if (shot_csv_line_find(header, needed[i]) < 0)
            return shot_fail(error, SHOT_ERR_SYNTAX,
                             "a table of marks starts with a line of column names, among them "
                             "shot, kind and from; '%s' is missing",
                             needed[i]);
    for (size_t i = 0; i < header->count; i++)
        if (shot_csv_line_find(header, header->field[i]) != (ptrdiff_t)i)
            return shot_fail(error, SHOT_ERR_SYNTAX, "the column '%s' comes twice",
                             header->field[i]);
    for (size_t i = 0; i < header->count; i++)
        if (!can_be_key(header->field[i]))
            return shot_fail(
                error, SHOT_ERR_SYNTAX,
                "column %zu is titled '%s'; a title is a word, without blanks, '=' and "
                "quotes",
                i + 1, header->field[i]);
    return SHOT_OK;
}

static bool is_header(const shot_mark_table *table) {
    if (table->line.count != table->header.count)
        return false;
    for (size_t i = 0; i < table->line.count; i++)
        if (strcmp(table->line.field[i], table->header.field[i]) != 0)
            return false;
    return true;
}

/* ---- a row ---- */

/* Which of the times of a mark that column is. */
static size_t time_number(const shot_mark_column *column) {
    size_t number = 0;
    for (const shot_mark_column *c = shot_mark_columns; c < column; c++)
        number += c->kind == SHOT_MARK_TIME;
    return number;
}

static shot_status set_time(shot_mark_row *row, const shot_mark_column *column, const char *text,
                            shot_error *error) {
    const size_t number = time_number(column);
    row->has[number] = true;
    if (shot_log_time_read(text, &row->clock[number]) == SHOT_OK)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_SYNTAX,
                     "%s: '%s' is not a time; write seconds of the log's own clock, as 7.4 or 7.4s",
                     column->name, text);
}

static shot_status set_number(double *out, const char *name, const char *text, shot_error *error) {
    const char *end = text + strlen(text);
    if (shot_number_read(text, end, out) == end && isfinite(*out))
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_SYNTAX, "%s: '%s' is not a number", name, text);
}

static shot_status set_text(char **out, const char *text) {
    *out = shot_text_copy(text);
    return *out != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
}

static shot_status set_field(shot_mark_row *row, const char *name, const char *text,
                             shot_error *error) {
    const shot_mark_column *column = column_named(name);
    if (*text == '\0' || strcmp(name, "shot") == 0)
        return SHOT_OK;
    if (column == NULL)
        return shot_mark_add_extra(&row->mark, name, text);
    char *place = (char *)&row->mark + column->offset;
    if (column->kind == SHOT_MARK_TIME)
        return set_time(row, column, text, error);
    return column->kind == SHOT_MARK_NUMBER ? set_number((double *)place, name, text, error)
                                            : set_text((char **)place, text);
}

static bool falls(const shot_mark_row *row, size_t first, size_t second) {
    return row->has[first] && row->has[second] &&
           shot_decimal_compare(&row->clock[second], &row->clock[first]) < 0;
}

/* A slip of the hand that corrected the table. */
static shot_status check_order(const shot_mark_row *row, shot_error *error) {
    enum { FROM, TO, FROM_LOW, FROM_HIGH, TO_LOW, TO_HIGH };
    if (falls(row, FROM, TO))
        return shot_fail(error, SHOT_ERR_SYNTAX, "the mark %.80s ends before it starts",
                         row->mark.kind);
    if (falls(row, FROM_LOW, FROM_HIGH) || falls(row, TO_LOW, TO_HIGH) ||
        row->mark.value_low > row->mark.value_high)
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "the mark %.80s has an interval whose low end lies above its high end",
                         row->mark.kind);
    return SHOT_OK;
}

static shot_status set_fields(shot_mark_table *table, shot_mark_row *row, shot_error *error) {
    if (table->line.count != table->header.count)
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "the row has %zu field%s, but the header has %zu; a comma inside a text "
                         "needs quotes around it",
                         table->line.count, table->line.count == 1 ? "" : "s", table->header.count);
    for (size_t i = 0; i < table->line.count; i++)
        SHOT_TRY(set_field(row, table->header.field[i], table->line.field[i], error));
    if (row->mark.kind == NULL || !row->has[0])
        return shot_fail(error, SHOT_ERR_SYNTAX, "a mark needs a kind and a time in 'from'");
    if (shot_csv_line_find(&table->header, "to") < 0) {
        row->clock[1] = row->clock[0];
        row->has[1] = true;
    }
    return check_order(row, error);
}

static shot_status reserve(shot_mark_table *table) {
    shot_mark_row *rows = room_for_more(table->rows, table->count, &table->room, 16, sizeof *rows);
    if (rows == NULL)
        return SHOT_ERR_MEMORY;
    table->rows = rows;
    return SHOT_OK;
}

static shot_status add_row(shot_mark_table *table, shot_error *error) {
    shot_mark_row row = {.mark = shot_mark_none()};
    shot_status status = reserve(table);
    if (status == SHOT_OK)
        status = set_fields(table, &row, error);
    if (status == SHOT_OK) {
        const ptrdiff_t shot = shot_csv_line_find(&table->header, "shot");
        status = shot_name_list_add(&table->shots, table->line.field[shot]);
    }
    if (status == SHOT_OK)
        table->rows[table->count++] = row;
    else
        shot_mark_free(&row.mark);
    return status;
}

shot_status shot_mark_table_add_line(shot_mark_table *table, const char *line, size_t length,
                                     shot_error *error) {
    if (length == 0)
        return SHOT_OK;
    if (table->header.count == 0) {
        SHOT_TRY(shot_csv_line_read(&table->header, line, length));
        return check_header(&table->header, error);
    }
    SHOT_TRY(shot_csv_line_read(&table->line, line, length));
    return is_header(table) ? SHOT_OK : add_row(table, error);
}

/* ---- from a trace, and to one ---- */

static double *time_of(shot_mark *mark, size_t number) {
    for (size_t i = 0, seen = 0; i < SHOT_MARK_COLUMNS; i++)
        if (shot_mark_columns[i].kind == SHOT_MARK_TIME && seen++ == number)
            return (double *)((char *)mark + shot_mark_columns[i].offset);
    return NULL;
}

shot_status shot_mark_table_add(shot_mark_table *table, const char *shot, const shot_mark *mark,
                                const shot_decimal *origin) {
    shot_mark_row row = {.mark = shot_mark_none()};
    SHOT_TRY(reserve(table));
    SHOT_TRY(shot_mark_copy(mark, &row.mark));
    for (size_t i = 0; i < SHOT_MARK_TIMES; i++)
        row.has[i] =
            shot_log_time_from_trace(*time_of(&row.mark, i), origin, &row.clock[i]) == SHOT_OK;
    shot_status status = shot_name_list_add(&table->shots, shot);
    if (status == SHOT_OK)
        table->rows[table->count++] = row;
    else
        shot_mark_free(&row.mark);
    return status;
}

shot_status shot_mark_row_settle(const shot_mark_row *row, const shot_decimal *origin,
                                 shot_mark *out) {
    SHOT_TRY(shot_mark_copy(&row->mark, out));
    for (size_t i = 0; i < SHOT_MARK_TIMES; i++)
        *time_of(out, i) = row->has[i] ? shot_log_time_to_trace(&row->clock[i], origin) : NAN;
    return SHOT_OK;
}

void shot_mark_table_free(shot_mark_table *table) {
    for (size_t i = 0; i < table->count; i++)
        shot_mark_free(&table->rows[i].mark);
    free(table->rows);
    shot_name_list_free(&table->shots);
    shot_csv_line_free(&table->header);
    shot_csv_line_free(&table->line);
    *table = (shot_mark_table){0};
}
