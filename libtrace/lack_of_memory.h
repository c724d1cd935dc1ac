/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lack of memory among the other reasons for which a step may fail. */
#ifndef SHOT_LACK_OF_MEMORY_H
#define SHOT_LACK_OF_MEMORY_H

#include <shottrace/status.h>

/* Of a step whose answer may well not be there, as the data have it: what is left of its status. */
static inline shot_status lack_of_memory_only(shot_status status) {
    return status == SHOT_ERR_MEMORY ? status : SHOT_OK;
}

/* The status itself; `error` gets words for what memory lacked ("the shots"). */
static inline shot_status lack_of_memory_named(shot_status status, const char *what,
                                               shot_error *error) {
    return status == SHOT_ERR_MEMORY ? shot_fail(error, status, "out of memory for %s", what)
                                     : status;
}

#endif
