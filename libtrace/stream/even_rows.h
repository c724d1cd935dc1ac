/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rate of rows whose times are even. */
#ifndef SHOT_STREAM_EVEN_ROWS_H
#define SHOT_STREAM_EVEN_ROWS_H

#include <stdbool.h>
#include <stddef.h>

/* Where rows lie on a grid. */
typedef struct shot_even_rows {
    double rate;     /* Hz; NaN for fewer than two rows, or times that do not rise */
    bool even;       /* every row lies on its place */
    size_t worst;    /* the row that lies furthest off, */
    double off_step; /* by this part of a step */
} shot_even_rows;

/* A row has its place if it is off by less than a thousandth of a step, by which no value changes
 * more than by a thousandth of what it does from row to row.  Where a whole rate puts every row in
 * its place, the rate is that whole number, else the mean one.
 *   time  [count] in s */
shot_even_rows shot_even_rows_of(const double *time, size_t count);

#endif
