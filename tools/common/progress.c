/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far a long work is. */
#include "common/progress.h"

#include <stdbool.h>
#include <stdio.h>
#include <time.h>
#include <unistd.h>

/* A process is one tool, and has one terminal. */
static struct {
    bool on;
    size_t done, files;
    double bytes;
    struct timespec last; /* when a line was shown, or the work began */
    int length;           /* of the line that stands there */
} progress;

void shot_progress_begin(size_t files) {
    progress.on = isatty(STDERR_FILENO) == 1;
    progress.files = files;
    clock_gettime(CLOCK_MONOTONIC, &progress.last);
}

void shot_progress_wipe(void) {
    if (progress.length > 0)
        fprintf(stderr, "\r%*s\r", progress.length, "");
    progress.length = 0;
}

static bool is_due(void) {
    struct timespec now;
    if (!progress.on)
        return false;
    clock_gettime(CLOCK_MONOTONIC, &now);
    const double since = (double)(now.tv_sec - progress.last.tv_sec) +
                         (double)(now.tv_nsec - progress.last.tv_nsec) / 1e9;
    if (since < 1)
        return false;
    progress.last = now;
    return true;
}

static void show(void) {
    if (!is_due())
        return;
    shot_progress_wipe();
    progress.length = progress.files > 1
                          ? fprintf(stderr, "%zu of %zu files, %.1f MB read", progress.done,
                                    progress.files, progress.bytes / 1e6)
                          : fprintf(stderr, "%.1f MB read", progress.bytes / 1e6);
}

void shot_progress_bytes(size_t count) {
    progress.bytes += (double)count;
    show();
}

void shot_progress_file(size_t done) {
    progress.done = done;
    show();
}
