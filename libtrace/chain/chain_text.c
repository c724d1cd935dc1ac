/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A chain from a string.  Apart from chain.c, so that a tool that runs one filter does not link all
 * of them. */
#include "chain/chain_parts.h"

#include <popt.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/chain/prepare.h>
#include <shottrace/chain/registry.h>
#include <shottrace/trace/text.h>

static shot_status no_filter(const char *name, shot_error *error) {
    shot_text names = {0};
    shot_status status = shot_text_add(&names, "");
    for (const shot_description *const *one = shot_descriptions(); *one && status == SHOT_OK; one++)
        status = shot_text_add_format(&names, "%s%s", names.length > 0 ? ", " : "", (*one)->name);
    if (status == SHOT_OK)
        status = shot_fail(error, SHOT_ERR_USAGE,
                           "there is no filter '%.80s'; a chain is written as 'clean | report', of "
                           "%s",
                           name, names.bytes);
    shot_text_free(&names);
    return status;
}

static shot_status add_words(shot_chain *chain, int count, const char **words, shot_error *error) {
    const shot_description *description = shot_description_named(words[0]);
    if (description == NULL)
        return no_filter(words[0], error);
    shot_settings *settings;
    SHOT_TRY(shot_settings_new(description, &settings, error));
    shot_status status = shot_settings_parse(settings, count, words, error);
    if (status == SHOT_OK && shot_settings_operands(settings)->count > 0 &&
        !(description->traits & SHOT_TRAIT_OWN_OPERANDS))
        status = shot_fail(error, SHOT_ERR_USAGE, "%s: '%s' is not an option", words[0],
                           shot_settings_operands(settings)->items[0]);
    if (status == SHOT_OK)
        status = shot_chain_add_link(chain, description, settings, true);
    if (status != SHOT_OK)
        shot_settings_free(settings);
    return status;
}

static shot_status add_stage_text(shot_chain *chain, const char *text, size_t length,
                                  shot_error *error) {
    char *copy = shot_text_copy_bytes(text, length);
    int count = 0;
    const char **words = NULL;
    if (copy == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory");
    int code = poptParseArgvString(copy, &count, &words);
    shot_status status;
    if (code == POPT_ERROR_NOARG || (code == 0 && count == 0))
        status = shot_fail(error, SHOT_ERR_USAGE, "a stage of the chain is empty");
    else if (code != 0)
        status = shot_fail(error, SHOT_ERR_USAGE, "'%s': %s", copy, poptStrerror(code));
    else
        status = add_words(chain, count, words, error);
    free(words);
    free(copy);
    return status;
}

/* The length of the text up to a '|' outside quotes. */
static size_t stage_length(const char *text) {
    char quote = '\0';
    size_t i = 0;
    for (; text[i] != '\0' && !(text[i] == '|' && quote == '\0'); i++) {
        if (text[i] == '\\' && text[i + 1] != '\0')
            i++;
        else if (quote == text[i])
            quote = '\0';
        else if (quote == '\0' && (text[i] == '"' || text[i] == '\''))
            quote = text[i];
    }
    return i;
}

static shot_status add_text(shot_chain *chain, const char *text, shot_error *error) {
    for (;;) {
        size_t length = stage_length(text);
        SHOT_TRY(add_stage_text(chain, text, length, error));
        if (text[length] == '\0')
            return SHOT_OK;
        text += length + 1;
    }
}

shot_status shot_chain_new(const char *text, const shot_chain_ends *ends, shot_chain **out,
                           shot_error *error) {
    shot_chain *chain;
    SHOT_TRY(shot_chain_start(ends, out, error));
    chain = *out;
    chain->ends.prepare = shot_prepare_new;
    return shot_chain_complete(chain, add_text(chain, text, error), out, error);
}
