/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of a trace stream as text. */
#include "stream/row_text.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quantity.h>

static const char *skip_spaces(const char *text, const char *end) {
    while (text < end && (*text == ' ' || *text == '\t'))
        text++;
    return text;
}

/* Where the field that starts here ends: at a comma or at the end of the line. */
static const char *field_end(const char *text, const char *end) {
    const char *comma = memchr(text, ',', (size_t)(end - text));
    return comma ? comma : end;
}

/* As C prints what is no number: [-]nan or [-]nan(n-char-sequence), ISO/IEC 9899:2011, 7.21.6.1. */
static bool is_nan_word(const char *text, const char *end) {
    text += text < end && (*text == '-' || *text == '+');
    if (end - text < 3 || strncasecmp(text, "nan", 3) != 0)
        return false;
    return end - text == 3 || (end - text > 4 && text[3] == '(' && end[-1] == ')');
}

bool shot_missing_word(const char *text, const char *end) {
    static const char *const words[] = {"na",       "inf",       "+inf", "-inf",
                                        "infinity", "-infinity", "null"};
    while (end > text && (end[-1] == ' ' || end[-1] == '\t'))
        end--;
    if (is_nan_word(text, end))
        return true;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strlen(words[i]) == (size_t)(end - text) &&
            strncasecmp(words[i], text, (size_t)(end - text)) == 0)
            return true;
    return text == end;
}

static shot_status not_a_number(const char *text, const char *end, const char *channel,
                                shot_error *error) {
    while (end > text && (end[-1] == ' ' || end[-1] == '\t'))
        end--;
    int shown = (int)(end - text > 40 ? 40 : end - text);
    return shot_fail(error, SHOT_ERR_SYNTAX,
                     "%s is '%.*s', not a number; leave the field empty if it is missing, or "
                     "convert the log with shot-read",
                     channel, shown, text);
}

double shot_column_convert(const shot_column *column, const char *text, const char *end,
                           double value) {
    shot_decimal exact;
    if (column->conversion.decimal &&
        shot_decimal_read(text, end, column->conversion.exponent, &exact) != NULL)
        return shot_decimal_value(&exact);
    return shot_conversion_apply(&column->conversion, value);
}

static shot_status check_range(const shot_column *column, double value, const char *channel,
                               shot_error *error) {
    const shot_channel_kind *kind = column->kind;
    if (value >= kind->low && value <= kind->high)
        return SHOT_OK;
    const char *likely = shot_channel_likely_unit(kind, value);
    if (likely == NULL)
        return shot_fail(error, SHOT_ERR_UNIT,
                         "%s has no unit and is %g, outside %g to %g %s; write its unit in the "
                         "header, '%s [UNIT]'",
                         channel, value, kind->low, kind->high, kind->unit, channel);
    return shot_fail(error, SHOT_ERR_UNIT,
                     "%s has no unit and is %g, outside %g to %g %s; if it is in %s, write "
                     "'%s [%s]' in the header",
                     channel, value, kind->low, kind->high, kind->unit, likely, channel, likely);
}

/* One value of [*text, end); *text moves to the comma or to the end. */
static shot_status read_value(const char **text, const char *end, const shot_column *column,
                              const char *channel, double *value, shot_error *error) {
    const char *start = skip_spaces(*text, end);
    const char *after = shot_number_read(start, end, value);
    if (after == NULL) {
        *value = NAN;
        *text = field_end(start, end);
        return shot_missing_word(start, *text) ? SHOT_OK
                                               : not_a_number(start, *text, channel, error);
    }
    *text = skip_spaces(after, end);
    if (*text < end && **text != ',')
        return not_a_number(start, field_end(start, end), channel, error);
    if (column->converts)
        *value = shot_column_convert(column, start, after, *value);
    if (isfinite(*value) && column->unit_assumed)
        return check_range(column, *value, channel, error);
    return SHOT_OK;
}

/* The time in s less the origin, both exact. */
static shot_status read_time(const char **text, const char *end, const shot_row_plan *plan,
                             const char *channel, double *value, shot_error *error) {
    const char *start = skip_spaces(*text, end);
    const shot_column *column = &plan->columns[0];
    SHOT_TRY(read_value(text, end, column, channel, value, error));
    if (isinf(*value))
        return shot_fail(error, SHOT_ERR_DATA, "the time is too large for a number");
    if (isnan(*value))
        return shot_fail(error, SHOT_ERR_DATA, "the time is missing; every row needs one");
    shot_decimal exact;
    if (!plan->has_origin)
        return SHOT_OK;
    if (!column->conversion.decimal) /* minutes and hours are rounded to a double already */
        *value -= shot_decimal_value(&plan->origin);
    else if (shot_decimal_read(start, end, column->conversion.exponent, &exact) != NULL &&
             shot_decimal_subtract(&exact, &plan->origin) == SHOT_OK)
        *value = shot_decimal_value(&exact);
    return SHOT_OK;
}

bool shot_row_plan_is_plain(const shot_row_plan *plan) {
    bool plain = !plan->has_origin;
    for (size_t c = 0; c < plan->count; c++)
        plain = plain && !plan->columns[c].converts && !plan->columns[c].unit_assumed;
    return plain;
}

shot_status shot_row_read(const char *line, const char *end, const shot_row_plan *plan,
                          const shot_head *head, double *values, shot_error *error) {
    const char *text = line;
    for (size_t c = 0; c < plan->count; c++) {
        const char *channel = head->channels[c].name;
        shot_status status =
            c == 0 ? read_time(&text, end, plan, channel, &values[c], error)
                   : read_value(&text, end, &plan->columns[c], channel, &values[c], error);
        if (status != SHOT_OK) {
            if (error != NULL)
                error->column = c + 1;
            return status;
        }
        bool last = c + 1 == plan->count;
        if (text == end && !last)
            return shot_fail(error, SHOT_ERR_SYNTAX,
                             "the row has %zu field%s, the header %zu; leave fields empty, but "
                             "keep their commas",
                             c + 1, c == 0 ? "" : "s", plan->count);
        if (!last)
            text++;
    }
    if (text == end)
        return SHOT_OK;
    size_t fields = plan->count;
    for (; text < end; text++)
        fields += *text == ',';
    return shot_fail(error, SHOT_ERR_SYNTAX, "the row has %zu fields, the header %zu", fields,
                     plan->count);
}

const char *shot_row_field(const char *line, const char *line_end, size_t field, const char **end) {
    const char *text = line;
    for (; text < line_end && field > 0; text++)
        field -= *text == ',';
    text = skip_spaces(text, line_end);
    for (*end = text; *end < line_end && **end != ',';)
        ++*end;
    while (*end > text && ((*end)[-1] == ' ' || (*end)[-1] == '\t'))
        --*end;
    return text;
}

bool shot_row_has_figures(const char *line, const char *end) {
    const char *text = skip_spaces(line, end), *after;
    double number;
    text += text < end && *text == '"';
    if (end - text >= 4 && strncasecmp(text, "time", 4) == 0)
        return false;
    while ((text = memchr(text, ',', (size_t)(end - text))) != NULL) {
        text = shot_row_field(text + 1, end, 0, &after);
        if (after > text && shot_number_read(text, after, &number) == after)
            return true;
    }
    return false;
}

const char *shot_row_seam(const char *line, const char *end) {
    static const char *const starts[] = {"#", "time", "\"time", "\xef\xbb\xbf"};
    for (const char *c = line + 1; c < end; c++) {
        if (strchr("#tT\"\xef", *c) == NULL) /* most, at once */
            continue;
        for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
            size_t length = strlen(starts[i]);
            if ((size_t)(end - c) >= length && strncasecmp(c, starts[i], length) == 0)
                return c;
        }
    }
    return NULL;
}

/* From about 11 days on, a double's spacing is over 1e-10 s, and differences of such times show
 * it. */
static const double large_clock = 1e6;

bool shot_row_large_clock(const char *line, const char *end, const shot_row_plan *plan,
                          shot_decimal *origin) {
    const char *start = skip_spaces(line, end);
    const shot_column *column = &plan->columns[0];
    double seconds;
    if (column->conversion.decimal) {
        if (shot_decimal_read(start, end, column->conversion.exponent, origin) == NULL)
            return false;
        seconds = shot_decimal_value(origin);
    } else if (shot_number_read(start, end, &seconds) == NULL) {
        return false;
    } else {
        seconds = shot_conversion_apply(&column->conversion, seconds);
    }
    return fabs(seconds) >= large_clock && shot_decimal_from(floor(seconds), origin) == SHOT_OK;
}
