/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows that cannot be read. */
#include "stream/foreign_rejects.h"

#include <errno.h>
#include <string.h>

#include <shottrace/trace/stage.h>

static shot_status cannot_write(const shot_rejects *rejects, shot_error *error) {
    return shot_fail(error, SHOT_ERR_WRITE, "cannot write '%s': %s", rejects->settings->rejects,
                     strerror(errno));
}

static bool write_line(FILE *file, const char *text, size_t length) {
    return fwrite(text, 1, length, file) == length && fputc('\n', file) != EOF;
}

static shot_status keep(shot_rejects *rejects, const char *header, size_t header_length,
                        const shot_record *row, shot_error *error) {
    if (rejects->settings->rejects == NULL)
        return SHOT_OK;
    if (rejects->aside == NULL && (rejects->aside = fopen(rejects->settings->rejects, "w")) == NULL)
        return cannot_write(rejects, error);
    if (!rejects->headed && header_length > 0 && !write_line(rejects->aside, header, header_length))
        return cannot_write(rejects, error);
    rejects->headed = true;
    return write_line(rejects->aside, row->text, row->length) ? SHOT_OK
                                                              : cannot_write(rejects, error);
}

/* The error was told; a later one shall not inherit its place. */
static void forget(shot_error *error) {
    error->source[0] = error->what[0] = '\0';
    error->line = error->column = 0;
    error->code = SHOT_OK;
}

shot_status shot_rejects_take(shot_rejects *rejects, const char *header, size_t header_length,
                              const shot_record *row, shot_error *error) {
    if (rejects->settings->strict)
        return error->code;
    if (shot_loss_is_named(&rejects->loss))
        shot_notice_say(&rejects->notice, "%s:%zu: %s", error->source, error->line, error->what);
    forget(error);
    return keep(rejects, header, header_length, row, error);
}

void shot_rejects_end_file(shot_rejects *rejects, const char *file) {
    shot_loss_end_file(&rejects->loss, &rejects->notice, file, "row could not be read",
                       "rows could not be read");
}

shot_status shot_rejects_finish(shot_rejects *rejects, shot_error *error) {
    FILE *aside = rejects->aside;
    rejects->aside = NULL;
    return aside == NULL || fclose(aside) == 0 ? SHOT_OK : cannot_write(rejects, error);
}

void shot_rejects_free(shot_rejects *rejects) {
    if (rejects->aside != NULL)
        fclose(rejects->aside);
    rejects->aside = NULL;
}
