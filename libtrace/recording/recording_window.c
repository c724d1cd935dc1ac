/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The part of a stream of bytes that its reader may still want. */
#include "recording/recording_window.h"

#include <string.h>

/* Decoders step back within a block that they have begun, never further. */
enum { BEHIND = 256 * 1024 };

/* Forget what lies well behind the place of reading; in large pieces, so that few bytes move. */
static void forget(shot_window *window) {
    int64_t end = window->start + (int64_t)window->held.length;
    int64_t wanted = (window->place < end ? window->place : end) - BEHIND;
    if (!window->settled || wanted - window->start < BEHIND)
        return;
    size_t drop = (size_t)(wanted - window->start);
    memmove(window->held.bytes, window->held.bytes + drop, window->held.length - drop);
    window->held.length -= drop;
    window->start = wanted;
}

shot_status shot_window_add(shot_window *window, const char *bytes, size_t count) {
    forget(window);
    return shot_text_add_bytes(&window->held, bytes, count);
}

static bool out_of_sight(const shot_window *window) {
    return window->place < window->start ||
           (!window->settled && (window->place > window->furthest + SHOT_WINDOW_AHEAD ||
                                 window->place > SHOT_WINDOW_HEADER));
}

size_t shot_window_lacks(const shot_window *window, size_t count) {
    int64_t end = window->start + (int64_t)window->held.length;
    if (window->complete || out_of_sight(window) || window->place + (int64_t)count <= end)
        return 0;
    return (size_t)(window->place + (int64_t)count - end);
}

size_t shot_window_read(shot_window *window, char *out, size_t count) {
    int64_t end = window->start + (int64_t)window->held.length;
    if (out_of_sight(window) || window->place >= end)
        return 0;
    if ((int64_t)count > end - window->place)
        count = (size_t)(end - window->place);
    memcpy(out, window->held.bytes + (window->place - window->start), count);
    window->place += (int64_t)count;
    window->furthest = window->place > window->furthest ? window->place : window->furthest;
    return count;
}

void shot_window_free(shot_window *window) {
    shot_text_free(&window->held);
}
