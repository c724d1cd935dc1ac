/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A number with a unit. */
#include <shottrace/trace/quantity.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/text.h>

double shot_conversion_apply(const shot_conversion *conversion, double value) {
    return (value * conversion->factor + conversion->offset) / conversion->divisor;
}

shot_status shot_quantity_read(const char *text, const char *unit, double *out) {
    *out = NAN;
    text += strspn(text, " \t");
    double number;
    const char *rest = shot_number_read(text, text + strlen(text), &number);
    if (rest == NULL || !isfinite(number))
        return SHOT_ERR_SYNTAX;
    rest += strspn(rest, " \t");
    size_t length = strlen(rest);
    while (length > 0 && strchr(" \t", rest[length - 1]) != NULL)
        length--;
    shot_conversion conversion = {.factor = 1, .divisor = 1};
    if (length > 0) {
        char *given = shot_text_copy_bytes(rest, length);
        if (given == NULL)
            return SHOT_ERR_MEMORY;
        shot_status status = shot_unit_convert(given, unit, &conversion, NULL);
        free(given);
        SHOT_TRY(status);
    }
    *out = shot_conversion_apply(&conversion, number);
    return SHOT_OK;
}
