/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What two groups are called: by the file or the folder that each came from. */
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/plain_text.h>

#include "judge/compare_parts.h"

/* A part of a path, borrowed. */
typedef struct span {
    const char *bytes;
    size_t length;
} span;

static span without_slashes(span path) {
    while (path.length > 1 && path.bytes[path.length - 1] == '/')
        path.length--;
    return path;
}

/* Where the last part of a path begins. */
static size_t last_part(span path) {
    size_t at = path.length;
    while (at > 0 && path.bytes[at - 1] != '/')
        at--;
    return at;
}

static span folder_of(span path) {
    return without_slashes((span){path.bytes, last_part(path)});
}

/* "shots/coarse/" and "shots/coarse.csv" are both "coarse". */
static span name_of(span path) {
    const size_t at = last_part(path);
    span name = {path.bytes + at, path.length - at};
    for (size_t i = name.length; i > 1; i--)
        if (name.bytes[i - 1] == '.')
            return (span){name.bytes, i - 1};
    return name;
}

static bool same(span a, span b) {
    return a.length == b.length && memcmp(a.bytes, b.bytes, a.length) == 0;
}

/* One path: its name; more: the folder that they share.  Empty where that says nothing. */
static span name_of_all(const shot_texts *paths) {
    static const span nothing = {"", 0};
    if (paths == NULL || paths->count == 0)
        return nothing;
    const span first = without_slashes((span){paths->items[0], strlen(paths->items[0])});
    if (paths->count == 1)
        return strcmp(paths->items[0], "-") == 0 ? nothing : name_of(first);
    for (size_t i = 1; i < paths->count; i++)
        if (!same(folder_of(first), folder_of((span){paths->items[i], strlen(paths->items[i])})))
            return nothing;
    return name_of(folder_of(first));
}

/* What the page can show: a file's name may hold anything, line feeds too. */
static char *label_of(span name) {
    char *text = shot_text_copy_bytes(name.bytes, name.length);
    if (text != NULL)
        shot_plain_line(text);
    return text;
}

/* Would a reader take one for the other? */
static bool look_alike(const char *a, const char *b) {
    const size_t shown = shot_plain_cut(a, COMPARE_LABEL_SHOWN);
    return shown == shot_plain_cut(b, COMPARE_LABEL_SHOWN) && memcmp(a, b, shown) == 0;
}

shot_status shot_compare_label_two(shot_compare_groups *groups, const shot_texts *first,
                                   const shot_texts *second) {
    char *a = label_of(name_of_all(first)), *b = label_of(name_of_all(second));
    shot_status status = a != NULL && b != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    const bool tell = status == SHOT_OK && *a != '\0' && *b != '\0' && !look_alike(a, b);
    if (status == SHOT_OK)
        status = shot_compare_label(groups, tell ? a : "A");
    if (status == SHOT_OK)
        status = shot_compare_label(groups, tell ? b : "B");
    free(a);
    free(b);
    return status;
}
