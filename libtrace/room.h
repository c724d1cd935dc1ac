/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Arrays that grow. */
#ifndef SHOT_ROOM_H
#define SHOT_ROOM_H

#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

/* Room behind `count` items of `size` bytes for one more: `items` itself while there is some, else
 * twice as much, or `first` to begin with, and *room follows.  NULL without memory; `items` is then
 * as it was. */
static inline void *room_for_more(void *items, size_t count, size_t *room, size_t first,
                                  size_t size) {
    if (count < *room)
        return items;
    if (*room > SIZE_MAX / 2 / size)
        return NULL;
    const size_t more = *room > 0 ? 2 * *room : first;
    void *grown = realloc(items, more * size);
    if (grown != NULL)
        *room = more;
    return grown;
}

/* Room for `wanted` numbers to work in; what stood there is lost.  False without memory: all is
 * then as it was. */
static inline bool room_to_work(double **work, size_t *room, size_t wanted) {
    if (wanted <= *room)
        return true;
    double *larger = wanted > SIZE_MAX / sizeof *larger ? NULL : malloc(wanted * sizeof *larger);
    if (larger == NULL)
        return false;
    free(*work);
    *work = larger;
    *room = wanted;
    return true;
}

#endif
