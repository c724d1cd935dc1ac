/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The settings of a filter, read from words by its option table.
 *
 *     shot_settings *settings;
 *     shot_settings_new(&shot_smooth, &settings, &error);
 *     shot_settings_set(settings, "window", "0.7s", &error);
 *     const struct smooth_settings *values = shot_settings_values(settings);
 *     shot_settings_free(settings);
 */
#ifndef SHOTTRACE_CHAIN_SETTINGS_H
#define SHOTTRACE_CHAIN_SETTINGS_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_settings shot_settings;

/* What every filter takes besides its own options. */
typedef struct shot_common_settings {
    bool help, manual, version, latency;
    long digits; /* significant digits of the numbers handed on; 0: all */
} shot_common_settings;

/* All options at their defaults.  *out is the caller's (shot_settings_free), NULL after an error:
 * SHOT_ERR_MEMORY, or SHOT_ERR_USAGE for a table whose own defaults cannot be read. */
SHOT_API shot_status shot_settings_new(const shot_description *description, shot_settings **out,
                                       shot_error *error);

/* Set one option from its text; flags take NULL or "".  SHOT_ERR_USAGE with a sentence for what it
 * does not take; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_settings_set(shot_settings *settings, const char *name, const char *text,
                                       shot_error *error);

/* Read words (words[0] is the name of the program, as in main) into options and operands.
 * SHOT_ERR_USAGE with a sentence that repeats the word; SHOT_ERR_READ for a file of settings that
 * cannot be read; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_settings_parse(shot_settings *settings, int count,
                                         const char *const *words, shot_error *error);

/* SHOT_ERR_USAGE where an option was given that does not count beside the others (its `only`);
 * whoever makes a chain of the settings need not ask.  SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_settings_check(const shot_settings *settings, shot_error *error);

/* The filter's own struct, and the common ones.  Borrowed. */
SHOT_API const void *shot_settings_values(const shot_settings *settings);
SHOT_API const shot_common_settings *shot_settings_common(const shot_settings *settings);
SHOT_API const shot_texts *shot_settings_operands(const shot_settings *settings);

/* The history line: the tool and the options that were given, in the order of the table, files
 * left out: "shot-clean --zero pressure".  Borrowed; valid until the next change.
 * SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_settings_history(shot_settings *settings, const char **out);

/* NULL is fine. */
SHOT_API void shot_settings_free(shot_settings *settings);

/* The options that filters share. NULL name ends. */
SHOT_API const shot_option *shot_common_options(void);
/* True if it belongs to this filter: a writer hands on no numbers, and takes no digits. */
SHOT_API bool shot_common_option_fits(const shot_option *option,
                                      const shot_description *description);

#ifdef __cplusplus
}
#endif
#endif
