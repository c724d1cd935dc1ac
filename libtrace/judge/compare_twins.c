/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots that stand on both sides of a comparison: a file named twice, or today's in the folder of
 * the usual ones. */
#include <math.h>
#include <string.h>

#include <shottrace/trace/stage.h>

#include "judge/compare_parts.h"

/* Fewer measures that agree may agree by chance: a score, a dose. */
enum { LEAST_MEASURES = 3 };

static bool are_twins(const shot_measure_table *table, size_t i, size_t k) {
    size_t alike = 0;
    if (strcmp(table->shots[i].name, table->shots[k].name) != 0)
        return false;
    for (size_t c = 0; c < table->column_count; c++) {
        const double x = shot_measure_table_value(table, i, c);
        const double y = shot_measure_table_value(table, k, c);
        if (isnan(x) != isnan(y) || x < y || x > y)
            return false;
        alike += !isnan(x);
    }
    return alike >= LEAST_MEASURES;
}

static bool has_twin(const shot_measure_table *table, size_t i) {
    const size_t group = table->shots[i].group;
    for (size_t k = 0; k < i && group != COMPARE_LEFT_OUT; k++)
        if (table->shots[k].group != group && table->shots[k].group != COMPARE_LEFT_OUT &&
            are_twins(table, k, i))
            return true;
    return false;
}

/* Twins among the shots of one kind: the usual ones, or those of groups. */
typedef struct twins {
    size_t count, last;
} twins;

static twins count_twins(const shot_measure_table *table, bool usual) {
    twins found = {0, 0};
    for (size_t i = 0; i < table->shot_count; i++)
        if ((table->shots[i].group == COMPARE_USUAL) == usual && has_twin(table, i))
            found = (twins){found.count + 1, i};
    return found;
}

static void tell(const shot_measure_table *table, twins found, const char *then,
                 const shot_notice *notice) {
    if (found.count > 0)
        shot_notice_say(notice, "%zu shot%s on both sides ('%s'%s), alike in every measure: %s",
                        found.count, found.count == 1 ? " is" : "s are",
                        table->shots[found.last].name, found.count == 1 ? "" : " ...", then);
}

void shot_compare_find_twins(shot_compare_groups *groups, const shot_notice *notice) {
    shot_measure_table *table = &groups->table;
    const twins usual = count_twins(table, true), others = count_twins(table, false);
    const bool some = usual.count < shot_compare_group_size(groups, COMPARE_USUAL);
    tell(table, usual,
         some ? "left out of the usual ones" : "a log that was named twice hides what differs",
         notice);
    tell(table, others, "a log that was named twice hides what differs", notice);
    for (size_t i = table->shot_count; i-- > 0 && some;)
        if (table->shots[i].group == COMPARE_USUAL && has_twin(table, i))
            table->shots[i].group = COMPARE_LEFT_OUT;
}
