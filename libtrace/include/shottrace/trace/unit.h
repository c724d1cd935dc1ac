/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units as text that can be computed with.
 *
 * A unit is written as factors joined by '.' and '/', with whole exponents: `bar`, `ml/s`,
 * `bar.s/ml`, `g/s2`, `1/s`, `m2`.  An empty text is the unit of a pure number.  Factors that the
 * library knows have a size in SI units and a dimension (source: NIST Special Publication 811,
 * Thompson & Taylor 2008, appendix B); unknown factors are carried and cancelled by name.
 *
 *     char *rate = NULL;
 *     shot_unit_combine("g", 1, "s", -1, &rate);        "g/s"
 */
#ifndef SHOTTRACE_TRACE_UNIT_H
#define SHOTTRACE_TRACE_UNIT_H

#include <stdbool.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* value in `to` = (value in `from` * factor + offset) / divisor.  `decimal` tells that this is a
 * power of ten, 10^exponent, and nothing else, so that a decimal text can be converted without
 * rounding. */
typedef struct shot_conversion {
    double factor, offset, divisor;
    bool decimal;
    int exponent;
} shot_conversion;

/* The conversion between two units of the same dimension.
 * SHOT_ERR_UNIT, with both units named, if they do not fit or a factor is unknown (two equal
 * texts always fit). */
SHOT_API shot_status shot_unit_convert(const char *from, const char *to, shot_conversion *out,
                                       shot_error *error);

/* True if every factor of the unit is known. */
SHOT_API bool shot_unit_known(const char *unit);

/* True if the two units measure the same kind of quantity (bar and psi; ml/s and l/min). */
SHOT_API bool shot_unit_same_kind(const char *a, const char *b);

/* The unit of x^px * y^py, e.g. ("g", 1, "s", -1) -> "g/s"; equal factors cancel.
 * *out is owned by the caller (free); NULL on error.  SHOT_ERR_UNIT if a text is no unit. */
SHOT_API shot_status shot_unit_combine(const char *x, int px, const char *y, int py, char **out,
                                       shot_error *error);

#ifdef __cplusplus
}
#endif
#endif
