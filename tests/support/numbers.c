/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lists of numbers and their quantiles. */
#include "support/numbers.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/sample_quantile.h>

void numbers_add(numbers *list, double value) {
    if (list->count == list->room) {
        list->room = list->room * 2 + 64;
        list->items = realloc(list->items, list->room * sizeof *list->items);
        if (list->items == NULL)
            abort();
    }
    list->items[list->count++] = value;
}

double numbers_quantile(const numbers *list, double share) {
    double *copy = malloc((list->count + 1) * sizeof *copy);
    if (copy == NULL)
        abort();
    if (list->count > 0)
        memcpy(copy, list->items, list->count * sizeof *copy);
    const double value =
        shot_sample_quantile(copy, shot_sample_quantile_sort(copy, list->count), share);
    free(copy);
    return value;
}

double numbers_median(const numbers *list) {
    return numbers_quantile(list, 0.5);
}

void numbers_free(numbers *list) {
    free(list->items);
    *list = (numbers){0};
}
