/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the main of every tool calls: options, files, the loop, messages, exit status. */
#include "common/tool.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <shottrace/chain/chain.h>
#include <shottrace/chain/help.h>
#include <shottrace/trace/text.h>

enum { FINE = 0, FAILED = 1, WRONG_CALL = 2 };

/* ---- messages ---- */

static void say(void *user, const char *text) {
    fprintf(stderr, "shot-%s: %s\n", (const char *)user, text);
}

static int complain(const char *name, const shot_error *error) {
    if (error->code == SHOT_ERR_CLOSED)
        return FINE;
    if (error->source[0] != '\0' && error->line > 0)
        fprintf(stderr, "shot-%s: %s:%zu: %s\n", name, error->source, error->line, error->what);
    else if (error->source[0] != '\0')
        fprintf(stderr, "shot-%s: %s: %s\n", name, error->source, error->what);
    else
        fprintf(stderr, "shot-%s: %s\n", name, error->what);
    return error->code == SHOT_ERR_USAGE ? WRONG_CALL : FAILED;
}

/* ---- output ---- */

static shot_status write_all(void *user, const char *bytes, size_t count, shot_error *error) {
    while (count > 0) {
        ssize_t written = write(STDOUT_FILENO, bytes, count);
        if (written < 0 && errno == EINTR)
            continue;
        if (written < 0 && errno == EPIPE)
            return shot_fail(error, SHOT_ERR_CLOSED, "the reader of the output has gone");
        if (written < 0)
            return shot_fail(error, SHOT_ERR_WRITE, "cannot write the output: %s", strerror(errno));
        bytes += written;
        count -= (size_t)written;
    }
    return SHOT_OK;
}

/* Some file systems report a full disk only here. */
static shot_status close_output(shot_error *error) {
    if (close(STDOUT_FILENO) == 0 || errno == EBADF)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_WRITE, "cannot write the output: %s", strerror(errno));
}

/* ---- input ---- */

static bool would_wait(int file) {
    struct pollfd one = {.fd = file, .events = POLLIN};
    return poll(&one, 1, 0) == 0;
}

static shot_status read_all(shot_chain *chain, int file, const char *name, shot_error *error) {
    static char bytes[64 * 1024];
    SHOT_TRY(shot_chain_file(chain, name, error));
    for (;;) {
        if (would_wait(file))
            SHOT_TRY(shot_chain_pause(chain, error));
        ssize_t count = read(file, bytes, sizeof bytes);
        if (count < 0 && errno == EINTR)
            continue;
        if (count < 0)
            return shot_fail(error, SHOT_ERR_READ, "cannot read '%s': %s", name, strerror(errno));
        if (count == 0)
            return SHOT_OK;
        SHOT_TRY(shot_chain_push(chain, bytes, (size_t)count, error));
    }
}

static shot_status read_file(shot_chain *chain, const char *name, shot_error *error) {
    if (strcmp(name, "-") == 0)
        return read_all(chain, STDIN_FILENO, name, error);
    int file = open(name, O_RDONLY | O_CLOEXEC);
    if (file < 0)
        return shot_fail(error, SHOT_ERR_READ, "cannot open '%s': %s", name, strerror(errno));
    shot_status status = read_all(chain, file, name, error);
    close(file);
    return status;
}

static shot_status read_files(shot_chain *chain, const shot_texts *files, shot_error *error) {
    if (shot_chain_takes_no_input(chain))
        return SHOT_OK;
    if (files->count == 0)
        return read_file(chain, "-", error);
    for (size_t i = 0; i < files->count; i++)
        SHOT_TRY(read_file(chain, files->items[i], error));
    return SHOT_OK;
}

/* ---- the whole ---- */

static shot_status print_help(const shot_description *description, shot_error *error) {
    shot_text text = {0};
    shot_status status = shot_help_write(description, &text);
    if (status == SHOT_OK)
        status = write_all(NULL, text.bytes, text.length, error);
    shot_text_free(&text);
    return status;
}

static shot_status print_version(const shot_description *description, shot_error *error) {
    char text[128];
    int length =
        snprintf(text, sizeof text, "shot-%s (shottrace) %s\n", description->name, SHOT_VERSION);
    return write_all(NULL, text, (size_t)length, error);
}

static shot_status print_latency(const shot_description *description, const shot_settings *settings,
                                 shot_error *error) {
    char text[160] = "0 s";
    if (description->latency != NULL)
        description->latency(shot_settings_values(settings), text, sizeof text - 1);
    strcat(text, "\n");
    return write_all(NULL, text, strlen(text), error);
}

static shot_status run_chain(const shot_description *description, shot_settings *settings,
                             shot_error *error) {
    shot_chain_ends ends = {.output = {write_all, NULL},
                            .notice = {say, (void *)description->name}};
    shot_chain *chain;
    SHOT_TRY(shot_chain_of_one(settings, description, &ends, &chain, error));
    shot_status status = read_files(chain, shot_settings_operands(settings), error);
    if (status == SHOT_OK)
        status = shot_chain_finish(chain, error);
    shot_chain_free(chain);
    return status;
}

static shot_status run(const shot_description *description, shot_settings *settings, int argc,
                       char **argv, shot_error *error) {
    SHOT_TRY(shot_settings_parse(settings, argc, (const char *const *)argv, error));
    const shot_common_settings *common = shot_settings_common(settings);
    const shot_texts *operands = shot_settings_operands(settings);
    if (common->help)
        return print_help(description, error);
    if (common->version)
        return print_version(description, error);
    if (common->latency)
        return print_latency(description, settings, error);
    if ((description->traits & SHOT_TRAIT_NO_INPUT) && operands->count > 0)
        return shot_fail(error, SHOT_ERR_USAGE, "'%s' is not an option; no file is read",
                         operands->items[0]);
    return run_chain(description, settings, error);
}

int shot_tool_main(const shot_description *description, int argc, char **argv) {
    shot_error error = {0};
    shot_settings *settings;
    signal(SIGPIPE, SIG_IGN);
    if (shot_settings_new(description, &settings, &error) != SHOT_OK)
        return complain(description->name, &error);
    shot_status status = run(description, settings, argc, argv, &error);
    shot_settings_free(settings);
    if (status == SHOT_OK)
        status = close_output(&error);
    if (status == SHOT_OK)
        return FINE;
    if (error.what[0] == '\0')
        shot_fail(&error, status, "%s", shot_status_text(status));
    return complain(description->name, &error);
}
