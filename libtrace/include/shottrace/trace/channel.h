/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels: the named columns of a trace, and what is known of the usual ones. */
#ifndef SHOTTRACE_TRACE_CHANNEL_H
#define SHOTTRACE_TRACE_CHANNEL_H

#include <stdbool.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A column: its name and the unit of its values ("" for a pure number or when nobody said). */
typedef struct shot_channel {
    char *name;
    char *unit;
} shot_channel;

/* What everyone may rely on for a channel of that name.  Values of a column that came without a
 * unit and lie outside low..high are taken for values in another unit (common practice, no source:
 * wider than any espresso machine reaches). */
typedef struct shot_channel_kind {
    const char *name;
    const char *unit;
    double low, high;
    const char *meaning;
} shot_channel_kind;

/* The kind of that name, or NULL for a channel that the library does not know.  Static storage. */
SHOT_API const shot_channel_kind *shot_channel_kind_of(const char *name);

/* The usual unit of a channel that tells of a known one: its standard error, bounds, derivatives
 * and integrals (pressure.se, temperature.low, pressure.d1.se, flow.int).
 *   unit        owned by the caller; NULL for any other name
 *   difference  the zero of its scale plays no part in it
 * SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_channel_companion_unit(const char *name, char **unit, bool *difference);

/* True for a known channel that a sensor measures: neither the time nor what was asked for. */
SHOT_API bool shot_channel_is_measured(const char *name);

/* All kinds, `*count` of them, `time` first. */
SHOT_API const shot_channel_kind *shot_channel_kinds(size_t *count);

/* The unit in which `value`, outside the range of `kind`, would be plausible ("psi" for a pressure
 * of 130), or NULL if none suggests itself. */
SHOT_API const char *shot_channel_likely_unit(const shot_channel_kind *kind, double value);

#ifdef __cplusplus
}
#endif
#endif
