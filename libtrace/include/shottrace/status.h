/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Failures as values.
 *
 * Every function of the library that can fail returns a shot_status; the library never prints,
 * never exits and keeps no global state.  Kernels in signal/ and puck/ return the status alone.
 * Functions that face a person's data or options also take a shot_error, which they fill on
 * failure with a sentence that says what is wrong and what to do, and leave alone on success.
 * A shot_error may be NULL where the caller does not care for the sentence.
 *
 * Each header names the ways in which its functions fail.  Where it names none, there are two: no
 * memory (SHOT_ERR_MEMORY), and whatever the sinks return that a function drives.  A struct that
 * the caller holds may be freed when it is zeroed; what frees an object that `new` made takes NULL.
 */
#ifndef SHOTTRACE_STATUS_H
#define SHOTTRACE_STATUS_H

#include <stdbool.h>
#include <stddef.h>

#if defined(__GNUC__)
#define SHOT_API __attribute__((visibility("default")))
#define SHOT_PRINTF(text, first) __attribute__((format(printf, text, first)))
#else
#define SHOT_API
#define SHOT_PRINTF(text, first)
#endif

#ifdef __cplusplus
extern "C" {
#endif

typedef enum shot_status {
    SHOT_OK = 0,
    SHOT_ERR_RANGE,    /* an argument is outside the interval that its comment states */
    SHOT_ERR_MEMORY,   /* an allocation failed */
    SHOT_ERR_SINGULAR, /* the data do not determine the answer (too few, collinear, no peak) */
    SHOT_ERR_USAGE,    /* an option is unknown, or its value is not what it takes */
    SHOT_ERR_SYNTAX,   /* the text is not a trace stream, or a number in it is not a number */
    SHOT_ERR_DATA,     /* well-formed data that this operation cannot take (time falls, no column) */
    SHOT_ERR_UNIT,     /* units that do not fit each other or their channel */
    SHOT_ERR_READ,     /* the source of bytes failed */
    SHOT_ERR_WRITE,    /* the destination of bytes failed: disk full */
    SHOT_ERR_CLOSED    /* the reader of our output has gone: stop quietly */
} shot_status;

/* True of what the data of a shot brought about: a message of it names the shot and its file. */
SHOT_API bool shot_status_of_shot(shot_status status);

/* Where and why.  `source` is the name of the file as the person gave it, `line` and `column` are
 * 1-based and 0 where there is no such place. */
typedef struct shot_error {
    shot_status code;
    char source[256];
    size_t line, column;
    char what[400];
} shot_error;

/* Fill `error` (may be NULL) and return `code`, so that a failure is one readable line:
 *     return shot_fail(error, SHOT_ERR_DATA, "column '%s' is missing; name it with --map", name);
 * The place already noted in `error` is left alone.  A text that is too long is cut at the end. */
SHOT_API shot_status shot_fail(shot_error *error, shot_status code, const char *format, ...)
    SHOT_PRINTF(3, 4);

/* A plain English name of the kind of failure, for callers without a shot_error.  Static text. */
SHOT_API const char *shot_status_text(shot_status status);

/* The version of the library that runs, "0.1.0", for whoever keeps findings.  Static text. */
SHOT_API const char *shot_version(void);

/* Check and forward: leave the function with the status of a call that failed. */
#define SHOT_TRY(call)                                                                             \
    do {                                                                                           \
        shot_status shot_try_status_ = (call);                                                     \
        if (shot_try_status_ != SHOT_OK)                                                           \
            return shot_try_status_;                                                               \
    } while (0)

#ifdef __cplusplus
}
#endif
#endif
