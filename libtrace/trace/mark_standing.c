/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last word on each finding, of many marks at once. */
#include "trace/mark_standing.h"

#include <stdlib.h>
#include <string.h>

typedef struct place {
    const char *name; /* an id, or the id that is refined */
    size_t index;     /* of the mark in its list */
} place;

typedef struct places {
    place *items;
    size_t count;
} places;

static int by_name_and_index(const void *a, const void *b) {
    const place *const x = a, *const y = b;
    const int order = strcmp(x->name, y->name);
    return order != 0 ? order : x->index < y->index ? -1 : x->index > y->index;
}

static void add(places *all, const char *name, size_t index) {
    if (name != NULL)
        all->items[all->count++] = (place){name, index};
}

/* The first of that name, or with `behind` the first of a later one. */
static size_t bound(const places *all, const char *name, bool behind) {
    size_t low = 0, high = all->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        const int order = strcmp(all->items[middle].name, name);
        if (order < 0 || (order == 0 && behind))
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* The first mark that bears the id; NULL if none does. */
static const shot_mark *with_id(const shot_mark_list *list, const places *ids, const char *id) {
    const size_t at = bound(ids, id, false);
    const bool found = at < ids->count && strcmp(ids->items[at].name, id) == 0;
    return found ? &list->marks[ids->items[at].index] : NULL;
}

static bool is_refined_later(const places *refined, const char *id, size_t index) {
    const size_t behind = id != NULL ? bound(refined, id, true) : 0;
    if (behind == 0 || strcmp(refined->items[behind - 1].name, id) != 0)
        return false;
    return refined->items[behind - 1].index > index;
}

/* As shot_mark_list_stands (trace/mark.c) has it, by places that are sorted. */
static bool stands(const shot_mark_list *list, size_t index, const places *ids,
                   const places *refined) {
    const shot_mark *one = &list->marks[index];
    if (one->refines != NULL && strcmp(one->kind, "note") == 0) {
        const shot_mark *former = with_id(list, ids, one->refines);
        if (former != NULL && strcmp(former->kind, "note") != 0) /* it withdraws that one */
            return false;
    }
    return !is_refined_later(refined, one->id, index);
}

static void keep(shot_mark_list *list, const bool *kept) {
    size_t count = 0;
    for (size_t i = 0; i < list->count; i++) {
        if (kept[i])
            list->marks[count++] = list->marks[i];
        else
            shot_mark_free(&list->marks[i]);
    }
    list->count = count;
}

shot_status mark_standing_find(const shot_mark_list *list, bool *standing) {
    const size_t n = list->count;
    places ids = {calloc(n + 1, sizeof(place)), 0}, refined = {calloc(n + 1, sizeof(place)), 0};
    const bool fine = ids.items != NULL && refined.items != NULL;
    for (size_t i = 0; fine && i < n; i++) {
        add(&ids, list->marks[i].id, i);
        add(&refined, list->marks[i].refines, i);
    }
    if (fine) {
        qsort(ids.items, ids.count, sizeof(place), by_name_and_index);
        qsort(refined.items, refined.count, sizeof(place), by_name_and_index);
        for (size_t i = 0; i < n; i++)
            standing[i] = stands(list, i, &ids, &refined);
    }
    free(ids.items);
    free(refined.items);
    return fine ? SHOT_OK : SHOT_ERR_MEMORY;
}

shot_status shot_mark_list_keep_standing(shot_mark_list *list) {
    bool *kept = calloc(list->count + 1, sizeof *kept);
    const shot_status status = kept != NULL ? mark_standing_find(list, kept) : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        keep(list, kept);
    free(kept);
    return status;
}
