/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The keys of a shot's head. */
#include <shottrace/trace/head_key.h>

#include <math.h>
#include <string.h>

#include <shottrace/trace/decimal.h>
#include <shottrace/trace/noise_line.h>
#include <shottrace/trace/quantity.h>

/* Values outside low..high are slips of the pen or of the unit, in any kitchen. */
typedef struct known_key {
    const char *key, *unit;
    double low, high;
} known_key;

static const known_key known[] = {
    {"dose", "g", 0.1, 1000},           {"basket", "mm", 10, 500},   {"bed", "mm", 0.5, 200},
    {"gauge.lag", "s", -10, 10},        {"scale.lag", "s", -10, 10}, {"tds", "%", 0, 100},
    {"score", "", -INFINITY, INFINITY},
};

static const char digits[] = "0123456789";

static const known_key *find(const char *key) {
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (strcmp(known[i].key, key) == 0)
            return &known[i];
    return NULL;
}

const char *shot_head_key_unit(const char *key) {
    const known_key *one = find(key);
    return one != NULL ? one->unit : NULL;
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

static shot_status read_known(const known_key *one, const char *value, double *number,
                              shot_error *error) {
    const shot_status status = shot_quantity_read(value, one->unit, number);
    if (status == SHOT_ERR_MEMORY)
        return status;
    if (status != SHOT_OK)
        return shot_fail(error, SHOT_ERR_UNIT, "%s: '%s' is not a %s%s", one->key, value,
                         *one->unit ? "quantity in " : "number", one->unit);
    if (*number < one->low || *number > one->high)
        return shot_fail(error, SHOT_ERR_UNIT,
                         "%s: '%s' is outside %g to %g %s; is it in another unit?", one->key, value,
                         one->low, one->high, one->unit);
    return SHOT_OK;
}

/* "18,2 g", as many people type it, with a point; "18,200" may be thousands, and stays. */
static shot_status set_point(const char *value, shot_text *out) {
    const size_t sign = strspn(value, " +-"), whole = strspn(value + sign, digits);
    const char *comma = value + sign + whole;
    const size_t behind = *comma == ',' ? strspn(comma + 1, digits) : 0;
    const bool thousands = behind == 3 && whole >= 1 && whole <= 3 && value[sign] != '0';
    SHOT_TRY(shot_text_add(out, value));
    if (whole > 0 && behind > 0 && !thousands)
        out->bytes[comma - value] = '.';
    return SHOT_OK;
}

static shot_status add_quantity(const known_key *one, const char *value, shot_text *out,
                                shot_error *error) {
    double number;
    shot_text typed = {0};
    shot_status status = set_point(value, &typed);
    if (status == SHOT_OK)
        status = read_known(one, typed.bytes, &number, error);
    shot_text_free(&typed);
    SHOT_TRY(status);
    SHOT_TRY(shot_text_add_number(out, number));
    return *one->unit ? shot_text_add_format(out, " %s", one->unit) : SHOT_OK;
}

static shot_status check_gauge(const char *value, shot_error *error) {
    if (strcmp(value, "pump") == 0 || strcmp(value, "puck") == 0)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_UNIT, "gauge: '%s' is neither pump nor puck", value);
}

static shot_status check_origin(const char *value, shot_error *error) {
    shot_decimal origin;
    const char *end = value + strlen(value);
    if (shot_decimal_read(value, end, 0, &origin) == end)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_UNIT, "t0: '%s' is not a number of seconds", value);
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
    const known_key *one = find(key);
    if (one != NULL)
        return add_quantity(one, value, out, error);
    if (strcmp(key, "gauge") == 0)
        SHOT_TRY(check_gauge(value, error));
    return add_line(value, out);
}

/* What baskets hold, the smallest and the largest (common practice, no source). */
static const double least_dose = 4, most_dose = 40; /* g */

/* A dose that can be weighed, but not brewed: 18 oz. */
static shot_status doubt_dose(const char *value, double dose, shot_error *error) {
    if (dose >= least_dose && dose <= most_dose)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_UNIT,
                     "dose: '%s' is not what a basket holds (%g to %g g); it is taken as it is: is "
                     "it in another unit?",
                     value, least_dose, most_dose);
}

shot_status shot_head_key_judge(const char *key, const char *value, shot_error *error) {
    const known_key *one = find(key);
    double number;
    if (one != NULL)
        SHOT_TRY(read_known(one, value, &number, error));
    if (strcmp(key, "dose") == 0)
        return doubt_dose(value, number, error);
    if (strcmp(key, "gauge") == 0)
        return check_gauge(value, error);
    if (strcmp(key, "t0") == 0)
        return check_origin(value, error);
    if (strcmp(key, "noise") == 0 && !shot_noise_line_is_readable(value))
        return shot_fail(error, SHOT_ERR_UNIT,
                         "noise: '%s' is not 'CHANNEL sd=NUMBER corr=NUMBERs'", value);
    return SHOT_OK;
}
