/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Forms of recordings, told by their first bytes. */
#ifndef SHOT_RECORDING_FORM_H
#define SHOT_RECORDING_FORM_H

#include <stddef.h>

/* Bytes that always suffice to tell. */
enum { SHOT_RECORDING_OPENING = 24 };

/* The one form that is told only to be refused: it cannot be read as it arrives. */
#define SHOT_RECORDING_LOSSY "MPEG"

typedef enum shot_recording_match {
    SHOT_RECORDING_NO,
    SHOT_RECORDING_PERHAPS, /* so far; more bytes will tell */
    SHOT_RECORDING_YES
} shot_recording_match;

/* Whether bytes that start so are a recording; *name is what its form is called (static), NULL
 * unless the answer is yes.  No text of a log starts like one. */
shot_recording_match shot_recording_form(const char *bytes, size_t count, const char **name);

#endif
