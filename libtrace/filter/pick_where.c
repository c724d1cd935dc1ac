/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Conditions on what a shot says about itself. */
#include "filter/pick_where.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/head_key.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quantity.h>
#include <shottrace/trace/text.h>

static const struct {
    const char *sign;
    pick_relation relation;
} relations[] = {
    {"!=", PICK_UNEQUAL}, {"<=", PICK_LESS_EQUAL}, {">=", PICK_GREATER_EQUAL},
    {"=", PICK_EQUAL},    {"<", PICK_LESS},        {">", PICK_GREATER},
};

/* ---- reading ---- */

static char *trimmed(const char *text, size_t length) {
    while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == '\t'))
        length--;
    while (length > 0 && (*text == ' ' || *text == '\t')) {
        text++;
        length--;
    }
    return shot_text_copy_bytes(text, length);
}

/* The unit behind a number, or NULL where the text starts with none. */
static const char *unit_behind(const char *text, double *number) {
    const char *rest = shot_number_read(text, text + strlen(text), number);
    return rest != NULL && isfinite(*number) ? rest + strspn(rest, " \t") : NULL;
}

static shot_status check(const pick_condition *condition, const char *text, shot_error *error) {
    double number;
    if (*condition->key == '\0')
        return shot_fail(error, SHOT_ERR_USAGE, "--where: '%s' names no key", text);
    const bool by_size = condition->relation >= PICK_LESS;
    if (by_size && unit_behind(condition->value, &number) == NULL)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--where: '%s' in '%s' is not a number; texts are equal (=) or not (!=)",
                         condition->value, text);
    return SHOT_OK;
}

shot_status pick_condition_read(const char *text, pick_condition *out, shot_error *error) {
    const size_t key = strcspn(text, "=!<>");
    *out = (pick_condition){0};
    for (size_t i = 0; i < sizeof relations / sizeof *relations; i++) {
        const size_t length = strlen(relations[i].sign);
        if (strncmp(text + key, relations[i].sign, length) != 0)
            continue;
        const char *value = text + key + length;
        out->relation = relations[i].relation;
        out->key = trimmed(text, key);
        out->value = trimmed(value, strlen(value));
        const shot_status status =
            out->key != NULL && out->value != NULL ? check(out, text, error) : SHOT_ERR_MEMORY;
        if (status != SHOT_OK)
            pick_condition_free(out);
        return status;
    }
    return shot_fail(error, SHOT_ERR_USAGE,
                     "--where: '%s' is no condition; write KEY=VALUE, or != < <= > >=", text);
}

void pick_condition_free(pick_condition *condition) {
    free(condition->key);
    free(condition->value);
    *condition = (pick_condition){0};
}

/* ---- comparing ---- */

static bool relation_holds(pick_relation relation, int order) {
    switch (relation) {
    case PICK_EQUAL:
        return order == 0;
    case PICK_UNEQUAL:
        return order != 0;
    case PICK_LESS:
        return order < 0;
    case PICK_LESS_EQUAL:
        return order <= 0;
    case PICK_GREATER:
        return order > 0;
    case PICK_GREATER_EQUAL:
        return order >= 0;
    }
    return false;
}

/* The bound in `unit`; a number alone on either side is in the unit of the other. */
static shot_status bound_in(const char *bound_unit, const char *unit, double *bound) {
    shot_conversion conversion;
    if (*unit == '\0' || *bound_unit == '\0')
        return SHOT_OK;
    SHOT_TRY(shot_unit_convert(bound_unit, unit, &conversion, NULL));
    *bound = shot_conversion_apply(&conversion, *bound);
    return SHOT_OK;
}

/* The unit that a number alone has: that of the key, where the library knows it. */
static const char *unit_or_usual(const char *unit, const char *key) {
    const char *usual = shot_head_key_unit(key);
    return *unit == '\0' && usual != NULL ? usual : unit;
}

shot_status pick_condition_holds(pick_condition *condition, const shot_head *head, bool *holds,
                                 shot_error *error) {
    const bool by_name = strcmp(condition->key, "shot") == 0;
    const char *said = by_name ? head->name : shot_head_value(head, condition->key);
    double number, bound;
    *holds = condition->relation == PICK_UNEQUAL;
    if (said == NULL)
        return SHOT_OK;
    condition->met = true;
    const char *unit = by_name ? NULL : unit_behind(said, &number);
    const char *bound_unit = by_name ? NULL : unit_behind(condition->value, &bound);
    if (unit == NULL || bound_unit == NULL) {
        *holds = condition->relation <= PICK_UNEQUAL &&
                 relation_holds(condition->relation, strcmp(said, condition->value));
        return SHOT_OK;
    }
    unit = unit_or_usual(unit, condition->key);
    bound_unit = unit_or_usual(bound_unit, condition->key);
    if (bound_in(bound_unit, unit, &bound) != SHOT_OK)
        return shot_fail(error, SHOT_ERR_UNIT,
                         "shot '%s': '%s: %s' cannot be compared with '%s': the units differ in "
                         "kind",
                         head->name, condition->key, said, condition->value);
    *holds = relation_holds(condition->relation, (number > bound) - (number < bound));
    return SHOT_OK;
}
