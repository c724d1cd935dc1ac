/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots that stand on both sides of a comparison: a file named twice, or today's in the folder of
 * the usual ones. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/stage.h>

#include "judge/compare_parts.h"

/* Fewer measures that agree may agree by chance: a score, a dose. */
enum { LEAST_MEASURES = 3 };

/* A shot in an order in which twins are neighbours: by name, then by measure after measure. */
typedef struct ordered {
    const shot_measure_table *table;
    size_t shot;
} ordered;

static int by_value(double x, double y) {
    return isnan(x) || isnan(y) ? isnan(x) - isnan(y) : (x > y) - (x < y);
}

static int by_name_and_measures(const void *a, const void *b) {
    const ordered *p = a, *q = b;
    int order = strcmp(p->table->shots[p->shot].name, q->table->shots[q->shot].name);
    for (size_t c = 0; c < p->table->column_count && order == 0; c++)
        order = by_value(shot_measure_table_value(p->table, p->shot, c),
                         shot_measure_table_value(q->table, q->shot, c));
    return order;
}

static int by_all(const void *a, const void *b) {
    const ordered *p = a, *q = b;
    const int order = by_name_and_measures(a, b);
    return order != 0 ? order : (p->shot > q->shot) - (p->shot < q->shot);
}

static bool tells_enough(const shot_measure_table *table, size_t shot) {
    size_t measures = 0;
    for (size_t c = 0; c < table->column_count; c++)
        measures += !isnan(shot_measure_table_value(table, shot, c));
    return measures >= LEAST_MEASURES;
}

/* Of shots that are alike in all, those before which one of another group was read. */
static void mark_alike(const ordered *alike, size_t count, bool *twin) {
    size_t first = COMPARE_LEFT_OUT;
    bool several = false; /* groups among those before */
    for (size_t i = 0; i < count; i++) {
        const size_t group = alike[i].table->shots[alike[i].shot].group;
        if (group == COMPARE_LEFT_OUT)
            continue;
        const bool another = first != COMPARE_LEFT_OUT && group != first;
        first = first == COMPARE_LEFT_OUT ? group : first;
        several = several || another;
        twin[alike[i].shot] = several;
    }
}

/* twin[i]: shot i was read from another group before. */
static shot_status find_twins(const shot_measure_table *table, bool *twin) {
    const size_t count = table->shot_count;
    ordered *order = malloc((count + 1) * sizeof *order);
    if (order == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < count; i++)
        order[i] = (ordered){table, i};
    qsort(order, count, sizeof *order, by_all);
    for (size_t i = 0, next; i < count; i = next) {
        for (next = i + 1; next < count && by_name_and_measures(&order[i], &order[next]) == 0;)
            next++;
        if (tells_enough(table, order[i].shot))
            mark_alike(order + i, next - i, twin);
    }
    free(order);
    return SHOT_OK;
}

/* Twins among the shots of one kind: the usual ones, or those of groups. */
typedef struct twins {
    size_t count, last;
} twins;

static twins count_twins(const shot_measure_table *table, const bool *twin, bool usual) {
    twins found = {0, 0};
    for (size_t i = 0; i < table->shot_count; i++)
        if ((table->shots[i].group == COMPARE_USUAL) == usual && twin[i])
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

static void tell_and_leave_out(shot_compare_groups *groups, const bool *twin,
                               const shot_notice *notice) {
    shot_measure_table *table = &groups->table;
    const twins usual = count_twins(table, twin, true), others = count_twins(table, twin, false);
    const bool some = usual.count < shot_compare_group_size(groups, COMPARE_USUAL);
    tell(table, usual,
         some ? "left out of the usual ones" : "a log that was named twice hides what differs",
         notice);
    tell(table, others, "a log that was named twice hides what differs", notice);
    for (size_t i = 0; i < table->shot_count && some; i++)
        if (table->shots[i].group == COMPARE_USUAL && twin[i])
            table->shots[i].group = COMPARE_LEFT_OUT;
}

shot_status shot_compare_find_twins(shot_compare_groups *groups, const shot_notice *notice) {
    bool *twin = calloc(groups->table.shot_count + 1, sizeof *twin);
    if (twin == NULL)
        return SHOT_ERR_MEMORY;
    const shot_status status = find_twins(&groups->table, twin);
    if (status == SHOT_OK)
        tell_and_leave_out(groups, twin, notice);
    free(twin);
    return status;
}
