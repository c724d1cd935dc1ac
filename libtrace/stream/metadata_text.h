/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines that are no rows: what they say as a key and its value. */
#ifndef SHOT_STREAM_METADATA_TEXT_H
#define SHOT_STREAM_METADATA_TEXT_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

#include "stream/cell_text.h"

/* How many bytes at the start of [text, end) are the key of a metadata line of a trace: small
 * letters, digits, '.', '-', '_', a letter first, before a ':'; 0 if none stands there. */
size_t shot_metadata_key(const char *text, const char *end);

/* The count in `rows=312`, -1 if [text, end) does not say WORD and a number. */
double shot_metadata_count(const char *text, const char *end, const char *word);

/* A key in small letters, blanks as '-'; empty for a comment, whose text is then `value`. */
typedef struct shot_metadata {
    shot_text key, value;
} shot_metadata;

/* "Dose: 18,2 g" is dose and "18.2 g", and so is "Dose (g): 18,2"; without brackets a unit is one
 * that the key can be in (dose_g).  What a person typed for a key that the library knows becomes
 * what it reads, whatever the numbers of the log are like: "18,2 grams" of dose is "18.2 g".  What
 * is no such quantity, or may be thousands ("18,200 g"), stays as it is.
 *   decimal  ',' if numbers of the log have a decimal comma
 */
shot_status shot_metadata_read(const char *text, size_t length, char decimal, shot_metadata *out);

/* A line that starts with '#', as [text, length) behind it.  A comment stays as it is, to the byte;
 * in a trace so does a line whose key none of a trace is, since it is a comment there. */
shot_status shot_metadata_read_hash(const char *text, size_t length, bool trace, char decimal,
                                    shot_metadata *out);

/* A line whose first cell is the key and whose others are the value. */
shot_status shot_metadata_read_cells(const shot_cell *cells, size_t count, char decimal,
                                     shot_metadata *out);

/* A key and a value that came as such; signs that no key has become '-'. */
shot_status shot_metadata_set(const shot_cell *key, const shot_cell *value, shot_metadata *out);

void shot_metadata_free(shot_metadata *metadata);

#endif
