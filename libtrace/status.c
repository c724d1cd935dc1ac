/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Failures as values. */
#include <shottrace/status.h>

#include <stdarg.h>

#include "plain_format.h"

shot_status shot_fail(shot_error *error, shot_status code, const char *format, ...) {
    if (error != NULL) {
        va_list arguments;
        va_start(arguments, format);
        shot_format_cut(error->what, sizeof error->what, format, arguments);
        va_end(arguments);
        error->code = code;
    }
    return code;
}

bool shot_status_of_shot(shot_status status) {
    return status == SHOT_ERR_DATA || status == SHOT_ERR_UNIT;
}

const char *shot_status_text(shot_status status) {
    switch (status) {
    case SHOT_OK:
        return "no error";
    case SHOT_ERR_RANGE:
        return "an argument is out of range";
    case SHOT_ERR_MEMORY:
        return "out of memory";
    case SHOT_ERR_SINGULAR:
        return "the data do not determine the answer";
    case SHOT_ERR_USAGE:
        return "an option is wrong";
    case SHOT_ERR_SYNTAX:
        return "the text is not a trace stream";
    case SHOT_ERR_DATA:
        return "the data cannot be used for this";
    case SHOT_ERR_UNIT:
        return "the units do not fit";
    case SHOT_ERR_READ:
        return "reading failed";
    case SHOT_ERR_WRITE:
        return "writing failed";
    case SHOT_ERR_CLOSED:
        return "the reader of the output has gone";
    }
    return "unknown failure";
}

const char *shot_version(void) {
    return SHOT_VERSION;
}
