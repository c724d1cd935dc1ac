/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The outside of a tool: messages, standard output, files. */
#include "common/io.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <shottrace/trace/plain_text.h>

#include "common/interruption.h"
#include "common/progress.h"

/* ---- messages ---- */

/* Messages quote what a log holds, and a terminal obeys control characters. */
static void print_plain(const char *text) {
    while (*text != '\0') {
        size_t run = 0, length = 0;
        bool plain = true;
        while (text[run] != '\0' && (length = shot_plain_next(text + run, &plain), plain))
            run += length;
        fwrite(text, 1, run, stderr);
        text += run;
        if (!plain) {
            fputc('?', stderr);
            text += length;
        }
    }
}

void shot_tool_say(void *user, const char *text) {
    shot_progress_wipe();
    fprintf(stderr, "shot-%s: ", (const char *)user);
    print_plain(text);
    fputc('\n', stderr);
}

int shot_tool_complain(const char *name, const shot_error *error) {
    char place[sizeof error->source + 32] = "";
    if (error->code == SHOT_ERR_CLOSED)
        return SHOT_TOOL_FINE;
    if (error->source[0] != '\0' && error->line > 0)
        snprintf(place, sizeof place, "%s:%zu: ", error->source, error->line);
    else if (error->source[0] != '\0')
        snprintf(place, sizeof place, "%s: ", error->source);
    shot_progress_wipe();
    fprintf(stderr, "shot-%s: ", name);
    print_plain(place);
    print_plain(error->what);
    fputc('\n', stderr);
    return error->code == SHOT_ERR_USAGE ? SHOT_TOOL_WRONG_CALL : SHOT_TOOL_FAILED;
}

/* ---- who hears of the input ---- */

static void hear_name(const char *name) {
    (void)name;
}
static void hear_bytes(const char *bytes, size_t count) {
    (void)bytes;
    (void)count;
}
static void hear_end(const shot_error *failure) {
    (void)failure;
}
static const shot_tool_listener nobody = {hear_name, hear_bytes, hear_end, hear_name};
static const shot_tool_listener *listening = &nobody;

void shot_tool_listen(const shot_tool_listener *one) {
    listening = one;
}

const shot_tool_listener *shot_tool_listening(void) {
    return listening;
}

/* ---- the standard streams ---- */

/* What is opened next takes the place of one that was closed, and a manifest would hold messages.
 * Reading where only writing may be, and the other way round, fails as on a closed one. */
void shot_tool_hold_places(void) {
    for (int file = STDIN_FILENO; file <= STDERR_FILENO; file++)
        if (fcntl(file, F_GETFD) < 0 &&
            open("/dev/null", file == STDIN_FILENO ? O_WRONLY : O_RDONLY) < 0)
            return;
}

/* True if the call that has just failed is to be made again, where need be after a wait: whoever
 * started the tool may have set the stream not to wait by itself. */
static bool goes_on(int file, short events) {
    struct pollfd one = {.fd = file, .events = events};
    if (errno == EINTR)
        return true;
    if (errno != EAGAIN)
        return false;
    poll(&one, 1, -1);
    return true;
}

/* ---- output ---- */

shot_status shot_tool_write(void *user, const char *bytes, size_t count, shot_error *error) {
    shot_progress_wipe();
    while (count > 0) {
        ssize_t written = write(STDOUT_FILENO, bytes, count);
        if (written < 0 && goes_on(STDOUT_FILENO, POLLOUT))
            continue;
        if (written < 0 && errno == EPIPE)
            return shot_fail(error, SHOT_ERR_CLOSED, "the reader of the output has gone");
        if (written < 0)
            return shot_fail(error, SHOT_ERR_WRITE, "cannot write the output: %s", strerror(errno));
        bytes += written;
        count -= (size_t)written;
    }
    return SHOT_OK;
}

/* Some file systems report a full disk only here. */
shot_status shot_tool_close_output(shot_error *error) {
    if (close(STDOUT_FILENO) == 0 || errno == EBADF)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_WRITE, "cannot write the output: %s", strerror(errno));
}

/* ---- input ---- */

/* In the middle of a file: what came of it goes on, as that of one that cannot be read further. */
static shot_status end_early(shot_chain *chain, const char *name, shot_error *error) {
    SHOT_TRY(shot_chain_file_end(chain, true, error));
    return shot_fail(error, SHOT_ERR_READ, "interrupted in '%s'", name);
}

static bool would_wait(int file) {
    struct pollfd one = {.fd = file, .events = POLLIN};
    return poll(&one, 1, 0) == 0;
}

/* A file that grows by what is read from it never ends, and fills the disk. */
static bool is_output(const struct stat *input) {
    struct stat output;
    return S_ISREG(input->st_mode) && fstat(STDOUT_FILENO, &output) == 0 &&
           input->st_dev == output.st_dev && input->st_ino == output.st_ino;
}

static shot_status refuse(const char *name, const struct stat *about, shot_error *error) {
    if (S_ISDIR(about->st_mode) && strcmp(name, "-") == 0)
        return shot_fail(error, SHOT_ERR_READ, "standard input is a folder; name the files in it");
    if (S_ISDIR(about->st_mode))
        return shot_fail(error, SHOT_ERR_READ, "'%s' is a folder; name the files in it (%s%s*)",
                         name, name, name[strlen(name) - 1] == '/' ? "" : "/");
    if (is_output(about))
        return shot_fail(error, SHOT_ERR_READ, "'%s' is the output as well; write to another file",
                         name);
    return SHOT_OK;
}

shot_status shot_tool_open(const char *name, int *file, shot_error *error) {
    *file = strcmp(name, "-") == 0 ? STDIN_FILENO : open(name, O_RDONLY | O_CLOEXEC);
    struct stat about;
    if (*file < 0)
        return shot_fail(error, SHOT_ERR_READ, "cannot open '%s': %s", name, strerror(errno));
    if (fstat(*file, &about) != 0)
        return SHOT_OK;
    const shot_status status = refuse(name, &about, error);
    if (status != SHOT_OK)
        shot_tool_close(*file);
    return status;
}

void shot_tool_close(int file) {
    if (file != STDIN_FILENO)
        close(file);
}

shot_status shot_tool_push(shot_chain *chain, int file, const char *name, shot_error *error) {
    static char bytes[256 * 1024];
    for (;;) {
        if (would_wait(file)) {
            SHOT_TRY(shot_chain_pause(chain, error));
            shot_tool_wait_for(file);
        }
        if (shot_tool_interrupted())
            return end_early(chain, name, error);
        ssize_t count = read(file, bytes, sizeof bytes);
        if (count < 0 && goes_on(file, POLLIN))
            continue;
        if (count < 0) {
            SHOT_TRY(shot_chain_file_end(chain, true, error));
            return shot_fail(error, SHOT_ERR_READ, "cannot read '%s': %s", name, strerror(errno));
        }
        if (count == 0)
            return SHOT_OK;
        listening->takes(bytes, (size_t)count);
        SHOT_TRY(shot_chain_push(chain, bytes, (size_t)count, error));
        shot_progress_bytes((size_t)count);
    }
}
