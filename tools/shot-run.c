/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-run: a chain of filters in one process, over many files at once. */
#include <stdio.h>

#include <unistd.h>

#include "common/files.h"
#include "common/interruption.h"
#include "common/io.h"
#include "common/progress.h"
#include "common/tool.h"
#include "run/manifest.h"

struct run_settings {
    long jobs;
    const char *manifest;
};

static const shot_option options[] = {
    {.letter = 'j',
     .name = "jobs",
     .kind = SHOT_OPTION_COUNT,
     .field = offsetof(struct run_settings, jobs),
     .argument = "N",
     .low = 1,
     .high = 1024,
     .help = "spread the shots over N threads (default: one a processor core)"},
    {.name = "manifest",
     .kind = SHOT_OPTION_FILE,
     .field = offsetof(struct run_settings, manifest),
     .argument = "FILE",
     .help =
         "write there what was read and how that went: version and chain, and a row a file with "
         "its bytes, their CRC-32, status, warnings, the first message, and the names of its "
         "shots; also where Ctrl-C ends the run"},
    {0}};

static void latency(const void *settings, char *out, size_t room) {
    (void)settings;
    snprintf(out, room, "that of its chain: shot-run CHAIN --latency");
}

static const char *const examples[] = {
    "shot-run 'read | find | report' monday/*.csv",
    "shot-run 'resample --rate 20 | smooth --window 0.7s' day.trace > even",
    "shot-run --manifest m.csv 'read | find | report --wide' logs/*.csv > t.csv",
    NULL,
};

static const shot_description run = {
    .name = "run",
    .purpose = "a chain of filters in one process, over many files at once",
    .details =
        "CHAIN is a pipe without the 'shot-', in quotes: filters with their options, "
        "separated by '|'. What comes out is what the same pipe in a shell would write, byte "
        "for byte, in the order of the input. With 'read' first, shots without a name of their own "
        "are called after their files. A file that cannot be read to its end is "
        "named and counted, and the others go on, as they do in the pipe; a shot whose filters "
        "fail is too, where a filter in a pipe would end. shot-plot is no "
        "filter and stands behind it in a pipe.\n"
        "N threads hold up to 2 N + 2 shots at a time.",
    .operands = "CHAIN [FILE...]",
    .examples = examples,
    .role = SHOT_ROLE_WRITER,
    .memory = SHOT_MEMORY_SHOT,
    .traits = SHOT_TRAIT_RUNS_CHAIN,
    .settings_size = sizeof(struct run_settings),
    .options = options,
    .latency = latency,
};

static size_t jobs_of(const shot_settings *settings) {
    long asked = ((const struct run_settings *)shot_settings_values(settings))->jobs;
    long cores = asked > 0 ? asked : sysconf(_SC_NPROCESSORS_ONLN);
    return cores > 0 ? (size_t)cores : 1;
}

/* What runs; a process is one tool. */
static shot_chain *running;
static size_t failures; /* of its shots, that were told */

static void say(void *user, const char *text) {
    const size_t now = running != NULL ? shot_chain_failures(running) : 0;
    shot_tool_say(user, text);
    shot_manifest_heard(text, now > failures);
    failures = now;
}

static void hear_name(void *user, const char *shot) {
    (void)user;
    shot_manifest_named(shot);
}

static shot_status run_files(const shot_description *description, shot_settings *settings,
                             shot_error *error) {
    const shot_texts *operands = shot_settings_operands(settings);
    shot_chain_ends ends = {.output = {shot_tool_write, NULL},
                            .notice = {say, (void *)description->name},
                            .names = {hear_name, NULL},
                            .jobs = jobs_of(settings)};
    const size_t files = operands->count - 1;
    shot_chain *chain;
    SHOT_TRY(shot_chain_new(operands->items[0], &ends, &chain, error));
    running = chain;
    shot_progress_begin(files);
    const shot_status status = shot_tool_run_chain(
        chain, run.name, (const char *const *)operands->items + 1, files, error);
    running = NULL;
    shot_chain_free(chain);
    return status;
}

static shot_status print_latency(const char *chain, shot_error *error) {
    shot_text text = {0};
    shot_status status = shot_chain_latency(chain, &text, error);
    if (status == SHOT_OK)
        status = shot_text_add(&text, "\n");
    if (status == SHOT_OK)
        status = shot_tool_write(NULL, text.bytes, text.length, error);
    shot_text_free(&text);
    return status;
}

static shot_status work(const shot_description *description, shot_settings *settings,
                        shot_error *error) {
    const shot_texts *operands = shot_settings_operands(settings);
    const struct run_settings *own = shot_settings_values(settings);
    if (operands->count == 0)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "name a chain, as in shot-run 'clean | report' "
                         "FILE; see shot-run --help");
    if (shot_settings_common(settings)->latency)
        return print_latency(operands->items[0], error);
    if (own->manifest != NULL) {
        SHOT_TRY(shot_manifest_begin(own->manifest, operands->items[0], error));
        shot_tool_heed_interruption();
    }
    const shot_status status = run_files(description, settings, error);
    shot_error other = {0};
    if (shot_manifest_end(status == SHOT_OK ? error : &other) != SHOT_OK && status == SHOT_OK)
        return error->code;
    return status;
}

int main(int argc, char **argv) {
    const int status = shot_tool_main_of(&run, work, argc, argv);
    shot_tool_end_interrupted();
    return status;
}
