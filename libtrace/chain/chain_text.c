/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A chain from a string.  Apart from chain.c, so that a tool that runs one filter does not link all
 * of them. */
#include "chain/chain_parts.h"
#include "chain/latency.h"

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

shot_status shot_part_write(shot_text *text, const shot_description *description, const char *part,
                            const void *values) {
    SHOT_TRY(shot_text_add(text, part));
    for (const shot_option *option = description->options; option->name != NULL; option++) {
        const char *words = strcmp(option->name, part) == 0
                                ? *(const char *const *)((const char *)values + option->field)
                                : NULL;
        if (words != NULL)
            SHOT_TRY(shot_text_add_format(text, " %s", words));
    }
    return SHOT_OK;
}

/* The option that prints something and stops; NULL where none was given. */
static const char *printing_option(const shot_common_settings *common) {
    if (common->help)
        return "help";
    if (common->manual)
        return "manual";
    if (common->version)
        return "version";
    return common->latency ? "latency" : NULL;
}

/* True if the filter's own options ask for a text, and for nothing to be done (--codebook). */
static shot_status asks_for_text(const shot_description *description, const shot_settings *settings,
                                 bool *asks) {
    shot_text text = {0};
    shot_status status = SHOT_OK;
    if (description->answer != NULL)
        status = description->answer(shot_settings_values(settings), &text);
    *asks = text.length > 0;
    shot_text_free(&text);
    return status;
}

/* What prints something and stops has no place among filters that run. */
static shot_status refuse_printing(const shot_description *description,
                                   const shot_settings *settings, shot_error *error) {
    const char *name = description->name;
    const char *option = printing_option(shot_settings_common(settings));
    bool asks;
    if (option != NULL)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "%s: --%s only prints, and has no place in a chain; ask shot-%s --%s",
                         name, option, name, option);
    SHOT_TRY(asks_for_text(description, settings, &asks));
    if (!asks)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_USAGE,
                     "%s: its options only print, and have no place in a chain; give them to "
                     "shot-%s",
                     name, name);
}

/* The settings that the words ask of a filter, whose name is the first. */
static shot_status read_words(int count, const char **words, const shot_description **description,
                              shot_settings **settings, shot_error *error) {
    *description = shot_description_named(words[0]);
    if (*description == NULL)
        return no_filter(words[0], error);
    SHOT_TRY(shot_settings_new(*description, settings, error));
    shot_status status = shot_settings_parse(*settings, count, words, error);
    if (status == SHOT_OK)
        status = refuse_printing(*description, *settings, error);
    if (status == SHOT_OK && shot_settings_operands(*settings)->count > 0 &&
        !((*description)->traits & SHOT_TRAIT_OWN_OPERANDS))
        status = shot_fail(error, SHOT_ERR_USAGE, "%s: '%s' is not an option", words[0],
                           shot_settings_operands(*settings)->items[0]);
    if (status == SHOT_OK)
        status = shot_settings_check(*settings, error);
    if (status == SHOT_OK)
        return SHOT_OK;
    shot_settings_free(*settings);
    *settings = NULL;
    return status;
}

/* The length of the text up to a '|' outside quotes; *open is the quote that is not closed by then,
 * or '\0'. */
static size_t stage_length(const char *text, char *open) {
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
    *open = quote;
    return i;
}

shot_status shot_stage_read(const char *text, const shot_description **description,
                            shot_settings **settings, shot_error *error) {
    int count = 0;
    const char **words = NULL;
    char open;
    shot_status status;
    *settings = NULL;
    stage_length(text, &open);
    if (open != '\0')
        return shot_fail(error, SHOT_ERR_USAGE, "a quote (%c) is not closed in '%.200s'", open,
                         text);
    const int code = poptParseArgvString(text, &count, &words);
    if (code == POPT_ERROR_NOARG || (code == 0 && count == 0))
        status = shot_fail(error, SHOT_ERR_USAGE, "a stage of the chain is empty");
    else if (code == POPT_ERROR_MALLOC)
        status = shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the chain");
    else if (code != 0)
        status = shot_fail(error, SHOT_ERR_USAGE, "'%s': %s", text, poptStrerror(code));
    else
        status = read_words(count, words, description, settings, error);
    free(words);
    return status;
}

/* Of several stages that take the same option, which one was it? */
static shot_status name_stage(shot_status status, const char *text, shot_error *error) {
    text += strspn(text, " \t\n");
    if (error == NULL || strncmp(error->what, "--", 2) != 0)
        return status;
    return shot_stage_name(status, text, (int)strcspn(text, " \t\n|"), error);
}

static shot_status add_parts(shot_chain *chain, const shot_description *description,
                             const shot_settings *settings, shot_error *error);

static shot_status add_stage(shot_chain *chain, const char *text, shot_error *error) {
    const shot_description *description;
    shot_settings *settings;
    SHOT_TRY(shot_stage_read(text, &description, &settings, error));
    if (description->parts != NULL) {
        const shot_status status = add_parts(chain, description, settings, error);
        shot_settings_free(settings);
        return status;
    }
    const shot_status status = shot_chain_add_link(chain, description, settings, true);
    if (status != SHOT_OK)
        shot_settings_free(settings);
    return status;
}

/* What is handed on is what the last of them hands on. */
static shot_status add_part(shot_chain *chain, const shot_description *description,
                            const char *const *part, const shot_settings *settings,
                            shot_error *error) {
    const long digits = shot_settings_common(settings)->digits;
    shot_text text = {0};
    shot_status status = shot_part_write(&text, description, *part, shot_settings_values(settings));
    if (status == SHOT_OK && part[1] == NULL && digits > 0)
        status = shot_text_add_format(&text, " --digits %ld", digits);
    if (status == SHOT_OK)
        status = name_stage(add_stage(chain, text.bytes, error), text.bytes, error);
    shot_text_free(&text);
    return status;
}

static shot_status add_parts(shot_chain *chain, const shot_description *description,
                             const shot_settings *settings, shot_error *error) {
    for (const char *const *part = description->parts; *part != NULL; part++)
        SHOT_TRY(add_part(chain, description, part, settings, error));
    return SHOT_OK;
}

static shot_status add_stage_text(shot_chain *chain, const char *text, size_t length,
                                  shot_error *error) {
    char *copy = shot_text_copy_bytes(text, length);
    const shot_status status = copy == NULL ? SHOT_ERR_MEMORY : add_stage(chain, copy, error);
    free(copy);
    return status;
}

static shot_status add_text(shot_chain *chain, const char *text, shot_error *error) {
    const char *stage = text;
    for (;;) {
        char open;
        const size_t length = stage_length(stage, &open);
        const shot_status status = add_stage_text(chain, stage, length, error);
        if (status != SHOT_OK)
            return stage == text && stage[length] == '\0' ? status
                                                          : name_stage(status, stage, error);
        if (stage[length] == '\0')
            return SHOT_OK;
        stage += length + 1;
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

shot_status shot_chain_of_parts(shot_settings *settings, const shot_description *description,
                                const shot_chain_ends *ends, shot_chain **out, shot_error *error) {
    SHOT_TRY(shot_chain_start(ends, out, error));
    return shot_chain_complete(*out, add_parts(*out, description, settings, error), out, error);
}

shot_status shot_chain_latency(const char *text, shot_text *out, shot_error *error) {
    shot_chain *chain;
    SHOT_TRY(shot_chain_start(&(shot_chain_ends){0}, &chain, error));
    shot_status status = add_text(chain, text, error);
    if (status == SHOT_OK)
        status = chain_latency_write(chain->links, chain->link_count, out);
    shot_chain_free(chain);
    return status;
}
