/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names that can be looked up. */
#include <shottrace/trace/name_list.h>

#include <stdlib.h>
#include <string.h>

#include "plain_format.h"
#include "room.h"

enum { SHOWN = 5, REST = 40 }; /* names; bytes of how many more there are */

shot_status shot_name_list_add(shot_name_list *list, const char *name) {
    shot_named *names = room_for_more(list->names, list->count, &list->room, 16, sizeof *names);
    if (names == NULL)
        return SHOT_ERR_MEMORY;
    list->names = names;
    char *copy = shot_text_copy(name);
    if (copy == NULL)
        return SHOT_ERR_MEMORY;
    list->names[list->count] = (shot_named){copy, list->count, false};
    list->count++;
    return SHOT_OK;
}

static int by_name(const void *a, const void *b) {
    const shot_named *x = a, *y = b;
    const int order = strcmp(x->name, y->name);
    return order != 0 ? order : (x->index > y->index) - (x->index < y->index);
}

void shot_name_list_sort(shot_name_list *list) {
    if (list->count > 0)
        qsort(list->names, list->count, sizeof *list->names, by_name);
}

const shot_named *shot_name_list_find(shot_name_list *list, const char *name, size_t *count) {
    size_t low = 0, high = list->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (strcmp(list->names[middle].name, name) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    *count = 0;
    for (size_t i = low; i < list->count && strcmp(list->names[i].name, name) == 0; i++) {
        list->names[i].met = true;
        ++*count;
    }
    return *count > 0 ? &list->names[low] : NULL;
}

void shot_name_list_free(shot_name_list *list) {
    for (size_t i = 0; i < list->count; i++)
        free(list->names[i].name);
    free(list->names);
    *list = (shot_name_list){0};
}

shot_status shot_name_sample_add(shot_name_sample *sample, const char *name) {
    if (sample->count++ >= SHOWN)
        return SHOT_OK;
    const char *comma = sample->count > 1 ? ", " : "";
    SHOT_TRY(shot_text_add_format(&sample->text, "%s'%s'", comma, name));
    return shot_text_reserve(&sample->text, REST);
}

shot_status shot_name_sample_add_unmet(shot_name_sample *sample, const shot_name_list *sorted) {
    for (size_t i = 0; i < sorted->count; i++)
        if (!sorted->names[i].met &&
            (i == 0 || strcmp(sorted->names[i - 1].name, sorted->names[i].name) != 0))
            SHOT_TRY(shot_name_sample_add(sample, sorted->names[i].name));
    return SHOT_OK;
}

const char *shot_name_sample_text(shot_name_sample *sample) {
    char rest[REST];
    if (sample->count > SHOWN) {
        shot_format(rest, sizeof rest, " and %zu more", sample->count - SHOWN);
        (void)shot_text_add(&sample->text, rest); /* there is room */
    }
    sample->count = sample->count > SHOWN ? SHOWN : sample->count;
    return sample->text.bytes;
}

void shot_name_sample_free(shot_name_sample *sample) {
    shot_text_free(&sample->text);
    *sample = (shot_name_sample){0};
}
