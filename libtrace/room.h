/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Arrays that grow by doubling. */
#ifndef SHOT_ROOM_H
#define SHOT_ROOM_H

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

#endif
