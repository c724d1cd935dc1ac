/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The help of a filter, made from its description. */
#include <shottrace/chain/help.h>

#include <shottrace/trace/wrap.h>

#include "chain/help_parts.h"

enum { WIDTH = 78, OPTION_COLUMN = 28 };

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
    shot_status status = help_add_option_words(&words, option);
    if (status == SHOT_OK)
        status = shot_text_add_wrapped(text, words.bytes, OPTION_COLUMN, OPTION_COLUMN, WIDTH);
    shot_text_free(&words);
    return status;
}

static shot_status add_examples(shot_text *text, const char *const *examples) {
    if (examples == NULL || examples[0] == NULL)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, "\nExamples\n"));
    for (const char *const *e = examples; *e != NULL; e++)
        SHOT_TRY(shot_text_add_format(text, "  %s\n", *e));
    return SHOT_OK;
}

shot_status shot_help_write(const shot_description *description, shot_text *text) {
    const char *operands = help_operands(description), *input = help_input(description);
    SHOT_TRY(
        shot_text_add_format(text, "shot-%s: %s\n\n", description->name, description->purpose));
    SHOT_TRY(shot_text_add_format(text, "Use: shot-%s [OPTION...]%s%s\n", description->name,
                                  *operands ? " " : "", operands));
    if (description->details != NULL) {
        SHOT_TRY(shot_text_add(text, "\n"));
        SHOT_TRY(shot_text_add_wrapped(text, description->details, 0, 0, WIDTH));
    }
    SHOT_TRY(shot_text_add(text, "\nOptions\n"));
    SHOT_TRY(help_each_option(description, text, add_option));
    SHOT_TRY(shot_text_add_format(text, "\n%s%s%s\nExit status: %s\n", input, *input ? "\n" : "",
                                  help_memory(description), help_exit_status()));
    return add_examples(text, description->examples);
}
