/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The marks of a shot that count. */
#include "judge/counted_marks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "trace/mark_standing.h"

static bool is_same_text(const char *a, const char *b) {
    return a == NULL || b == NULL ? a == b : strcmp(a, b) == 0;
}

bool shot_mark_is_again(const shot_mark *a, const shot_mark *b) {
    return a->from == b->from && (a->to == b->to || (isnan(a->to) && isnan(b->to))) &&
           is_same_text(a->kind, b->kind) && is_same_text(a->channel, b->channel);
}

/* Whether two marks of a kind tell of one event: they share half of the time that both take. */
static bool is_same_event(const shot_mark *a, const shot_mark *b) {
    if (shot_mark_is_again(a, b))
        return true;
    const double shared = fmin(a->to, b->to) - fmax(a->from, b->from);
    const double both = fmax(a->to, b->to) - fmin(a->from, b->from);
    return shared > 0 && shared >= both / 2;
}

/* By kind, then by start, those without one first, then by place in the list. */
static int by_kind_and_start(const void *a, const void *b) {
    const shot_mark *const x = *(const shot_mark *const *)a, *const y =
                                                                 *(const shot_mark *const *)b;
    const int kind = strcmp(x->kind, y->kind);
    if (kind != 0)
        return kind;
    if (isnan(x->from) != isnan(y->from))
        return isnan(x->from) ? -1 : 1;
    if (x->from != y->from && !isnan(x->from))
        return x->from < y->from ? -1 : 1;
    return (x > y) - (x < y);
}

/* The standing marks of one kind, in that order. */
typedef struct run {
    const shot_mark *const *marks;
    size_t count, dated; /* dated: the first that has a start */
    double longest;      /* s */
} run;

static run run_at(const shot_mark *const *marks, size_t count) {
    run out = {.marks = marks};
    for (; out.count < count && strcmp(marks[out.count]->kind, marks[0]->kind) == 0; out.count++) {
        const shot_mark *one = marks[out.count];
        out.dated += isnan(one->from);
        out.longest = fmax(out.longest, one->to - one->from);
    }
    return out;
}

static size_t first_from(const run *of, double start) {
    size_t low = of->dated, high = of->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (of->marks[middle]->from < start)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* The mark that bears a figure goes before one that bears none, else the first of the list. */
static bool is_better(const shot_mark *other, const shot_mark *one) {
    return isnan(one->value) != isnan(other->value) ? isnan(one->value) : other < one;
}

static bool is_any_better(const run *of, size_t first, double last_start, const shot_mark *one) {
    for (size_t i = first; i < of->count && !(of->marks[i]->from > last_start); i++)
        if (of->marks[i] != one && is_better(of->marks[i], one) && is_same_event(of->marks[i], one))
            return true;
    return false;
}

/* Marks that share half of the time that both take start no further apart than either lasts; twice
 * that leaves room for rounding.  One that is open lasts as long as the other. */
static bool is_told_better(const run *of, const shot_mark *one) {
    if (isnan(one->from))
        return is_any_better(of, 0, INFINITY, one);
    const double lasts = isnan(one->to) ? of->longest : fmax(one->to - one->from, 0);
    const size_t near = first_from(of, one->from - 2 * lasts);
    return (of->dated > 0 && is_any_better(of, 0, -INFINITY, one)) ||
           is_any_better(of, near, one->from + 2 * lasts, one);
}

/* The standing marks of the list in order; how many. */
static size_t sort_standing(const shot_mark_list *list, const bool *standing,
                            const shot_mark **sorted) {
    size_t count = 0;
    for (size_t i = 0; i < list->count; i++)
        if (standing[i])
            sorted[count++] = &list->marks[i];
    if (count > 1)
        qsort(sorted, count, sizeof *sorted, by_kind_and_start);
    return count;
}

static void judge(const shot_mark_list *list, const shot_mark *const *sorted, size_t count,
                  bool *counts) {
    for (size_t at = 0; at < count;) {
        const run of = run_at(sorted + at, count - at);
        for (size_t i = 0; i < of.count; i++)
            counts[of.marks[i] - list->marks] = !is_told_better(&of, of.marks[i]);
        at += of.count;
    }
}

shot_status counted_marks_find(counted_marks *out, const shot_mark_list *list) {
    *out = (counted_marks){.counts = calloc(list->count + 1, sizeof *out->counts),
                           .by_start = calloc(list->count + 1, sizeof *out->by_start)};
    if (out->counts == NULL || out->by_start == NULL ||
        mark_standing_find(list, out->counts) != SHOT_OK) {
        counted_marks_free(out);
        return SHOT_ERR_MEMORY;
    }
    const size_t standing = sort_standing(list, out->counts, out->by_start);
    judge(list, out->by_start, standing, out->counts);
    for (size_t i = 0; i < standing; i++)
        if (out->counts[out->by_start[i] - list->marks] && !isnan(out->by_start[i]->from))
            out->by_start[out->count++] = out->by_start[i];
    return SHOT_OK;
}

const shot_mark *counted_marks_next(const counted_marks *marks, const char *kind,
                                    const shot_mark *after) {
    size_t low = 0, high = marks->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        const shot_mark *one = marks->by_start[middle];
        const int order = strcmp(one->kind, kind);
        if (order < 0 || (order == 0 && after != NULL && one->from <= after->from))
            low = middle + 1;
        else
            high = middle;
    }
    const bool found = low < marks->count && strcmp(marks->by_start[low]->kind, kind) == 0;
    return found ? marks->by_start[low] : NULL;
}

void counted_marks_free(counted_marks *marks) {
    free(marks->counts);
    free(marks->by_start);
    *marks = (counted_marks){0};
}
