/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that are no log, told by their first bytes. */
#ifndef SHOT_STREAM_OTHER_FORM_H
#define SHOT_STREAM_OTHER_FORM_H

#include <stdbool.h>
#include <stddef.h>

/* What the file is, and what to do, in words; NULL if it may be a log, and *perhaps tells whether
 * more bytes may say otherwise. */
const char *shot_other_form(const char *bytes, size_t count, bool *perhaps);

#endif
