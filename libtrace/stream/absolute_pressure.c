/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units that count pressure from nothing and not from that of the air. */
#include "stream/absolute_pressure.h"

#include <string.h>
#include <strings.h>

#include <shottrace/trace/unit.h>

#include "stream/column_names.h"

static bool is_pressure(const shot_text *unit, bool known) {
    return known && shot_unit_same_kind(unit->bytes, "bar");
}

shot_status shot_unit_is_absolute(const char *text, size_t length, bool *absolute) {
    static const char *const words[] = {"absolute", "(abs)", "abs.", "abs", "(a)", "a"};
    shot_text unit = {0};
    bool known = false;
    shot_status status = shot_unit_spelling(text, length, &unit, &known);
    *absolute = false;
    for (size_t i = 0; i < sizeof words / sizeof *words && status == SHOT_OK && !known; i++) {
        const size_t tail = strlen(words[i]);
        if (length <= tail || strncasecmp(text + length - tail, words[i], tail) != 0)
            continue;
        bool rest_known;
        status = shot_unit_spelling(text, length - tail, &unit, &rest_known);
        *absolute = status == SHOT_OK && is_pressure(&unit, rest_known);
        break;
    }
    shot_text_free(&unit);
    return status;
}
