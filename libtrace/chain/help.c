/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The help of a filter, made from its description. */
#include <shottrace/chain/help.h>

#include <string.h>

#include <shottrace/chain/settings.h>
#include <shottrace/trace/wrap.h>

enum { WIDTH = 78, OPTION_COLUMN = 28 };

/* The choices as a list that can be broken into lines. */
static shot_status add_choices(shot_text *words, const char *choices) {
    SHOT_TRY(shot_text_add(words, "; one of "));
    for (const char *c = choices; *c != '\0'; c++)
        SHOT_TRY(*c == '|' ? shot_text_add(words, ", ") : shot_text_add_bytes(words, c, 1));
    return SHOT_OK;
}

static shot_status add_option(shot_text *text, const shot_option *option) {
    size_t start = text->length;
    SHOT_TRY(option->letter ? shot_text_add_format(text, "  -%c, ", option->letter)
                            : shot_text_add(text, "      "));
    SHOT_TRY(shot_text_add_format(text, "--%s", option->name));
    if (option->argument != NULL)
        SHOT_TRY(shot_text_add_format(text, " %s", option->argument));
    size_t column = text->length - start;
    if (column + 2 > OPTION_COLUMN) {
        SHOT_TRY(shot_text_add(text, "\n"));
        column = 0;
    }
    SHOT_TRY(shot_text_add_format(text, "%*s", (int)(OPTION_COLUMN - column), ""));
    shot_text words = {0};
    shot_status status = shot_text_add(&words, option->help);
    if (status == SHOT_OK && option->kind == SHOT_OPTION_CHOICE)
        status = add_choices(&words, option->choices);
    if (status == SHOT_OK && option->initial != NULL)
        status = shot_text_add_format(&words, " (default %s)", option->initial);
    if (status == SHOT_OK)
        status = shot_text_add_wrapped(text, words.bytes, OPTION_COLUMN, OPTION_COLUMN, WIDTH);
    shot_text_free(&words);
    return status;
}

static shot_status add_options(shot_text *text, const shot_description *description) {
    SHOT_TRY(shot_text_add(text, "\nOptions\n"));
    for (const shot_option *option = description->options; option && option->name; option++)
        SHOT_TRY(add_option(text, option));
    for (const shot_option *option = shot_common_options(); option->name; option++)
        if (shot_common_option_fits(option, description))
            SHOT_TRY(add_option(text, option));
    return SHOT_OK;
}

static const char *memory_text(const shot_description *description) {
    return description->memory == SHOT_MEMORY_WINDOW
               ? "Memory: bounded by its window, whatever the length of the stream."
               : "Memory: bounded by the longest shot of the stream.";
}

static const char *input_text(const shot_description *description) {
    if (description->traits & SHOT_TRAIT_NO_INPUT)
        return "";
    return "Reads the files named, or standard input ('-' or no name).";
}

shot_status shot_help_write(const shot_description *description, shot_text *text) {
    const char *files = description->traits & SHOT_TRAIT_NO_INPUT ? "" : "[FILE...]";
    if (description->operands != NULL)
        files = description->operands;
    SHOT_TRY(
        shot_text_add_format(text, "shot-%s: %s\n\n", description->name, description->purpose));
    SHOT_TRY(shot_text_add_format(text, "Use: shot-%s [OPTION...]%s%s\n", description->name,
                                  *files ? " " : "", files));
    if (description->details != NULL) {
        SHOT_TRY(shot_text_add(text, "\n"));
        SHOT_TRY(shot_text_add_wrapped(text, description->details, 0, 0, WIDTH));
    }
    SHOT_TRY(add_options(text, description));
    SHOT_TRY(shot_text_add(text, "\n"));
    if (*input_text(description) != '\0')
        SHOT_TRY(shot_text_add_format(text, "%s\n", input_text(description)));
    SHOT_TRY(shot_text_add_format(text, "%s\n", memory_text(description)));
    SHOT_TRY(shot_text_add(text, "Exit status: 0 fine, 1 the data or the system failed, "
                                 "2 the call was wrong.\n"));
    if (description->examples != NULL && description->examples[0] != NULL)
        SHOT_TRY(shot_text_add(text, "\nExamples\n"));
    for (const char *const *e = description->examples; e != NULL && *e != NULL; e++)
        SHOT_TRY(shot_text_add_format(text, "  %s\n", *e));
    return SHOT_OK;
}
