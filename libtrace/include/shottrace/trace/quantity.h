/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A number with a unit, as people write it: "18.2 g", "300ms", "9bar". */
#ifndef SHOTTRACE_TRACE_QUANTITY_H
#define SHOTTRACE_TRACE_QUANTITY_H

#include <shottrace/status.h>
#include <shottrace/trace/unit.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Reads all of `text` as a number in `unit`; a number alone is in `unit` already.  Spaces around
 * the parts are allowed.  SHOT_ERR_SYNTAX if it does not start with a finite number, SHOT_ERR_UNIT
 * if what follows is no unit of the same kind; *out is NaN then. */
SHOT_API shot_status shot_quantity_read(const char *text, const char *unit, double *out);

/* (value * factor + offset) / divisor. */
SHOT_API double shot_conversion_apply(const shot_conversion *conversion, double value);

#ifdef __cplusplus
}
#endif
#endif
