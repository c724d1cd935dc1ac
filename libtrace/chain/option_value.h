/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The value of an option, read from its text.  Internal to chain/.
 *
 * `field` points to the member of the settings that the option fills; its type follows from the
 * option's kind, as described with shot_option.  What it holds is freed by shot_option_free.
 */
#ifndef SHOT_CHAIN_OPTION_VALUE_H
#define SHOT_CHAIN_OPTION_VALUE_H

#include <shottrace/trace/description.h>

/* Read `text` into `field`: a text replaces the one before, lists grow.
 * SHOT_ERR_USAGE (with a message that names the option), SHOT_ERR_MEMORY. */
shot_status shot_option_read(const shot_option *option, void *field, const char *text,
                             shot_error *error);

/* Set `field` to the option's initial value; numbers that have none become NaN. */
shot_status shot_option_read_initial(const shot_option *option, void *field, shot_error *error);

/* Empty the list in `field`; nothing for an option that is no list. */
void shot_option_clear_list(const shot_option *option, void *field);

void shot_option_free(const shot_option *option, void *field);

/* Append a copy of bytes[length]. */
shot_status shot_texts_add(shot_texts *texts, const char *bytes, size_t length);
void shot_texts_free(shot_texts *texts);

#endif
