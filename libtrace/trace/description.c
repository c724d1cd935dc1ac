/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The latencies that several stages share, in words. */
#include <shottrace/trace/description.h>

#include <stdio.h>

void shot_latency_shot(const void *settings, char *out, size_t room) {
    (void)settings;
    snprintf(out, room, "until the end of the shot");
}

void shot_latency_stream(const void *settings, char *out, size_t room) {
    (void)settings;
    snprintf(out, room, "until the end of the stream");
}
