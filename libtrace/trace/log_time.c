/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The log's own clock. */
#include <shottrace/trace/log_time.h>

#include <math.h>
#include <string.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quantity.h>

shot_status shot_log_time_origin(const shot_head *head, shot_decimal *out, shot_error *error) {
    const char *origin = shot_head_origin(head);
    if (shot_decimal_read(origin, origin + strlen(origin), 0, out) != NULL)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_DATA,
                     "shot '%s': '# t0: %s' is not a decimal number of seconds", head->name,
                     origin);
}

shot_status shot_log_time_read(const char *text, shot_decimal *out) {
    double seconds, number;
    text += strspn(text, " \t");
    SHOT_TRY(shot_quantity_read(text, "s", &seconds));
    const char *end = text + strlen(text), *unit = shot_number_read(text, end, &number);
    unit += strspn(unit, " \t");
    shot_conversion conversion = {.decimal = true};
    if (*unit != '\0')
        (void)shot_unit_convert(unit, "s", &conversion, NULL); /* that failed: no power of ten */
    if (conversion.decimal && shot_decimal_read(text, end, conversion.exponent, out) != NULL)
        return SHOT_OK;
    return shot_decimal_from(seconds, out) == SHOT_OK ? SHOT_OK : SHOT_ERR_SYNTAX;
}

double shot_log_time_to_trace(const shot_decimal *clock, const shot_decimal *origin) {
    shot_decimal time = *clock;
    return shot_decimal_subtract(&time, origin) == SHOT_OK ? shot_decimal_value(&time) : NAN;
}

shot_status shot_log_time_from_trace(double time, const shot_decimal *origin, shot_decimal *out) {
    shot_decimal sum;
    SHOT_TRY(shot_decimal_from(time, &sum));
    SHOT_TRY(shot_decimal_add(&sum, origin));
    *out = sum;
    return SHOT_OK;
}

shot_status shot_text_add_log_time(shot_text *text, double time, const shot_decimal *origin) {
    shot_decimal sum;
    char digits[SHOT_DECIMAL_ROOM];
    if (shot_log_time_from_trace(time, origin, &sum) != SHOT_OK)
        return shot_text_add_number(text, time);
    return shot_text_add_bytes(text, digits, shot_decimal_write(digits, &sum));
}

shot_status shot_text_add_log_span(shot_text *text, double from, double to,
                                   const shot_decimal *origin) {
    SHOT_TRY(shot_text_add_log_time(text, from, origin));
    SHOT_TRY(shot_text_add(text, " to "));
    return shot_text_add_log_time(text, to, origin);
}
