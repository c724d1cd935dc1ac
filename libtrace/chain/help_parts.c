/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the help and the manual page of a filter both say, in words. */
#include "chain/help_parts.h"

#include <string.h>

#include <shottrace/chain/settings.h>

#include "chain/option_only.h"

/* The choices as a list that can be broken into lines. */
static shot_status add_choices(shot_text *words, const char *choices) {
    SHOT_TRY(shot_text_add(words, "; one of "));
    for (const char *c = choices; *c != '\0'; c++)
        SHOT_TRY(*c == '|' ? shot_text_add(words, ", ") : shot_text_add_bytes(words, c, 1));
    return SHOT_OK;
}

static shot_status add_only(shot_text *words, const char *only) {
    for (const char *group = only; group != NULL;) {
        SHOT_TRY(shot_text_add(words, "; "));
        SHOT_TRY(option_only_write(group, words, &group));
    }
    return SHOT_OK;
}

/* TIME says by itself what it is in. */
static bool says_time(const shot_option *option) {
    return strcmp(option->unit, "s") == 0 &&
           (option->argument == NULL || strncmp(option->argument, "TIME", 4) == 0);
}

shot_status help_add_option_words(shot_text *words, const shot_option *option) {
    SHOT_TRY(shot_text_add(words, option->help));
    if (option->kind == SHOT_OPTION_CHOICE)
        SHOT_TRY(add_choices(words, option->choices));
    SHOT_TRY(add_only(words, option->only));
    if (option->initial != NULL)
        return shot_text_add_format(words, " (default %s)", option->initial);
    /* what it is in as a channel has it */
    if (option->kind == SHOT_OPTION_QUANTITY && *option->unit != '\0' && !says_time(option))
        return shot_text_add_format(words, " [%s]", option->unit);
    return SHOT_OK;
}

const char *help_operands(const shot_description *description) {
    if (description->operands != NULL)
        return description->operands;
    return description->traits & SHOT_TRAIT_NO_INPUT ? "" : "[FILE...]";
}

const char *help_input(const shot_description *description) {
    if (description->traits & SHOT_TRAIT_NO_INPUT)
        return "";
    if (description->operands != NULL && strchr(description->operands, '[') == NULL)
        return "Reads the files named; '-' is standard input.";
    return "Reads the files named, or standard input ('-' or no name).";
}

const char *help_memory(const shot_description *description) {
    static const char *const words[] = {
        [SHOT_MEMORY_WINDOW] =
            "Memory: bounded by its window; by the longest shot if rows wait for its end.",
        [SHOT_MEMORY_SHOT] = "Memory: bounded by the longest shot of the stream.",
        [SHOT_MEMORY_TABLE] =
            "Memory: bounded by the longest shot, and some KiB more for each shot.",
        [SHOT_MEMORY_STREAM] = "Memory: grows with all shots of the stream."};
    return words[description->memory];
}

const char *help_exit_status(void) {
    return "0 fine, 1 the data or the system failed, 2 the call was wrong.";
}

shot_status help_each_option(const shot_description *description, shot_text *text,
                             shot_status (*add)(shot_text *text, const shot_option *option)) {
    for (const shot_option *option = description->options; option && option->name; option++)
        SHOT_TRY(add(text, option));
    for (const shot_option *option = shot_common_options(); option->name; option++)
        if (shot_common_option_fits(option, description))
            SHOT_TRY(add(text, option));
    return SHOT_OK;
}
