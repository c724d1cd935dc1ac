/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The differences that matter, as --margin says them. */
#include "judge/compare_parts.h"

#include <math.h>
#include <string.h>

#include <shottrace/trace/quantity.h>

static shot_status read_margin(const char *text, const char *name, const char *unit, double *margin,
                               shot_error *error) {
    if (shot_quantity_read(text, unit, margin) == SHOT_OK && *margin > 0)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_USAGE,
                     "--margin: '%s' is no margin for %s; give a number greater than 0%s%s", text,
                     name, *unit ? ", in " : "", unit);
}

/* What --margin says for a measure: each item is NAME=VALUE, or a value for the primary one.  The
 * text of the value, or NULL. */
static const char *margin_for(const shot_compare_result *result, const char *item,
                              const char *name) {
    const char *equals = strchr(item, '=');
    if (equals == NULL)
        return shot_compare_is_primary(result, name) ? item : NULL;
    size_t length = (size_t)(equals - item);
    return strlen(name) == length && memcmp(name, item, length) == 0 ? equals + 1 : NULL;
}

shot_status shot_compare_find_margin(const shot_compare_result *result,
                                     const shot_measure_column *column, double *margin,
                                     shot_error *error) {
    const shot_texts *margins = &result->settings->margins;
    *margin = NAN;
    for (size_t i = 0; i < margins->count; i++) {
        const char *text = margin_for(result, margins->items[i], column->name);
        if (text != NULL)
            SHOT_TRY(read_margin(text, column->name, column->unit, margin, error));
    }
    return SHOT_OK;
}

static shot_status check_margin(const shot_compare_result *result, const char *item,
                                shot_error *error) {
    const shot_measure_table *table = &result->groups.table;
    for (size_t c = 0; c < table->column_count; c++)
        if (margin_for(result, item, table->columns[c].name) != NULL)
            return SHOT_OK;
    if (strchr(item, '=') == NULL)
        return shot_fail(
            error, SHOT_ERR_USAGE,
            "--margin: '%s' needs the name of its measure (NAME=%s), or --primary NAME", item,
            item);
    return shot_fail(error, SHOT_ERR_USAGE, "--margin: no shot has the measure of '%s'", item);
}

shot_status shot_compare_check_margins(const shot_compare_result *result, shot_error *error) {
    for (size_t i = 0; i < result->settings->margins.count; i++)
        SHOT_TRY(check_margin(result, result->settings->margins.items[i], error));
    return SHOT_OK;
}
