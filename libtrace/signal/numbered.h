/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values and labels as numbers from 0. */
#ifndef SHOT_SIGNAL_NUMBERED_H
#define SHOT_SIGNAL_NUMBERED_H

#include <stdbool.h>
#include <stddef.h>

/* Number the different values, in the order in which they come first.
 *   number  receives the number of each [n]
 * Returns how many there are. */
static inline size_t number_values(const double *x, size_t n, size_t *number) {
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        size_t k = 0;
        while (x[k] != x[i])
            k++;
        number[i] = k < i ? number[k] : count++;
    }
    return count;
}

/* Number the labels that occur in their order, in their place.  Returns how many there are. */
static inline size_t number_labels(size_t *label, size_t n) {
    size_t count = 0, most = 0;
    for (size_t i = 0; i < n; i++)
        most = label[i] > most ? label[i] : most;
    for (size_t from = 0; from <= most && n > 0; from++) {
        bool any = false;
        for (size_t i = 0; i < n; i++)
            if (label[i] == from) {
                label[i] = count;
                any = true;
            }
        count += any;
    }
    return count;
}

#endif
