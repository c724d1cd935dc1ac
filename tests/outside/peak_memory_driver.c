/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs a program and prints its peak resident set in KiB and its exit status.  A small process has
 * to start it: what the kernel counts begins before the program is loaded, with the size of who
 * starts it. */
#define _DEFAULT_SOURCE /* wait4 */
#include <stdio.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

int main(int argc, char **argv) {
    struct rusage usage;
    int status;
    const pid_t child = fork();
    if (child == 0) {
        execv(argv[1], argv + 1);
        _exit(127);
    }
    if (argc < 2 || child < 0 || wait4(child, &status, 0, &usage) != child || !WIFEXITED(status))
        return 1;
    fprintf(stderr, "%ld %d\n", usage.ru_maxrss, WEXITSTATUS(status));
    return 0;
}
