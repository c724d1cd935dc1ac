/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures: the figures that describe a shot.
 *
 *     shot_measure_list measures = {0};
 *     shot_measures_of(&shot, &measures);
 *     const shot_measure *mass = shot_measure_list_find(&measures, "beverage.mass");
 *     shot_measure_list_free(&measures);
 *
 * Names, units and meanings stand in one table (judge/measure_kinds.c) and on one page
 * (docs/measures.md), and do not change.  A measure that the shot cannot give is not in the list.
 */
#ifndef SHOTTRACE_JUDGE_MEASURE_H
#define SHOTTRACE_JUDGE_MEASURE_H

#include <shottrace/trace/table.h>
#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum shot_measure_group {
    SHOT_MEASURE_COURSE,
    SHOT_MEASURE_PRESSURE,
    SHOT_MEASURE_WANTED, /* against what the machine was asked for */
    SHOT_MEASURE_FLOW,
    SHOT_MEASURE_CUP,
    SHOT_MEASURE_MODEL, /* rests on a model: low..high is the range of its assumption, no level */
    SHOT_MEASURE_FINDINGS
} shot_measure_group;

typedef struct shot_measure_kind {
    const char *name; /* for machines; does not change */
    shot_measure_group group;
    const char *label; /* for people, a few words */
    const char *unit;
    const char *meaning;
} shot_measure_kind;

/* `low`..`high` is the interval at `level` where the figure is an estimate; the range of what was
 * assumed, with no level, where it rests on a model; else NaN. */
typedef struct shot_measure {
    const shot_measure_kind *kind;
    double value, low, high, level;
    char *note; /* assumption or reason; NULL if there is none; owned by the list */
} shot_measure;

typedef struct shot_measure_list {
    shot_measure *items;
    size_t count, room;
} shot_measure_list;

/* All kinds in their fixed order, `*count` of them; static storage. */
SHOT_API const shot_measure_kind *shot_measure_kinds(size_t *count);
/* The kind of that name, or NULL. */
SHOT_API const shot_measure_kind *shot_measure_kind_named(const char *name);

/* What no value of the measure is less than: 0, as no length and no mass is, or -INFINITY, also for
 * a name that is no measure's. */
SHOT_API double shot_measure_least(const char *name);

/* Does the measure say when by the clock of its log?  That is no property of the shot. */
SHOT_API bool shot_measure_is_clock(const char *name);

/* Fail with SHOT_ERR_DATA: no shot has a measure of that name.  Says which names may be meant:
 * those that contain it, or that a page calls so. */
SHOT_API shot_status shot_measure_unknown(const char *name, shot_error *error);

/* Append a label that stands alone: on a page of one shot "in the brew" stands under "Pressure",
 * and alone it is "pressure, in the brew". */
SHOT_API shot_status shot_measure_kind_add_label(const shot_measure_kind *kind, shot_text *out);

/* Append a measure; values that are not finite are left out.  `name` must be a kind's (else
 * SHOT_ERR_RANGE); `low`, `high` NaN and `note` NULL where there is none.  The level is 0.95, or
 * none for what rests on a model.  An interval is cut at what the measure cannot be less than,
 * which takes nothing from its coverage: Mandelkern 2002, 'Setting confidence intervals for bounded
 * parameters', Statistical Science 17:149-172. */
SHOT_API shot_status shot_measure_list_add(shot_measure_list *list, const char *name, double value,
                                           double low, double high, const char *note);
/* The measure of that name, or NULL. */
SHOT_API const shot_measure *shot_measure_list_find(const shot_measure_list *list,
                                                    const char *name);
SHOT_API void shot_measure_list_free(shot_measure_list *list);

/* All measures that the shot, with the marks found in it, can give, in the order of the kinds.
 * `out` must be zeroed.  SHOT_ERR_MEMORY; SHOT_ERR_UNIT with a message where metadata that a
 * measure needs (`# dose:`) is no quantity of its kind. */
SHOT_API shot_status shot_measures_of(const shot_table *shot, shot_measure_list *out,
                                      shot_error *error);

/* The same, and how far the shot kept to a curve that was wanted: the channels `pressure` and
 * `flow` (or `wanted.pressure` ...) of `wanted`, whose water enters at its preinfusion mark, else
 * at its time 0.  Channels `wanted.*` of the shot itself go before it.  `wanted` may be NULL. */
SHOT_API shot_status shot_measures_against(const shot_table *shot, const shot_table *wanted,
                                           shot_measure_list *out, shot_error *error);

#ifdef __cplusplus
}
#endif
#endif
