/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A tool that is asked to end. */
#include "common/interruption.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stddef.h>
#include <unistd.h>

static volatile sig_atomic_t request; /* the signal that came; 0 before */
/* A byte in it says the same to a poll, whichever thread the signal came to, and also where it came
 * just before. */
static int told[2] = {-1, -1};

static void take(int number) {
    const int before = errno;
    request = number;
    const ssize_t written = write(told[1], "", 1);
    (void)written; /* the pipe is full: it has been told */
    errno = before;
}

void shot_tool_heed_interruption(void) {
    static const int numbers[] = {SIGINT, SIGTERM, SIGHUP};
    struct sigaction before, after = {.sa_handler = take, .sa_flags = SA_RESETHAND};
    sigemptyset(&after.sa_mask);
    if (pipe(told) != 0)
        return; /* it ends at once, as most do */
    fcntl(told[0], F_SETFD, FD_CLOEXEC);
    fcntl(told[1], F_SETFD, FD_CLOEXEC);
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++)
        if (sigaction(numbers[i], NULL, &before) == 0 && before.sa_handler != SIG_IGN)
            sigaction(numbers[i], &after, NULL);
}

bool shot_tool_interrupted(void) {
    return request != 0;
}

void shot_tool_wait_for(int file) {
    struct pollfd either[] = {{.fd = file, .events = POLLIN}, {.fd = told[0], .events = POLLIN}};
    if (told[0] >= 0)
        poll(either, 2, -1);
}

void shot_tool_end_interrupted(void) {
    if (request == 0)
        return;
    signal(request, SIG_DFL);
    raise(request);
}
