/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The keys of a shot's head. */
#include <shottrace/trace/head_key.h>

#include <string.h>

#include <shottrace/trace/quantity.h>

static const struct {
    const char *key, *unit;
} known[] = {
    {"dose", "g"},      {"basket", "mm"}, {"bed", "mm"}, {"gauge.lag", "s"},
    {"scale.lag", "s"}, {"tds", "%"},     {"score", ""},
};

const char *shot_head_key_unit(const char *key) {
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (strcmp(known[i].key, key) == 0)
            return known[i].unit;
    return NULL;
}

shot_status shot_head_key_check(const char *key, shot_error *error) {
    static const char *const own[] = {"shot", "history", "mark", "end", "close", "noise", "t0"};
    static const char letters[] = "abcdefghijklmnopqrstuvwxyz";
    for (size_t i = 0; i < sizeof own / sizeof *own; i++)
        if (strcmp(own[i], key) == 0)
            return shot_fail(error, SHOT_ERR_SYNTAX, "'%s' is written by the filters themselves",
                             key);
    if (*key != '\0' && strchr(letters, *key) != NULL &&
        key[strspn(key, "abcdefghijklmnopqrstuvwxyz0123456789.-_")] == '\0')
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_SYNTAX,
                     "'%s' cannot be a key; a key has small letters, digits, '.', '-' and '_', a "
                     "letter first",
                     key);
}

static shot_status add_quantity(const char *key, const char *unit, const char *value,
                                shot_text *out, shot_error *error) {
    double number;
    const shot_status status = shot_quantity_read(value, unit, &number);
    if (status == SHOT_ERR_MEMORY)
        return status;
    if (status != SHOT_OK)
        return shot_fail(error, SHOT_ERR_UNIT, "%s: '%s' is not a %s%s", key, value,
                         *unit ? "quantity in " : "number", unit);
    SHOT_TRY(shot_text_add_number(out, number));
    return *unit ? shot_text_add_format(out, " %s", unit) : SHOT_OK;
}

/* Text as a reader of the stream will find it: in one line, without blanks before it. */
static shot_status add_line(const char *value, shot_text *out) {
    const size_t start = out->length;
    SHOT_TRY(shot_text_add(out, value + strspn(value, " \t\r\n")));
    for (char *c = out->bytes + start; *c != '\0'; c++)
        if (*c == '\r' || *c == '\n')
            *c = ' ';
    return SHOT_OK;
}

shot_status shot_head_key_value(const char *key, const char *value, shot_text *out,
                                shot_error *error) {
    const char *unit = shot_head_key_unit(key);
    if (unit != NULL)
        return add_quantity(key, unit, value, out, error);
    if (strcmp(key, "gauge") == 0 && strcmp(value, "pump") != 0 && strcmp(value, "puck") != 0)
        return shot_fail(error, SHOT_ERR_UNIT, "gauge: '%s' is neither pump nor puck", value);
    return add_line(value, out);
}
