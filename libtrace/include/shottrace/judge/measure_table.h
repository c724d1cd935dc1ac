/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots by measures: what a comparison of shots works on.
 *
 *     shot_measure_table table = {0};
 *     shot_measure_table_add_trace(&table, &shot, 0, &error);     for each shot of group 0
 *     size_t column;
 *     if (shot_measure_table_find(&table, "first-drip.time", &column))
 *         n = shot_measure_table_values(&table, column, 0, values);
 *     shot_measure_table_free(&table);
 *
 * Shots come from traces with their marks, or from a table of measures as shot-report writes it.
 * A measure that a shot lacks is missing (NaN).
 */
#ifndef SHOTTRACE_JUDGE_MEASURE_TABLE_H
#define SHOTTRACE_JUDGE_MEASURE_TABLE_H

#include <shottrace/judge/measure.h>
#include <shottrace/trace/table.h>
#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_measure_column {
    char *name, *label, *unit; /* owned */
} shot_measure_column;

typedef struct shot_measured {
    char *name;
    size_t group;
    shot_line *lines; /* metadata: key and value */
    size_t line_count;
    double *values; /* of the first value_count columns; the others are missing */
    size_t value_count;
} shot_measured;

/* A zeroed table is empty. */
typedef struct shot_measure_table {
    shot_measure_column *columns;
    size_t column_count, column_room;
    shot_measured *shots;
    size_t shot_count, shot_room;
} shot_measure_table;

/* Append a shot without measures. */
SHOT_API shot_status shot_measure_table_add_shot(shot_measure_table *table, const char *name,
                                                 size_t group);

/* Set a measure of a shot; the column is made when its name is new, `label` NULL then means the
 * name.  SHOT_ERR_UNIT with a sentence if the measure has another unit already. */
SHOT_API shot_status shot_measure_table_set(shot_measure_table *table, size_t shot,
                                            const char *name, const char *label, const char *unit,
                                            double value, shot_error *error);

/* The same for a measure of the library, whose unit must be the kind's. */
SHOT_API shot_status shot_measure_table_set_kind(shot_measure_table *table, size_t shot,
                                                 const shot_measure_kind *kind, double value,
                                                 shot_error *error);

/* Append a shot with all that shot_measures_of() finds in it, and its metadata.  Errors as for
 * that, and SHOT_ERR_UNIT as above. */
SHOT_API shot_status shot_measure_table_add_trace(shot_measure_table *table, const shot_table *shot,
                                                  size_t group, shot_error *error);

/* One line behind the header of a table `shot,measure,value,unit,low,high,level,note` (RFC 4180
 * without line breaks in fields).  Lines of one shot and group may stand anywhere.  A value that is
 * empty is missing; the columns behind the unit may be left out.  SHOT_ERR_SYNTAX with a sentence;
 * SHOT_ERR_DATA where the shot has the measure already, with another value: two shots of one name.
 */
SHOT_API shot_status shot_measure_table_add_line(shot_measure_table *table, const char *line,
                                                 size_t length, size_t group, shot_error *error);

/* The measures of a shot on one line, to be read back by the next function: its name, then name,
 * value and unit of each measure, as CSV (RFC 4180). */
SHOT_API shot_status shot_measured_write(shot_text *text, const char *shot,
                                         const shot_measure_list *measures);
/* Append the shot of such a line.  SHOT_ERR_SYNTAX with a sentence. */
SHOT_API shot_status shot_measure_table_add_measured(shot_measure_table *table, const char *line,
                                                     size_t group, shot_error *error);

/* Make a measure of a metadata key, for all shots where its value is a number with at most one word
 * of unit behind it ("82", "18.2 g").  Nothing happens where the key is none of the shots'.
 * SHOT_ERR_UNIT with a sentence where their units differ. */
SHOT_API shot_status shot_measure_table_add_key(shot_measure_table *table, const char *key,
                                                shot_error *error);

/* Put the columns into the order of the kinds of measures, others behind them as they came. */
SHOT_API shot_status shot_measure_table_sort(shot_measure_table *table);

/* The column of that name. */
SHOT_API bool shot_measure_table_find(const shot_measure_table *table, const char *name,
                                      size_t *column);
SHOT_API double shot_measure_table_value(const shot_measure_table *table, size_t shot,
                                         size_t column);
/* The column of a group, in the order of its shots, missing values included; `values` has room for
 * all shots.  Returns how many. */
SHOT_API size_t shot_measure_table_values(const shot_measure_table *table, size_t column,
                                          size_t group, double *values);
/* The last value of a metadata key of a shot, or NULL. */
SHOT_API const char *shot_measure_table_metadata(const shot_measure_table *table, size_t shot,
                                                 const char *key);

SHOT_API void shot_measure_table_free(shot_measure_table *table);

#ifdef __cplusplus
}
#endif
#endif
