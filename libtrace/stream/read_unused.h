/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Options of the reader that were given and that a file of this form has no use for. */
#ifndef SHOT_STREAM_READ_UNUSED_H
#define SHOT_STREAM_READ_UNUSED_H

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

#include "stream/read_settings.h"

typedef enum shot_read_form {
    SHOT_READ_TABLE = 1, /* text in fields */
    SHOT_READ_JSON = 2,
    SHOT_READ_RECORDING = 4
} shot_read_form;

/* Append their names, "--scale, --full-scale"; nothing where each is of use. */
shot_status shot_read_unused(const struct shot_read_settings *said, shot_read_form form,
                             shot_text *names);

#endif
