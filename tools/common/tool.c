/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the main of every tool calls: options, files, the chain of one filter, exit status. */
#include "common/tool.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>

#include <shottrace/chain/help.h>
#include <shottrace/chain/manual.h>
#include <shottrace/trace/text.h>

#include "common/files.h"
#include "common/io.h"

/* ---- the whole ---- */

/* The help, or the manual page. */
static shot_status print_help(const shot_description *description, bool manual, shot_error *error) {
    shot_text text = {0};
    shot_status status = manual ? shot_manual_write(description, shot_version(), &text)
                                : shot_help_write(description, &text);
    if (status == SHOT_OK)
        status = shot_tool_write(NULL, text.bytes, text.length, error);
    shot_text_free(&text);
    return status;
}

static shot_status print_version(const shot_description *description, shot_error *error) {
    char text[128];
    int length =
        snprintf(text, sizeof text, "shot-%s (shottrace) %s\n", description->name, shot_version());
    return shot_tool_write(NULL, text, (size_t)length, error);
}

static shot_status print_latency(const shot_description *description, const shot_settings *settings,
                                 shot_error *error) {
    char text[2048] = "0 s";
    if (description->latency != NULL)
        description->latency(shot_settings_values(settings), text, sizeof text - 1);
    strcat(text, "\n");
    return shot_tool_write(NULL, text, strlen(text), error);
}

/* What the tool was started with; a process is one tool. */
static shot_tool_prepare preparing;
static shot_tool_make making = shot_chain_of_one;

static shot_status run_chain(const shot_description *description, shot_settings *settings,
                             shot_error *error) {
    shot_chain_ends ends = {.output = {shot_tool_write, NULL},
                            .notice = {shot_tool_say, (void *)description->name},
                            .prepare = preparing,
                            .go_on = true};
    const shot_texts *files = shot_settings_operands(settings);
    shot_chain *chain;
    SHOT_TRY(making(settings, description, &ends, &chain, error));
    const shot_status status = shot_tool_run_chain(
        chain, description->name, (const char *const *)files->items, files->count, error);
    shot_chain_free(chain);
    return status;
}

/* What the description prints by itself where its settings ask for that. */
static shot_status print_answer(const shot_description *description, const shot_settings *settings,
                                bool *done, shot_error *error) {
    shot_text text = {0};
    if (description->answer == NULL)
        return SHOT_OK;
    shot_status status = description->answer(shot_settings_values(settings), &text);
    *done = text.length > 0;
    if (status == SHOT_OK && *done)
        status = shot_tool_write(NULL, text.bytes, text.length, error);
    shot_text_free(&text);
    return status;
}

/* Which only the tool itself can tell: not all tools are to hold all filters for that. */
static bool is_latency_of_chain(const shot_description *description,
                                const shot_settings *settings) {
    return (description->traits & SHOT_TRAIT_RUNS_CHAIN) &&
           shot_settings_common(settings)->latency && shot_settings_operands(settings)->count > 0;
}

/* --help and its kin print something and are done. */
static shot_status print_only(const shot_description *description, const shot_settings *settings,
                              bool *done, shot_error *error) {
    const shot_common_settings *common = shot_settings_common(settings);
    *done = common->help || common->manual || common->version || common->latency;
    if (common->help || common->manual)
        return print_help(description, !common->help, error);
    if (common->version)
        return print_version(description, error);
    if (is_latency_of_chain(description, settings)) {
        *done = false;
        return SHOT_OK;
    }
    return common->latency ? print_latency(description, settings, error)
                           : print_answer(description, settings, done, error);
}

static shot_status run_filter(const shot_description *description, shot_settings *settings,
                              shot_error *error) {
    const shot_texts *operands = shot_settings_operands(settings);
    if ((description->traits & SHOT_TRAIT_NO_INPUT) && operands->count > 0)
        return shot_fail(error, SHOT_ERR_USAGE, "'%s' is not an option; no file is read",
                         operands->items[0]);
    return run_chain(description, settings, error);
}

static shot_status run(const shot_description *description, shot_tool_work work,
                       shot_settings *settings, int argc, char **argv, shot_error *error) {
    bool done;
    SHOT_TRY(shot_settings_parse(settings, argc, (const char *const *)argv, error));
    SHOT_TRY(print_only(description, settings, &done, error));
    return done ? SHOT_OK : work(description, settings, error);
}

int shot_tool_main(const shot_description *description, int argc, char **argv) {
    return shot_tool_main_of(description, run_filter, argc, argv);
}

int shot_tool_main_preparing(const shot_description *description, shot_tool_prepare prepare,
                             int argc, char **argv) {
    preparing = prepare;
    return shot_tool_main_of(description, run_filter, argc, argv);
}

int shot_tool_main_making(const shot_description *description, shot_tool_make make, int argc,
                          char **argv) {
    making = make;
    return shot_tool_main_of(description, run_filter, argc, argv);
}

int shot_tool_main_of(const shot_description *description, shot_tool_work work, int argc,
                      char **argv) {
    shot_error error = {0};
    shot_settings *settings;
    signal(SIGPIPE, SIG_IGN); /* that nobody reads on, or a file may not grow, is told by write */
    signal(SIGXFSZ, SIG_IGN);
    shot_tool_hold_places();
    if (shot_settings_new(description, &settings, &error) != SHOT_OK)
        return shot_tool_complain(description->name, &error);
    shot_status status = run(description, work, settings, argc, argv, &error);
    shot_settings_free(settings);
    if (status == SHOT_OK)
        status = shot_tool_close_output(&error);
    if (status == SHOT_OK)
        return SHOT_TOOL_FINE;
    if (error.what[0] == '\0')
        shot_fail(&error, status, "%s", shot_status_text(status));
    return shot_tool_complain(description->name, &error);
}
