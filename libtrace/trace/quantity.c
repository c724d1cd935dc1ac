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

/* From the unit in the first `length` bytes of `from`, which mostly are all that there is. */
static shot_status find_conversion(const char *from, size_t length, const char *to,
                                   shot_conversion *out) {
    if (from[length] == '\0')
        return shot_unit_convert(from, to, out, NULL);
    char *given = shot_text_copy_bytes(from, length);
    if (given == NULL)
        return SHOT_ERR_MEMORY;
    const shot_status status = shot_unit_convert(given, to, out, NULL);
    free(given);
    return status;
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
    if (length > 0)
        SHOT_TRY(find_conversion(rest, length, unit, &conversion));
    *out = shot_conversion_apply(&conversion, number);
    return SHOT_OK;
}
