/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The header of a trace stream as text. */
#include "stream/row_text.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/text.h>

#include "stream/shot_names.h"

/* A line may end in more than one carriage return. */
static bool is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\r';
}

static const char *trim_left(const char *text, const char *end) {
    while (text < end && is_blank(*text))
        text++;
    return text;
}

static const char *trim_right(const char *text, const char *end) {
    while (end > text && is_blank(end[-1]))
        end--;
    return end;
}

bool shot_header_starts(const char *line, const char *end) {
    double number;
    line = trim_left(line, end);
    const char *comma = memchr(line, ',', (size_t)(end - line));
    return line < end && shot_number_read(line, end, &number) == NULL &&
           !shot_missing_word(line, comma ? comma : end);
}

/* The quoted field that opens at `start` (RFC 4180: '""' is a quote), without its quotes; *stop is
 * behind the closing one. */
static shot_status quoted_field(const char *start, const char *end, const char **stop,
                                shot_text *field, shot_error *error) {
    for (const char *c = start + 1; c < end; c++) {
        bool quote = *c == '"';
        if (quote && (c + 1 == end || c[1] != '"')) {
            *stop = c + 1;
            return SHOT_OK;
        }
        c += quote;
        SHOT_TRY(shot_text_add_bytes(field, c, 1));
    }
    return shot_fail(error, SHOT_ERR_SYNTAX, "a quote opens in the header and does not close");
}

/* Blanks around a name are none of it, in quotes or not. */
static void trim(shot_text *field) {
    const char *end = field->bytes + field->length, *start = trim_left(field->bytes, end);
    field->length = (size_t)(trim_right(start, end) - start);
    memmove(field->bytes, start, field->length);
    field->bytes[field->length] = '\0';
}

static shot_status plain_field(const char *start, const char *end, shot_text *field,
                               shot_error *error) {
    if (memchr(start, '\r', (size_t)(end - start)) != NULL)
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "there is a carriage return within the header; if it ends the lines of "
                         "this log, shot-read reads it");
    return shot_text_add_bytes(field, start, (size_t)(end - start));
}

/* The field that starts at *text, without its quotes and outer spaces; *text moves to the next one
 * or becomes NULL. */
static shot_status next_field(const char **text, const char *end, shot_text *field,
                              shot_error *error) {
    const char *start = trim_left(*text, end), *stop = start;
    shot_text_clear(field);
    SHOT_TRY(shot_text_add(field, ""));
    bool quoted = start < end && *start == '"';
    if (quoted)
        SHOT_TRY(quoted_field(start, end, &stop, field, error));
    const char *last = stop;
    while (last < end && *last != ',')
        last++;
    *text = last < end ? last + 1 : NULL;
    if (!quoted)
        return plain_field(start, trim_right(start, last), field, error);
    trim(field);
    return trim_left(stop, last) == last
               ? SHOT_OK
               : shot_fail(error, SHOT_ERR_SYNTAX,
                           "'%.40s' in the header goes on behind its closing quote; write a quote "
                           "within a name twice",
                           field->bytes);
}

const char *shot_title_cut(char *title) {
    size_t length = strlen(title);
    char closing = length > 0 ? title[length - 1] : '\0';
    char *open = closing == ']' ? strrchr(title, '[') : closing == ')' ? strrchr(title, '(') : NULL;
    if (open == NULL || open == title || (closing == ')' && strchr(open, '[') != NULL))
        return title + length; /* no unit, or none that could be written in brackets */
    title[length - 1] = '\0';
    char *end = open;
    while (end > title && is_blank(end[-1]))
        end--;
    *end = '\0';
    return open + 1;
}

static shot_status wrong_unit(const char *name, const char *unit, const shot_channel_kind *kind,
                              shot_error *error) {
    if (shot_unit_same_kind(unit, "g/s") || shot_unit_same_kind(unit, "ml/s"))
        return shot_fail(error, SHOT_ERR_UNIT,
                         "%s is in %s and would need a density to be in %s; call water into the "
                         "basket 'flow [ml/s]' and beverage at the spout 'outflow [g/s]'",
                         name, unit, kind->unit);
    return shot_fail(error, SHOT_ERR_UNIT, "%s cannot be in '%s'; it is measured in %s", name, unit,
                     kind->unit);
}

shot_status shot_column_of_companion(const char *name, const char *unit, shot_column *column,
                                     char **target, shot_error *error) {
    bool difference;
    *target = NULL;
    if (*unit == '\0')
        return SHOT_OK;
    SHOT_TRY(shot_channel_companion_unit(name, target, &difference));
    if (*target == NULL)
        return SHOT_OK;
    shot_conversion *conversion = &column->conversion;
    if (shot_unit_convert(unit, *target, conversion, NULL) != SHOT_OK) {
        shot_fail(error, SHOT_ERR_UNIT, "%s cannot be in '%s'; it is in %s", name, unit, *target);
        free(*target);
        *target = NULL;
        return SHOT_ERR_UNIT;
    }
    if (difference)
        conversion->offset = 0;
    column->converts = !conversion->decimal || conversion->exponent != 0;
    return SHOT_OK;
}

static shot_status add_column(shot_head *head, shot_row_plan *plan, const char *name,
                              const char *unit, shot_error *error) {
    shot_column column = {.kind = shot_channel_kind_of(name),
                          .conversion = {.factor = 1, .divisor = 1, .decimal = true}};
    if (column.kind != NULL && *unit == '\0')
        column.unit_assumed = true;
    else if (column.kind != NULL &&
             shot_unit_convert(unit, column.kind->unit, &column.conversion, NULL) != SHOT_OK)
        return wrong_unit(name, unit, column.kind, error);
    column.converts = !column.conversion.decimal || column.conversion.exponent != 0;
    char *target = NULL;
    if (column.kind == NULL)
        SHOT_TRY(shot_column_of_companion(name, unit, &column, &target, error));
    const char *told = column.kind != NULL ? column.kind->unit : target != NULL ? target : unit;
    const shot_status status = shot_head_add_channel(head, name, told);
    free(target);
    SHOT_TRY(status);
    shot_column *columns = realloc(plan->columns, (plan->count + 1) * sizeof *columns);
    if (columns == NULL)
        return SHOT_ERR_MEMORY;
    plan->columns = columns;
    columns[plan->count++] = column;
    return SHOT_OK;
}

/* Known channels are known in capitals too. */
static void settle_case(char *name) {
    size_t count;
    const shot_channel_kind *kinds = shot_channel_kinds(&count);
    for (size_t i = 0; i < count; i++)
        if (strcasecmp(kinds[i].name, name) == 0)
            strcpy(name, kinds[i].name);
}

/* A header may name a million channels, so that each is looked up in a table of those before. */
static shot_status check_unique(shot_names *names, const char *name, shot_error *error) {
    shot_text taken = {0};
    const shot_status status = shot_names_take(names, name, &taken);
    const bool same = status == SHOT_OK && strcmp(taken.bytes, name) == 0;
    shot_text_free(&taken);
    if (status != SHOT_OK || same)
        return status;
    return shot_fail(error, SHOT_ERR_SYNTAX, "the header names '%s' twice", name);
}

static shot_status check_name(const shot_head *head, char *name, const char *line, const char *end,
                              shot_error *error) {
    settle_case(name);
    size_t place = head->channel_count + 1;
    if (*name == '\0')
        return shot_fail(error, SHOT_ERR_SYNTAX, "column %zu of the header has no name", place);
    if (place > 1 || strcmp(name, "time") == 0)
        return SHOT_OK;
    static const char measures[] = "shot,measure,";
    if ((size_t)(end - line) >= sizeof measures - 1 &&
        memcmp(line, measures, sizeof measures - 1) == 0)
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "this is a table of measures, not a trace; name it as a file to "
                         "shot-compare or shot-sweep ('-' is standard input)");
    const char *hint = memchr(line, ';', (size_t)(end - line))    ? " (separated by ';')"
                       : memchr(line, '\t', (size_t)(end - line)) ? " (separated by tabs)"
                                                                  : "";
    return shot_fail(error, SHOT_ERR_SYNTAX,
                     "the first column is '%.60s', not time; if this is a foreign log%s, convert "
                     "it with shot-read",
                     name, hint);
}

shot_status shot_header_read(const char *line, const char *end, shot_head *head,
                             shot_row_plan *plan, shot_error *error) {
    const char *text = line;
    shot_text field = {0};
    shot_names names = {0};
    shot_status status = SHOT_OK;
    while (text != NULL && status == SHOT_OK) {
        status = next_field(&text, end, &field, error);
        const char *unit = status == SHOT_OK ? shot_title_cut(field.bytes) : "";
        if (status == SHOT_OK)
            status = check_name(head, field.bytes, line, end, error);
        if (status == SHOT_OK)
            status = check_unique(&names, field.bytes, error);
        if (status == SHOT_OK)
            status = add_column(head, plan, field.bytes, unit, error);
    }
    shot_names_free(&names);
    shot_text_free(&field);
    return status;
}
