/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The files of a command line through a chain. */
#include "common/files.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "common/interruption.h"
#include "common/io.h"
#include "common/progress.h"

typedef struct reading {
    shot_chain *chain;
    const char *tool;
    size_t inputs;      /* files on the command line; 1 for standard input; 0 where none is read */
    size_t begun, bad;  /* of these: could be opened, could not be read to their end */
    shot_error waiting; /* what is to be told yet: it may be all that there is to say */
} reading;

static void tell_waiting(reading *self) {
    if (self->waiting.what[0] != '\0')
        shot_tool_complain(self->tool, &self->waiting);
    self->waiting = (shot_error){0};
}

static void wait_to_tell(reading *self, shot_error *error) {
    tell_waiting(self);
    self->waiting = *error;
    *error = (shot_error){0};
}

/* A stream that lacks a file is not whole, whyever it does. */
static shot_status open_file(reading *self, const char *name, int *file, shot_error *error) {
    const shot_status status = shot_tool_open(name, file, error);
    if (status != SHOT_OK && shot_chain_may_go_on(self->chain, status)) {
        SHOT_TRY(shot_chain_file(self->chain, name, error));
        SHOT_TRY(shot_chain_file_end(self->chain, true, error));
    }
    return status;
}

/* What a filter refused came from this file; the reader names it by itself. */
static shot_status name_source(shot_status status, const char *name, shot_error *error) {
    if (shot_status_of_shot(status) && error->source[0] == '\0' && strcmp(name, "-") != 0)
        snprintf(error->source, sizeof error->source, "%s", name);
    return status;
}

static shot_status push_file(reading *self, const char *name, shot_error *error) {
    int file;
    SHOT_TRY(open_file(self, name, &file, error));
    self->begun++;
    shot_status status = shot_chain_file(self->chain, name, error);
    if (status == SHOT_OK)
        status = shot_tool_push(self->chain, file, name, error);
    shot_tool_close(file);
    if (status == SHOT_OK)
        status = shot_chain_file_end(self->chain, false, error);
    return name_source(status, name, error);
}

/* A file that cannot be read is named and counted; that of the only input is all that failed. */
static shot_status read_file(reading *self, const char *name, shot_error *error) {
    shot_tool_listening()->opens(name);
    const shot_status status = push_file(self, name, error);
    shot_tool_listening()->shuts(status == SHOT_OK ? NULL : error);
    if (status == SHOT_OK || !shot_chain_may_go_on(self->chain, status))
        return status;
    wait_to_tell(self, error);
    if (self->inputs > 1)
        tell_waiting(self);
    self->bad++;
    return SHOT_OK;
}

/* What was lost of all files together, rows say, is told when the chain is finished. */
static shot_status finish(reading *self, shot_error *error) {
    if (self->begun == 0 && self->inputs > 0)
        return SHOT_OK;
    const shot_status status = shot_chain_finish(self->chain, error);
    if (status == SHOT_OK)
        return SHOT_OK;
    if (shot_chain_may_go_on(self->chain, status)) {
        wait_to_tell(self, error);
        return SHOT_OK;
    }
    /* What the only input did not bring, goes without saying. */
    const bool only = shot_chain_losses(self->chain).files == 0;
    const bool follows = only && self->waiting.what[0] != '\0' && status == SHOT_ERR_DATA;
    return follows ? SHOT_OK : status;
}

/* Files that stages opened themselves count like those of the command line. */
static shot_status sum_up(reading *self, shot_error *error) {
    const size_t shots = shot_chain_failures(self->chain);
    const shot_chain_loss loss = shot_chain_losses(self->chain);
    const size_t all = self->inputs + loss.files;
    const size_t bad = (all > 1 ? self->bad : 0) + loss.bad;
    const char *rest = bad < all ? "; the rest went through" : "";
    char files[80] = "", failed[40] = "";
    if (shots == 0 && bad == 0) {
        *error = self->waiting;
        return error->code;
    }
    tell_waiting(self);
    if (bad > 0)
        snprintf(files, sizeof files, "%zu of %zu file%s could not be read to the end", bad, all,
                 all == 1 ? "" : "s");
    if (shots > 0)
        snprintf(failed, sizeof failed, "%s%zu shot%s failed", bad > 0 ? ", and " : "", shots,
                 shots == 1 ? "" : "s");
    return shot_fail(error, SHOT_ERR_DATA, "%s%s%s", files, failed, rest);
}

static void leave(const reading *self, const char *const *names, size_t first) {
    for (size_t i = first; i < self->inputs; i++)
        shot_tool_listening()->leaves(names[i]);
}

/* Asked to end, it reads no further file. */
static void leave_rest(reading *self, const char *const *names, size_t first) {
    leave(self, names, first);
    self->bad += self->inputs - first;
}

/* A filter refused what came, and all ends: say in which file, and which ones are not read. */
static shot_status name_unread(const reading *self, const char *const *names, size_t at,
                               shot_error *error) {
    const shot_status status = error->code;
    const size_t left = self->inputs - at - 1;
    leave(self, names, at + 1);
    if (left == 0 || !shot_status_of_shot(status))
        return status;
    shot_tool_complain(self->tool, error);
    *error = (shot_error){0};
    if (left == 1)
        return shot_fail(error, status, "it ended in '%s'; '%s' was not read", names[at],
                         names[at + 1]);
    return shot_fail(error, status, "it ended in '%s'; '%s' and %zu more were not read", names[at],
                     names[at + 1], left - 1);
}

/* A filter that was started by itself at a terminal waits for ever, and looks as if it had hung. */
static void tell_keyboard(const char *tool) {
    if (isatty(STDIN_FILENO) == 1 && isatty(STDERR_FILENO) == 1)
        shot_tool_say((void *)tool, "reads what is typed, up to Ctrl-D; name a file, or pipe a "
                                    "trace into it");
}

shot_status shot_tool_run_chain(shot_chain *chain, const char *tool, const char *const *names,
                                size_t count, shot_error *error) {
    reading self = {.chain = chain, .tool = tool, .inputs = count > 0 ? count : 1};
    if (shot_chain_takes_no_input(chain))
        self.inputs = 0;
    if (self.inputs > 0 && count == 0)
        tell_keyboard(tool);
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < self.inputs; i++) {
        status = read_file(&self, count > 0 ? names[i] : "-", error);
        shot_progress_file(i + 1);
        if (status != SHOT_OK && error->code == status)
            status = name_unread(&self, names, i, error);
        if (status != SHOT_OK)
            break;
        if (shot_tool_interrupted()) {
            leave_rest(&self, names, i + 1);
            break;
        }
    }
    if (status == SHOT_OK)
        status = finish(&self, error);
    shot_progress_wipe();
    if (status == SHOT_OK)
        return sum_up(&self, error);
    tell_waiting(&self);
    return status;
}
