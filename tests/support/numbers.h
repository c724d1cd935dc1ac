/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A growing list of numbers; without memory the program ends. */
#ifndef SHOT_TEST_NUMBERS_H
#define SHOT_TEST_NUMBERS_H

#include <stddef.h>

typedef struct numbers {
    double *items;
    size_t count, room;
} numbers;

void numbers_add(numbers *list, double value);
double numbers_median(const numbers *list); /* NaN if empty */
double numbers_quantile(const numbers *list, double share);
void numbers_free(numbers *list);

#endif
