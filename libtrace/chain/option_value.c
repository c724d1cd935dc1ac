/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The value of an option, read from its text. */
#include "chain/option_value.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quantity.h>
#include <shottrace/trace/text.h>

shot_status shot_texts_add(shot_texts *texts, const char *bytes, size_t length) {
    char **items = realloc(texts->items, (texts->count + 1) * sizeof *items);
    if (items == NULL)
        return SHOT_ERR_MEMORY;
    texts->items = items;
    items[texts->count] = shot_text_copy_bytes(bytes, length);
    return items[texts->count++] ? SHOT_OK : SHOT_ERR_MEMORY;
}

void shot_texts_free(shot_texts *texts) {
    for (size_t i = 0; i < texts->count; i++)
        free(texts->items[i]);
    free(texts->items);
    *texts = (shot_texts){0};
}

/* Text up to the next comma.  A name with a comma is quoted as in a table (RFC 4180): "a,b", or
 * after the '=' of weight="a,b"; elsewhere a quote is a sign like others.  *end stays at the comma,
 * or at the end; false where a quote is not closed. */
static bool unquote_item(const char *text, char *item, size_t *length, const char **end) {
    bool quoted = false;
    *length = 0;
    for (*end = text; **end != '\0' && (quoted || **end != ','); ++*end) {
        const char *at = *end;
        const bool twice = quoted && at[0] == '"' && at[1] == '"';
        if (*at == '"' && !twice && (quoted || at == text || at[-1] == '='))
            quoted = !quoted;
        else
            item[(*length)++] = *at;
        *end += twice;
    }
    return !quoted;
}

static shot_status list_add(const shot_option *option, shot_texts *texts, const char *text,
                            shot_error *error) {
    shot_status status = SHOT_OK;
    char *item = malloc(strlen(text) + 1);
    if (item == NULL)
        return SHOT_ERR_MEMORY;
    for (const char *from = text, *end; status == SHOT_OK; from = end + 1) {
        size_t length;
        if (!unquote_item(from, item, &length, &end))
            status = shot_fail(error, SHOT_ERR_USAGE, "--%s: a quote of '%s' is not closed",
                               option->name, text);
        else
            status = shot_texts_add(texts, item, length);
        if (*end == '\0')
            break;
    }
    free(item);
    return status;
}

static shot_status check_interval(const shot_option *option, double value, const char *text,
                                  shot_error *error) {
    bool bounded = option->low != 0 || option->high != 0;
    if (!bounded || (value >= option->low && value <= option->high))
        return SHOT_OK;
    const char *unit = option->kind == SHOT_OPTION_QUANTITY ? option->unit : "";
    const char *space = *unit ? " " : "";
    if (isinf(option->high))
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--%s: '%s' is too small; it must be at least %g%s%s", option->name, text,
                         option->low, space, unit);
    return shot_fail(error, SHOT_ERR_USAGE, "--%s: '%s' is outside %g to %g%s%s", option->name,
                     text, option->low, option->high, space, unit);
}

static shot_status read_number(const shot_option *option, const char *text, double *out,
                               shot_error *error) {
    const char *end = text + strlen(text);
    if (shot_number_read(text, end, out) != end || !isfinite(*out))
        return shot_fail(error, SHOT_ERR_USAGE, "--%s: '%s' is not a number", option->name, text);
    return check_interval(option, *out, text, error);
}

static shot_status read_count(const shot_option *option, void *field, const char *text,
                              shot_error *error) {
    double value;
    SHOT_TRY(read_number(option, text, &value, error));
    if (value != floor(value) || fabs(value) > 1e9)
        return shot_fail(error, SHOT_ERR_USAGE, "--%s: '%s' is not a whole number", option->name,
                         text);
    *(long *)field = (long)value;
    return SHOT_OK;
}

static shot_status read_quantity(const shot_option *option, void *field, const char *text,
                                 shot_error *error) {
    const char *unit = option->unit, *end = text + strlen(text);
    const bool time = strcmp(unit, "s") == 0;
    double number;
    if (time && shot_number_read(text, end, &number) == end && number != 0)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--%s: '%s' has no unit; give a time ('%ss'), since a number alone is "
                         "elsewhere a count",
                         option->name, text, text);
    const shot_status status = shot_quantity_read(text, unit, (double *)field);
    if (status == SHOT_ERR_MEMORY)
        return status;
    if (status != SHOT_OK)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--%s: '%s' is not a quantity in %s; give a number%s", option->name, text,
                         *unit ? unit : "plain numbers",
                         time ? " with a unit of time (3s)" : ", or one with a unit");
    return check_interval(option, *(double *)field, text, error);
}

/* A length that can be read, but not used; NULL where there is nothing against it. */
static const char *fault_of_span(const shot_option *option, double length, bool samples) {
    if (length < 0)
        return "is below 0";
    if (samples && length != floor(length))
        return "is no whole number of samples";
    if (option->high > 0 && length < option->low)
        return "is too short";
    if (length >= 1e9 || (option->high > 0 && length > option->high))
        return "is too long";
    return NULL;
}

static shot_status read_span(const shot_option *option, void *field, const char *text,
                             shot_error *error) {
    shot_span *span = (shot_span *)field;
    const char *end = text + strlen(text), *fault = "is not a length";
    double value;
    const char *after = shot_number_read(text, end, &value);
    span->samples = after == end;
    const shot_status status = span->samples ? SHOT_OK : shot_quantity_read(text, "s", &value);
    if (status == SHOT_ERR_MEMORY)
        return status;
    if (after != NULL && isfinite(value) && status == SHOT_OK)
        fault = fault_of_span(option, value, span->samples);
    if (fault != NULL)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--%s: '%s' %s; give a time (0.7s) or a count of samples (11)",
                         option->name, text, fault);
    span->length = value;
    return SHOT_OK;
}

static shot_status read_choice(const shot_option *option, void *field, const char *text,
                               shot_error *error) {
    const char *word = option->choices;
    for (int index = 0; *word != '\0'; index++) {
        size_t length = strcspn(word, "|");
        if (strlen(text) == length && memcmp(word, text, length) == 0) {
            *(int *)field = index;
            return SHOT_OK;
        }
        word += length + (word[length] == '|');
    }
    return shot_fail(error, SHOT_ERR_USAGE, "--%s: '%s' is not one of %s", option->name, text,
                     option->choices);
}

static shot_status read_text(char **field, const char *text) {
    free(*field);
    *field = shot_text_copy(text);
    return *field ? SHOT_OK : SHOT_ERR_MEMORY;
}

shot_status shot_option_read(const shot_option *option, void *field, const char *text,
                             shot_error *error) {
    switch (option->kind) {
    case SHOT_OPTION_FLAG:
        *(bool *)field = true;
        return SHOT_OK;
    case SHOT_OPTION_COUNT:
        return read_count(option, field, text, error);
    case SHOT_OPTION_NUMBER:
        return read_number(option, text, field, error);
    case SHOT_OPTION_QUANTITY:
        return read_quantity(option, field, text, error);
    case SHOT_OPTION_SPAN:
        return read_span(option, field, text, error);
    case SHOT_OPTION_CHOICE:
        return read_choice(option, field, text, error);
    case SHOT_OPTION_TEXT:
    case SHOT_OPTION_FILE:
    case SHOT_OPTION_SETTINGS:
        return read_text(field, text);
    case SHOT_OPTION_LIST:
        return list_add(option, (shot_texts *)field, text, error);
    case SHOT_OPTION_EACH:
    case SHOT_OPTION_FILES:
        return shot_texts_add((shot_texts *)field, text, strlen(text));
    }
    return SHOT_ERR_RANGE;
}

shot_status shot_option_read_initial(const shot_option *option, void *field, shot_error *error) {
    if (option->initial != NULL)
        return shot_option_read(option, field, option->initial, error);
    if (option->kind == SHOT_OPTION_NUMBER || option->kind == SHOT_OPTION_QUANTITY)
        *(double *)field = NAN;
    return SHOT_OK;
}

void shot_option_clear_list(const shot_option *option, void *field) {
    const shot_option_kind kind = option->kind;
    if (kind == SHOT_OPTION_LIST || kind == SHOT_OPTION_EACH || kind == SHOT_OPTION_FILES)
        shot_texts_free(field);
}

static bool holds_text(shot_option_kind kind) {
    return kind == SHOT_OPTION_TEXT || kind == SHOT_OPTION_FILE || kind == SHOT_OPTION_SETTINGS;
}

void shot_option_free(const shot_option *option, void *field) {
    shot_option_clear_list(option, field);
    if (holds_text(option->kind))
        free(*(char **)field);
}
