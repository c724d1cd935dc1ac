/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table of metadata. */
#include "filter/tag_table.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/head_key.h>

#include "room.h"

/* ---- the header ---- */

/* "dose [g]" and "Dose (g)" become "dose" and "Dose" in place; returns the unit, or NULL. */
static char *split_unit(char *title) {
    const size_t length = strlen(title);
    const char last = length > 0 ? title[length - 1] : '\0';
    char *open = strrchr(title, last == ')' ? '(' : '[');
    if (open == NULL || open == title || (last != ']' && last != ')'))
        return NULL;
    title[length - 1] = '\0';
    char *end = open;
    while (end > title && (end[-1] == ' ' || end[-1] == '\t'))
        end--;
    *end = '\0';
    return open + 1;
}

/* Titles as a spreadsheet has them: "Bean Name" becomes the key "bean-name", as shot-read makes it.
 */
static void fold_title(char *title) {
    for (char *c = title; *c != '\0'; c++)
        if (*c >= 'A' && *c <= 'Z')
            *c = (char)(*c - 'A' + 'a');
        else if (*c == ' ')
            *c = '-';
}

static shot_status take_title(tag_table *table, size_t i, shot_error *error) {
    char *title = table->header.field[i];
    table->units[i] = split_unit(title);
    fold_title(title);
    if (shot_csv_line_find(&table->header, title) != (ptrdiff_t)i)
        return shot_fail(error, SHOT_ERR_SYNTAX, "the column '%s' comes twice", title);
    if (strcmp(title, "shot") != 0)
        return shot_head_key_check(title, error);
    table->shot_column = (ptrdiff_t)i;
    return SHOT_OK;
}

static shot_status take_header(tag_table *table, const char *line, size_t length,
                               shot_error *error) {
    SHOT_TRY(shot_csv_line_read(&table->header, line, length));
    if (table->header.count == 1 && strpbrk(table->header.field[0], ";\t") != NULL)
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "the fields are separated by semicolons or tabs; save the table with "
                         "commas between the fields and points in the numbers");
    table->units = calloc(table->header.count, sizeof *table->units);
    table->shot_column = -1;
    if (table->units == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < table->header.count; i++)
        SHOT_TRY(take_title(table, i, error));
    if (table->shot_column >= 0)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_SYNTAX,
                     "no column is called 'shot'; the table starts with a line of names separated "
                     "by commas, as shot,dose [g],grind");
}

/* ---- rows ---- */

static shot_status take_cell(const tag_table *table, size_t i, char **out, shot_error *error) {
    const char *cell = table->line.field[i], *unit = table->units[i];
    const bool number = strspn(cell, "+-.0123456789eE") == strlen(cell);
    shot_text with_unit = {0}, value = {0};
    *out = NULL;
    if (*cell == '\0' || (ptrdiff_t)i == table->shot_column)
        return SHOT_OK;
    shot_status status = number && unit ? shot_text_add_format(&with_unit, "%s %s", cell, unit)
                                        : shot_text_add(&with_unit, cell);
    if (status == SHOT_OK)
        status = shot_head_key_value(table->header.field[i], with_unit.bytes, &value, error);
    shot_text_free(&with_unit);
    if (status != SHOT_OK)
        shot_text_free(&value);
    *out = value.bytes;
    return status;
}

static void free_row(const tag_table *table, char **row) {
    for (size_t i = 0; i < table->header.count; i++)
        free(row[i]);
    free(row);
}

/* A person mends a table once, not once for each of its slips. */
static shot_status keep_failure(tag_table *table, size_t line, shot_status status,
                                const shot_error *error) {
    if (status == SHOT_OK || status == SHOT_ERR_MEMORY)
        return status;
    if (table->failures++ > 0)
        SHOT_TRY(shot_text_add_format(&table->others, "%s:%zu: %s\n", table->name, table->last.line,
                                      table->last.what));
    table->last = *error;
    table->last.line = line;
    table->last.code = status;
    return SHOT_OK;
}

static shot_status fill_row(tag_table *table, char **row, size_t line) {
    shot_error error = {0};
    for (size_t i = 0; i < table->header.count; i++)
        SHOT_TRY(keep_failure(table, line, take_cell(table, i, &row[i], &error), &error));
    tag_row *rows = room_for_more(table->rows, table->shots.count, &table->room, 16, sizeof *rows);
    if (rows == NULL)
        return SHOT_ERR_MEMORY;
    table->rows = rows;
    return shot_name_list_add(&table->shots, table->line.field[table->shot_column]);
}

static shot_status take_row(tag_table *table, const char *line, size_t length, size_t first_line,
                            shot_error *error) {
    SHOT_TRY(shot_csv_line_read(&table->line, line, length));
    if (table->line.count != table->header.count)
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "the row has %zu field%s, but the header has %zu; a comma inside a text "
                         "needs quotes around it",
                         table->line.count, table->line.count == 1 ? "" : "s", table->header.count);
    if (*table->line.field[table->shot_column] == '\0')
        return shot_fail(error, SHOT_ERR_SYNTAX, "the row names no shot");
    char **row = calloc(table->header.count, sizeof *row);
    if (row == NULL)
        return SHOT_ERR_MEMORY;
    const shot_status status = fill_row(table, row, first_line);
    if (status == SHOT_OK)
        table->rows[table->shots.count - 1] = (tag_row){row, first_line};
    else
        free_row(table, row);
    return status;
}

shot_status tag_table_add_line(tag_table *table, const char *line, size_t length,
                               shot_error *error) {
    const size_t first_line = ++table->lines;
    for (size_t i = 0; i < length; i++)
        table->lines += line[i] == '\n';
    if (length == 0)
        return SHOT_OK;
    if (table->header.count == 0)
        return take_header(table, line, length, error);
    shot_error wrong = {0};
    return keep_failure(table, first_line, take_row(table, line, length, first_line, &wrong),
                        &wrong);
}

static shot_status two_rows(const tag_table *table, const shot_named *one, shot_error *error) {
    const size_t line = table->rows[one[1].index].line;
    if (error != NULL)
        error->line = line;
    return shot_fail(error, SHOT_ERR_SYNTAX, "the shot '%.80s' has a row in line %zu already",
                     one->name, table->rows[one->index].line);
}

shot_status tag_table_finish(tag_table *table, shot_error *error) {
    if (table->header.count == 0)
        return shot_fail(error, SHOT_ERR_DATA, "the table is empty; its first line names columns");
    if (table->failures > 0) {
        if (error != NULL)
            *error = table->last;
        return table->last.code;
    }
    shot_name_list_sort(&table->shots);
    for (size_t i = 1; i < table->shots.count; i++)
        if (strcmp(table->shots.names[i - 1].name, table->shots.names[i].name) == 0)
            return two_rows(table, &table->shots.names[i - 1], error);
    return SHOT_OK;
}

shot_status tag_table_apply(tag_table *table, shot_head *head, bool *found) {
    size_t count;
    const shot_named *one = shot_name_list_find(&table->shots, head->name, &count);
    *found = one != NULL;
    for (size_t i = 0; one != NULL && i < table->header.count; i++)
        if (table->rows[one->index].values[i] != NULL)
            SHOT_TRY(shot_head_set_value(head, table->header.field[i],
                                         table->rows[one->index].values[i]));
    return SHOT_OK;
}

void tag_table_free(tag_table *table) {
    for (size_t i = 0; i < table->shots.count; i++)
        free_row(table, table->rows[i].values);
    free(table->rows);
    free(table->units);
    shot_name_list_free(&table->shots);
    shot_csv_line_free(&table->header);
    shot_csv_line_free(&table->line);
    shot_text_free(&table->others);
    *table = (tag_table){0};
}
