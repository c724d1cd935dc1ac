/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table of measures from its text: shot,measure,value,unit,low,high,level,note, and the line that
 * an average keeps of each of its shots. */
#include <shottrace/judge/measure_table.h>

#include <math.h>
#include <string.h>

#include <shottrace/trace/csv_line.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quoting.h>

enum { SHOT, MEASURE, VALUE, UNIT, FIELDS };

/* The shot of that name and group; made when it is new.  Mostly it is the last one. */
static shot_status find_shot(shot_measure_table *table, const char *name, size_t group,
                             size_t *shot) {
    for (size_t i = table->shot_count; i-- > 0;)
        if (table->shots[i].group == group && strcmp(table->shots[i].name, name) == 0) {
            *shot = i;
            return SHOT_OK;
        }
    *shot = table->shot_count;
    return shot_measure_table_add_shot(table, name, group);
}

/* Two shots of one name would pass for one: a value that comes twice must be the same. */
static shot_status check_again(const shot_measure_table *table, size_t shot, char *const *field,
                               double value, shot_error *error) {
    size_t column;
    if (!shot_measure_table_find(table, field[MEASURE], &column))
        return SHOT_OK;
    const double old = shot_measure_table_value(table, shot, column);
    if (isnan(old) || isnan(value) || old == value)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_DATA,
                     "'%.60s' has %.40s twice, %g and %g: two shots of one name? Give each a name "
                     "of its own",
                     field[SHOT], field[MEASURE], old, value);
}

static shot_status add_fields(shot_measure_table *table, char *const *field, size_t group,
                              shot_error *error) {
    double value = NAN;
    bool missing = *field[VALUE] == '\0' || strcmp(field[VALUE], "nan") == 0 ||
                   strcmp(field[VALUE], "NaN") == 0 || strcmp(field[VALUE], "NA") == 0;
    const char *end = field[VALUE] + strlen(field[VALUE]);
    if (!missing && (shot_number_read(field[VALUE], end, &value) != end || isinf(value)))
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "%s is '%s', not a number; leave the field empty if it is missing",
                         field[MEASURE], field[VALUE]);
    if (*field[MEASURE] == '\0')
        return shot_fail(error, SHOT_ERR_SYNTAX, "the measure has no name");
    size_t shot;
    const shot_measure_kind *kind = shot_measure_kind_named(field[MEASURE]);
    SHOT_TRY(find_shot(table, field[SHOT], group, &shot));
    SHOT_TRY(check_again(table, shot, field, value, error));
    if (kind != NULL && strcmp(kind->unit, field[UNIT]) == 0)
        return shot_measure_table_set_kind(table, shot, kind, value, error);
    return shot_measure_table_set(table, shot, field[MEASURE], NULL, field[UNIT], value, error);
}

shot_status shot_measure_table_add_line(shot_measure_table *table, const char *line, size_t length,
                                        size_t group, shot_error *error) {
    if (length == 0)
        return SHOT_OK;
    shot_csv_line fields = {0};
    shot_status status = shot_csv_line_read(&fields, line, length);
    if (status == SHOT_OK)
        status = fields.count >= FIELDS ? add_fields(table, fields.field, group, error)
                                        : shot_fail(error, SHOT_ERR_SYNTAX,
                                                    "a row of measures is "
                                                    "shot,measure,value,unit,low,high,level,note");
    shot_csv_line_free(&fields);
    return status;
}

shot_status shot_measured_write(shot_text *text, const char *shot,
                                const shot_measure_list *measures) {
    SHOT_TRY(shot_text_add_csv(text, shot));
    for (size_t i = 0; i < measures->count; i++) {
        const shot_measure *one = &measures->items[i];
        SHOT_TRY(shot_text_add_format(text, ",%s,", one->kind->name));
        SHOT_TRY(shot_text_add_number(text, one->value));
        SHOT_TRY(shot_text_add_format(text, ",%s", one->kind->unit));
    }
    return SHOT_OK;
}

/* The shot is new even if another one has its name: they are shots of different averages. */
static shot_status add_measured(shot_measure_table *table, char *const *field, size_t count,
                                size_t group, shot_error *error) {
    size_t shot = table->shot_count;
    SHOT_TRY(shot_measure_table_add_shot(table, field[0], group));
    for (size_t i = 1; i + 2 < count; i += 3) {
        const shot_measure_kind *kind = shot_measure_kind_named(field[i]);
        const char *end = field[i + 1] + strlen(field[i + 1]);
        double value;
        if (kind == NULL || strcmp(kind->unit, field[i + 2]) != 0 ||
            shot_number_read(field[i + 1], end, &value) != end)
            return shot_fail(error, SHOT_ERR_SYNTAX,
                             "'# measured:' says '%.60s' of '%.30s', which is no measure", field[i],
                             field[0]);
        SHOT_TRY(shot_measure_table_set_kind(table, shot, kind, value, error));
    }
    return SHOT_OK;
}

shot_status shot_measure_table_add_measured(shot_measure_table *table, const char *line,
                                            size_t group, shot_error *error) {
    shot_csv_line fields = {0};
    shot_status status = shot_csv_line_read(&fields, line, strlen(line));
    if (status == SHOT_OK)
        status = add_measured(table, fields.field, fields.count, group, error);
    shot_csv_line_free(&fields);
    return status;
}
