/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Marks. */
#include <shottrace/trace/mark.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>

#include "room.h"

shot_mark shot_mark_none(void) {
    return (shot_mark){.from = NAN,
                       .to = NAN,
                       .from_low = NAN,
                       .from_high = NAN,
                       .to_low = NAN,
                       .to_high = NAN,
                       .value = NAN,
                       .value_low = NAN,
                       .value_high = NAN,
                       .level = NAN};
}

shot_status shot_mark_add_extra(shot_mark *mark, const char *key, const char *value) {
    shot_line *extras = realloc(mark->extras, (mark->extra_count + 1) * sizeof *extras);
    if (extras == NULL)
        return SHOT_ERR_MEMORY;
    mark->extras = extras;
    shot_line extra = {shot_text_copy(key), shot_text_copy(value)};
    if (extra.key == NULL || extra.value == NULL) {
        free(extra.key);
        free(extra.value);
        return SHOT_ERR_MEMORY;
    }
    extras[mark->extra_count++] = extra;
    return SHOT_OK;
}

static bool copy_text(const char *from, char **to) {
    *to = shot_text_copy(from);
    return from == NULL || *to != NULL;
}

shot_status shot_mark_copy(const shot_mark *mark, shot_mark *out) {
    *out = *mark;
    out->kind = out->id = out->channel = out->unit = out->refines = out->note = NULL;
    out->extras = NULL;
    out->extra_count = 0;
    bool fine = copy_text(mark->kind, &out->kind) && copy_text(mark->id, &out->id) &&
                copy_text(mark->channel, &out->channel) && copy_text(mark->unit, &out->unit) &&
                copy_text(mark->refines, &out->refines) && copy_text(mark->note, &out->note);
    for (size_t i = 0; fine && i < mark->extra_count; i++)
        fine = shot_mark_add_extra(out, mark->extras[i].key, mark->extras[i].value) == SHOT_OK;
    if (fine)
        return SHOT_OK;
    shot_mark_free(out);
    return SHOT_ERR_MEMORY;
}

void shot_mark_free(shot_mark *mark) {
    free(mark->kind);
    free(mark->id);
    free(mark->channel);
    free(mark->unit);
    free(mark->refines);
    free(mark->note);
    for (size_t i = 0; i < mark->extra_count; i++) {
        free(mark->extras[i].key);
        free(mark->extras[i].value);
    }
    free(mark->extras);
    *mark = shot_mark_none();
}

shot_status shot_mark_list_add(shot_mark_list *list, const shot_mark *mark) {
    shot_mark *marks = room_for_more(list->marks, list->count, &list->room, 8, sizeof *marks);
    if (marks == NULL)
        return SHOT_ERR_MEMORY;
    list->marks = marks;
    SHOT_TRY(shot_mark_copy(mark, &list->marks[list->count]));
    list->count++;
    return SHOT_OK;
}

void shot_mark_list_clear(shot_mark_list *list) {
    for (size_t i = 0; i < list->count; i++)
        shot_mark_free(&list->marks[i]);
    list->count = 0;
}

void shot_mark_list_free(shot_mark_list *list) {
    shot_mark_list_clear(list);
    free(list->marks);
    *list = (shot_mark_list){0};
}

static const shot_mark *with_id(const shot_mark_list *list, const char *id) {
    for (size_t i = 0; i < list->count; i++)
        if (list->marks[i].id != NULL && strcmp(list->marks[i].id, id) == 0)
            return &list->marks[i];
    return NULL;
}

/* A note in the place of a finding says that there was none. */
static bool withdraws(const shot_mark_list *list, const shot_mark *mark) {
    if (mark->refines == NULL || strcmp(mark->kind, "note") != 0)
        return false;
    const shot_mark *former = with_id(list, mark->refines);
    return former != NULL && strcmp(former->kind, "note") != 0;
}

int shot_mark_list_stands(const shot_mark_list *list, size_t index) {
    const char *id = list->marks[index].id;
    if (withdraws(list, &list->marks[index]))
        return 0;
    for (size_t i = index + 1; id != NULL && i < list->count; i++)
        if (list->marks[i].refines != NULL && strcmp(list->marks[i].refines, id) == 0)
            return 0;
    return 1;
}

const shot_mark *shot_mark_list_last(const shot_mark_list *list, const char *kind) {
    for (size_t i = list->count; i-- > 0;)
        if (strcmp(list->marks[i].kind, kind) == 0 && shot_mark_list_stands(list, i))
            return &list->marks[i];
    return NULL;
}

/* The number behind the prefix, as it is written there; 0 if the id is none of PREFIX1, ... */
static size_t number_of(const char *id, const char *prefix, size_t most) {
    const size_t length = strlen(prefix);
    size_t number = 0;
    if (strncmp(id, prefix, length) != 0 || id[length] == '0')
        return 0;
    for (const char *c = id + length; *c != '\0'; c++) {
        if (*c < '0' || *c > '9' || number > most)
            return 0;
        number = 10 * number + (size_t)(*c - '0');
    }
    return number;
}

/* Of one number more than there are marks at least one is free. */
shot_status shot_mark_list_new_id(const shot_mark_list *list, const char *prefix, char **out) {
    bool *taken = calloc(list->count + 2, sizeof *taken);
    shot_text id = {0};
    size_t number = 1;
    *out = NULL;
    if (taken == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < list->count; i++) {
        const char *one = list->marks[i].id;
        const size_t its = one != NULL ? number_of(one, prefix, list->count) : 0;
        if (its <= list->count)
            taken[its] = true;
    }
    while (taken[number])
        number++;
    free(taken);
    const shot_status status = shot_text_add_format(&id, "%s%zu", prefix, number);
    if (status != SHOT_OK)
        shot_text_free(&id);
    *out = status == SHOT_OK ? id.bytes : NULL;
    return status;
}

/* In ASCII alone, whatever the locale. */
static char small(char letter) {
    return letter >= 'A' && letter <= 'Z' ? (char)(letter + ('a' - 'A')) : letter;
}

/* knee -> "k", first-drip -> "fd".  A letter of several bytes is not cut in two: "m" for mark. */
static void id_prefix(const char *kind, char out[8]) {
    size_t length = 0;
    for (const char *c = kind; *c != '\0' && length < 7; c++)
        if ((c == kind || c[-1] == '-') && (unsigned char)*c < 0x80)
            out[length++] = small(*c);
    if (length == 0)
        out[length++] = 'm';
    out[length] = '\0';
}

shot_status shot_mark_list_id_for(const shot_mark_list *list, const char *kind, char **out) {
    char prefix[8];
    id_prefix(kind, prefix);
    return shot_mark_list_new_id(list, prefix, out);
}

int shot_mark_id_is_provisional(const char *id, const char *kind) {
    const size_t length = strlen(kind);
    return strncmp(id, kind, length) == 0 && id[length] == '-';
}
