/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-run: a chain of filters in one process, over many files at once. */
#include <unistd.h>

#include "common/io.h"
#include "common/progress.h"
#include "common/tool.h"

struct run_settings {
    long jobs;
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
    {0}};

static const char *const examples[] = {
    "shot-run 'clean | segment | surges | report' monday/*.csv",
    "shot-run 'resample --rate 20 | smooth --window 0.7s' < day.trace > even.trace",
    NULL,
};

static const shot_description run = {
    .name = "run",
    .purpose = "a chain of filters in one process, over many files at once",
    .details =
        "CHAIN is a pipe without the 'shot-', in quotes: filters with their options, "
        "separated by '|'. What comes out is what the same pipe in a shell would write, byte "
        "for byte, in the order of the input. A file that cannot be read to its end is "
        "named, and the others go on.",
    .operands = "CHAIN [FILE...]",
    .examples = examples,
    .role = SHOT_ROLE_WRITER,
    .memory = SHOT_MEMORY_SHOT,
    .settings_size = sizeof(struct run_settings),
    .options = options,
};

static size_t jobs_of(const shot_settings *settings) {
    long asked = ((const struct run_settings *)shot_settings_values(settings))->jobs;
    long cores = asked > 0 ? asked : sysconf(_SC_NPROCESSORS_ONLN);
    return cores > 0 ? (size_t)cores : 1;
}

/* A failure of the input concerns its file; any other, the work as a whole. */
static bool concerns_input(shot_status status) {
    return status == SHOT_ERR_SYNTAX || status == SHOT_ERR_DATA || status == SHOT_ERR_UNIT ||
           status == SHOT_ERR_READ;
}

/* Name a file's failure and count it; *status is then SHOT_OK. */
static void forgive(shot_status *status, shot_error *error, size_t *failures) {
    if (!concerns_input(*status))
        return;
    shot_tool_complain(run.name, error);
    ++*failures;
    *error = (shot_error){0};
    *status = SHOT_OK;
}

/* Where a file ends badly, the chain says so when the next one is about to begin, and that one must
 * be begun again. */
static shot_status begin(shot_chain *chain, const char *name, size_t *failures, shot_error *error) {
    shot_status status = shot_chain_file(chain, name, error);
    if (!concerns_input(status))
        return status;
    forgive(&status, error, failures);
    return shot_chain_file(chain, name, error);
}

static shot_status read_file(shot_chain *chain, const char *name, size_t *failures,
                             shot_error *error) {
    int file;
    SHOT_TRY(shot_tool_open(name, &file, error));
    shot_status status = begin(chain, name, failures, error);
    if (status == SHOT_OK)
        status = shot_tool_push(chain, file, name, error);
    shot_tool_close(file);
    return status;
}

static shot_status read_files(shot_chain *chain, const shot_texts *operands, size_t *failures,
                              shot_error *error) {
    size_t files = operands->count - 1;
    shot_progress_begin(files);
    for (size_t i = 0; i < (files > 0 ? files : 1); i++) {
        const char *name = files > 0 ? operands->items[i + 1] : "-";
        shot_status status = read_file(chain, name, failures, error);
        forgive(&status, error, failures);
        SHOT_TRY(status);
        shot_progress_file(i + 1);
    }
    return SHOT_OK;
}

static shot_status work(const shot_description *description, shot_settings *settings,
                        shot_error *error) {
    const shot_texts *operands = shot_settings_operands(settings);
    if (operands->count == 0)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "name a chain, as in shot-run 'clean | report' "
                         "FILE; see shot-run --help");
    shot_chain_ends ends = {.output = {shot_tool_write, NULL},
                            .notice = {shot_tool_say, (void *)description->name},
                            .jobs = jobs_of(settings)};
    shot_chain *chain;
    size_t failures = 0;
    SHOT_TRY(shot_chain_new(operands->items[0], &ends, &chain, error));
    shot_status status =
        shot_chain_takes_no_input(chain) ? SHOT_OK : read_files(chain, operands, &failures, error);
    if (status == SHOT_OK)
        status = shot_chain_finish(chain, error);
    shot_progress_wipe();
    failures += shot_chain_failures(chain);
    shot_chain_free(chain);
    if (failures == 0)
        return status;
    forgive(&status, error, &failures);
    SHOT_TRY(status);
    return shot_fail(error, SHOT_ERR_DATA, "%zu failure%s; the rest went through", failures,
                     failures == 1 ? "" : "s");
}

int main(int argc, char **argv) {
    return shot_tool_main_of(&run, work, argc, argv);
}
