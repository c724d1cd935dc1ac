/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots by measures. */
#include <shottrace/judge/measure_table.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/judge/measure.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/text.h>

#include "room.h"

/* ---- columns ---- */

static void free_column(shot_measure_column *column) {
    free(column->name);
    free(column->label);
    free(column->unit);
}

bool shot_measure_table_find(const shot_measure_table *table, const char *name, size_t *column) {
    for (size_t i = 0; i < table->column_count; i++)
        if (strcmp(table->columns[i].name, name) == 0) {
            *column = i;
            return true;
        }
    return false;
}

static shot_status add_column(shot_measure_table *table, const char *name, const char *label,
                              const char *unit) {
    shot_measure_column *columns = room_for_more(table->columns, table->column_count,
                                                 &table->column_room, 16, sizeof *columns);
    if (columns == NULL)
        return SHOT_ERR_MEMORY;
    table->columns = columns;
    shot_measure_column column = {shot_text_copy(name), shot_text_copy(label ? label : name),
                                  shot_text_copy(unit)};
    if (column.name == NULL || column.label == NULL || column.unit == NULL) {
        free_column(&column);
        return SHOT_ERR_MEMORY;
    }
    table->columns[table->column_count++] = column;
    return SHOT_OK;
}

/* ---- shots ---- */

shot_status shot_measure_table_add_shot(shot_measure_table *table, const char *name, size_t group) {
    shot_measured *shots =
        room_for_more(table->shots, table->shot_count, &table->shot_room, 16, sizeof *shots);
    if (shots == NULL)
        return SHOT_ERR_MEMORY;
    table->shots = shots;
    shot_measured shot = {.name = shot_text_copy(name), .group = group};
    if (shot.name == NULL)
        return SHOT_ERR_MEMORY;
    table->shots[table->shot_count++] = shot;
    return SHOT_OK;
}

static shot_status set_value(shot_measured *shot, size_t column, double value) {
    if (column >= shot->value_count) {
        double *values = realloc(shot->values, (column + 1) * sizeof *values);
        if (values == NULL)
            return SHOT_ERR_MEMORY;
        for (size_t i = shot->value_count; i <= column; i++)
            values[i] = NAN;
        shot->values = values;
        shot->value_count = column + 1;
    }
    shot->values[column] = isfinite(value) ? value : NAN;
    return SHOT_OK;
}

shot_status shot_measure_table_set(shot_measure_table *table, size_t shot, const char *name,
                                   const char *label, const char *unit, double value,
                                   shot_error *error) {
    size_t column;
    if (!shot_measure_table_find(table, name, &column)) {
        column = table->column_count;
        SHOT_TRY(add_column(table, name, label, unit));
    }
    if (strcmp(table->columns[column].unit, unit) != 0)
        return shot_fail(error, SHOT_ERR_UNIT, "shot '%s': '%s' is in [%s], but in [%s] elsewhere",
                         table->shots[shot].name, name, unit, table->columns[column].unit);
    return set_value(&table->shots[shot], column, value);
}

static shot_status copy_metadata(shot_measured *shot, const shot_head *head) {
    shot->lines = calloc(head->line_count + 1, sizeof *shot->lines);
    if (shot->lines == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < head->line_count; i++) {
        const shot_line *line = &head->lines[i];
        if (line->key == NULL)
            continue;
        shot_line *copy = &shot->lines[shot->line_count++];
        *copy = (shot_line){shot_text_copy(line->key), shot_text_copy(line->value)};
        if (copy->key == NULL || copy->value == NULL)
            return SHOT_ERR_MEMORY;
    }
    return SHOT_OK;
}

shot_status shot_measure_table_set_kind(shot_measure_table *table, size_t shot,
                                        const shot_measure_kind *kind, double value,
                                        shot_error *error) {
    shot_text label = {0};
    shot_status status = shot_measure_kind_add_label(kind, &label);
    if (status == SHOT_OK)
        status =
            shot_measure_table_set(table, shot, kind->name, label.bytes, kind->unit, value, error);
    shot_text_free(&label);
    return status;
}

static shot_status set_all(shot_measure_table *table, size_t shot, const shot_measure_list *list,
                           shot_error *error) {
    for (size_t i = 0; i < list->count; i++)
        SHOT_TRY(shot_measure_table_set_kind(table, shot, list->items[i].kind, list->items[i].value,
                                             error));
    return SHOT_OK;
}

shot_status shot_measure_table_add_trace(shot_measure_table *table, const shot_table *shot,
                                         size_t group, shot_error *error) {
    shot_measure_list list = {0};
    SHOT_TRY(shot_measure_table_add_shot(table, shot->head.name, group));
    size_t index = table->shot_count - 1;
    SHOT_TRY(copy_metadata(&table->shots[index], &shot->head));
    shot_status status = shot_measures_of(shot, &list, error);
    if (status == SHOT_OK)
        status = set_all(table, index, &list, error);
    shot_measure_list_free(&list);
    return status;
}

const char *shot_measure_table_metadata(const shot_measure_table *table, size_t shot,
                                        const char *key) {
    const shot_measured *one = &table->shots[shot];
    for (size_t i = one->line_count; i-- > 0;)
        if (strcmp(one->lines[i].key, key) == 0)
            return one->lines[i].value;
    return NULL;
}

/* "82" or "18.2 g": the number, and the unit that follows in `unit` (borrowed, may be empty). */
static bool read_number(const char *text, double *value, const char **unit) {
    const char *after = shot_number_read(text, text + strlen(text), value);
    if (after == NULL || !isfinite(*value))
        return false;
    *unit = after + strspn(after, " ");
    return strcspn(*unit, " \t,;") == strlen(*unit) &&
           (**unit == '\0' || !strchr("0123456789.:-+/", **unit));
}

shot_status shot_measure_table_add_key(shot_measure_table *table, const char *key,
                                       shot_error *error) {
    for (size_t i = 0; i < table->shot_count; i++) {
        const char *text = shot_measure_table_metadata(table, i, key), *unit;
        double value;
        if (text != NULL && read_number(text, &value, &unit))
            SHOT_TRY(shot_measure_table_set(table, i, key, NULL, unit, value, error));
    }
    return SHOT_OK;
}

/* ---- looking at it ---- */

double shot_measure_table_value(const shot_measure_table *table, size_t shot, size_t column) {
    const shot_measured *one = &table->shots[shot];
    return column < one->value_count ? one->values[column] : NAN;
}

size_t shot_measure_table_values(const shot_measure_table *table, size_t column, size_t group,
                                 double *values) {
    size_t count = 0;
    for (size_t i = 0; i < table->shot_count; i++)
        if (table->shots[i].group == group)
            values[count++] = shot_measure_table_value(table, i, column);
    return count;
}

/* Where each column goes: known kinds in their order, then the rest as they came. */
static void find_order(const shot_measure_table *table, size_t *order) {
    size_t count, placed = 0;
    const shot_measure_kind *kinds = shot_measure_kinds(&count);
    for (size_t k = 0; k < count; k++) {
        size_t column;
        if (shot_measure_table_find(table, kinds[k].name, &column))
            order[placed++] = column;
    }
    for (size_t i = 0; i < table->column_count; i++)
        if (shot_measure_kind_named(table->columns[i].name) == NULL)
            order[placed++] = i;
}

static shot_status permute(shot_measure_table *table, const size_t *order) {
    size_t count = table->column_count;
    shot_measure_column *columns = malloc(table->column_room * sizeof *columns);
    if (columns == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < count; i++)
        columns[i] = table->columns[order[i]];
    free(table->columns);
    table->columns = columns;
    for (size_t s = 0; s < table->shot_count; s++) {
        double *values = malloc(count * sizeof *values);
        if (values == NULL)
            return SHOT_ERR_MEMORY;
        for (size_t i = 0; i < count; i++)
            values[i] = shot_measure_table_value(table, s, order[i]);
        free(table->shots[s].values);
        table->shots[s].values = values;
        table->shots[s].value_count = count;
    }
    return SHOT_OK;
}

shot_status shot_measure_table_sort(shot_measure_table *table) {
    if (table->column_count == 0)
        return SHOT_OK;
    size_t *order = malloc(table->column_count * sizeof *order);
    if (order == NULL)
        return SHOT_ERR_MEMORY;
    find_order(table, order);
    shot_status status = permute(table, order);
    free(order);
    return status;
}

void shot_measure_table_free(shot_measure_table *table) {
    for (size_t i = 0; i < table->column_count; i++)
        free_column(&table->columns[i]);
    for (size_t i = 0; i < table->shot_count; i++) {
        shot_measured *shot = &table->shots[i];
        for (size_t k = 0; k < shot->line_count; k++) {
            free(shot->lines[k].key);
            free(shot->lines[k].value);
        }
        free(shot->lines);
        free(shot->values);
        free(shot->name);
    }
    free(table->columns);
    free(table->shots);
    *table = (shot_measure_table){0};
}
