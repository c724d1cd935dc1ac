/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The manual page of a filter, made from its description: the macros are those of man(7). */
#include <shottrace/chain/manual.h>

#include <string.h>

#include "chain/help_parts.h"

/* Words as they stand: a hyphen that is one when copied, no escape, no request to troff; each line
 * a paragraph of its own. */
static shot_status add_words(shot_text *text, const char *words) {
    bool begins = true;
    for (const char *c = words; *c != '\0'; c++) {
        if (begins && strchr(".'", *c) != NULL)
            SHOT_TRY(shot_text_add(text, "\\&"));
        begins = *c == '\n';
        if (*c == '\\')
            SHOT_TRY(shot_text_add(text, "\\e"));
        else if (*c == '-')
            SHOT_TRY(shot_text_add(text, "\\-"));
        else
            SHOT_TRY(begins ? shot_text_add(text, "\n.PP\n") : shot_text_add_bytes(text, c, 1));
    }
    return SHOT_OK;
}

/* Words between what goes before and behind them: ".B " and a line's end, say. */
static shot_status add_between(shot_text *text, const char *before, const char *words,
                               const char *behind) {
    SHOT_TRY(shot_text_add(text, before));
    SHOT_TRY(add_words(text, words));
    return shot_text_add(text, behind);
}

static shot_status add_option(shot_text *text, const shot_option *option) {
    SHOT_TRY(shot_text_add(text, ".TP\n"));
    if (option->letter)
        SHOT_TRY(shot_text_add_format(text, "\\fB\\-%c\\fR, ", option->letter));
    SHOT_TRY(add_between(text, "\\fB\\-\\-", option->name, "\\fR"));
    if (option->argument != NULL)
        SHOT_TRY(add_between(text, " \\fI", option->argument, "\\fR"));
    shot_text words = {0};
    shot_status status = help_add_option_words(&words, option);
    if (status == SHOT_OK)
        status = add_between(text, "\n", words.bytes, "\n");
    shot_text_free(&words);
    return status;
}

static shot_status add_head(shot_text *text, const shot_description *description,
                            const char *version) {
    SHOT_TRY(add_between(text, ".TH shot\\-", description->name, " 1 \"\" \"shottrace "));
    SHOT_TRY(add_between(text, "", version, "\"\n.SH NAME\n"));
    SHOT_TRY(add_between(text, "shot\\-", description->name, " \\- "));
    SHOT_TRY(add_between(text, "", description->purpose, "\n.SH SYNOPSIS\n"));
    SHOT_TRY(add_between(text, ".B shot\\-", description->name, "\n[OPTION...]"));
    const char *operands = help_operands(description);
    return add_between(text, *operands ? " " : "", operands, "\n");
}

static shot_status add_examples(shot_text *text, const char *const *examples) {
    if (examples == NULL || examples[0] == NULL)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, ".SH EXAMPLES\n.nf\n"));
    for (const char *const *e = examples; *e != NULL; e++)
        SHOT_TRY(add_between(text, "", *e, "\n"));
    return shot_text_add(text, ".fi\n");
}

shot_status shot_manual_write(const shot_description *description, const char *version,
                              shot_text *text) {
    SHOT_TRY(add_head(text, description, version));
    SHOT_TRY(shot_text_add(text, ".SH DESCRIPTION\n"));
    if (description->details != NULL)
        SHOT_TRY(add_between(text, "", description->details, "\n.PP\n"));
    if (*help_input(description) != '\0')
        SHOT_TRY(add_between(text, "", help_input(description), "\n.PP\n"));
    SHOT_TRY(add_between(text, "", help_memory(description), "\n.SH OPTIONS\n"));
    SHOT_TRY(help_each_option(description, text, add_option));
    SHOT_TRY(add_between(text, ".SH EXIT STATUS\n", help_exit_status(), "\n"));
    return add_examples(text, description->examples);
}
