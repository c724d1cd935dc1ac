/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where alone an option counts: groups behind commas, alternatives behind bars. */
#include "chain/option_only.h"

#include <string.h>

static option_condition condition_at(const char *text) {
    option_condition one = {.absent = *text == '!'};
    one.name = text + one.absent;
    one.name_length = strcspn(one.name, "=|,");
    if (one.name[one.name_length] == '=') {
        one.word = one.name + one.name_length + 1;
        one.word_length = strcspn(one.word, "|,");
    }
    return one;
}

/* The next alternative of the group, NULL behind the last. */
static const char *next_alternative(const char *text) {
    text += strcspn(text, "|,");
    return *text == '|' ? text + 1 : NULL;
}

static const char *next_group(const char *text) {
    text += strcspn(text, ",");
    return *text == ',' ? text + 1 : NULL;
}

const char *option_only_missing(const char *only,
                                bool (*holds)(const void *user, const option_condition *one),
                                const void *user) {
    for (const char *group = only; group != NULL; group = next_group(group)) {
        bool fits = false;
        for (const char *at = group; at != NULL && !fits; at = next_alternative(at)) {
            const option_condition one = condition_at(at);
            fits = holds(user, &one);
        }
        if (!fits)
            return group;
    }
    return NULL;
}

static bool same_name(const option_condition *a, const option_condition *b) {
    return a->name_length == b->name_length && memcmp(a->name, b->name, a->name_length) == 0;
}

/* The name is said once: "--method savgol or lowpass". */
static shot_status write_one(const option_condition *one, bool named, shot_text *text) {
    if (!named)
        SHOT_TRY(shot_text_add_format(text, " --%.*s", (int)one->name_length, one->name));
    if (one->word == NULL)
        return SHOT_OK;
    return shot_text_add_format(text, " %.*s", (int)one->word_length, one->word);
}

shot_status option_only_write(const char *group, shot_text *text, const char **rest) {
    option_condition before = {.name_length = 0};
    SHOT_TRY(shot_text_add(text, *group == '!' ? "not with" : "only with"));
    for (const char *at = group; at != NULL; at = next_alternative(at)) {
        const option_condition one = condition_at(at);
        if (at != group)
            SHOT_TRY(shot_text_add(text, " or"));
        SHOT_TRY(write_one(&one, at != group && same_name(&one, &before), text));
        before = one;
    }
    *rest = next_group(group);
    return SHOT_OK;
}
