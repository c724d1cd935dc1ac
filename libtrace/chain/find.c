/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-find: cleaning and all detectors, with one name. */
#include <shottrace/chain/find.h>

#include <stdio.h>

#include "chain/chain_parts.h"

/* The options of each part, as words. */
struct find_settings {
    const char *clean, *segment, *knees, *surges, *pulses;
};

static const char *const parts[] = {"clean", "segment", "knees", "surges", "pulses", NULL};

/* clang-format off */
#define PART(NAME, HELP) \
    {.name = #NAME, .kind = SHOT_OPTION_TEXT, .field = offsetof(struct find_settings, NAME), \
     .argument = "OPTIONS", .help = HELP}
/* clang-format on */

static const shot_option options[] = {
    PART(clean, "options for shot-clean, as in '--zero pressure'"),
    PART(segment, "options for shot-segment"),
    PART(knees, "options for shot-knees"),
    PART(surges, "options for shot-surges, as in '--alarm-rate 0.1%'"),
    PART(pulses, "options for shot-pulses"),
    {0}};

/* Of the chain that it stands for; nothing where the options of a part cannot be read. */
static void latency(const void *settings, char *out, size_t room) {
    shot_text chain = {0}, words = {0};
    shot_status status = SHOT_OK;
    for (const char *const *part = parts; *part != NULL && status == SHOT_OK; part++) {
        status = shot_text_add(&chain, part != parts ? " | " : "");
        if (status == SHOT_OK)
            status = shot_part_write(&chain, &shot_find, *part, settings);
    }
    if (status == SHOT_OK)
        shot_chain_latency(chain.bytes, &words, NULL);
    snprintf(out, room, "%s", words.length > 0 ? words.bytes : "");
    shot_text_free(&chain);
    shot_text_free(&words);
}

static const char *const examples[] = {
    "shot-read shot.csv | shot-find | shot-report",
    "shot-find --clean '--zero pressure' shot.csv | shot-plot -o shot.svg",
    "shot-run 'read | find | report --wide' monday/*.csv > monday.csv",
    NULL,
};

const shot_description shot_find = {
    .name = "find",
    .purpose = "clean the samples and run the detectors: what most pipes want",
    .details =
        "It stands for shot-clean | shot-segment | shot-knees | shot-surges | shot-pulses, in one "
        "process, and writes what that pipe writes, byte for byte. Behind it come shot-report, "
        "shot-plot, shot-marks, shot-compare and their kin; before it shot-read, where the log is "
        "no trace. For other filters, or another order, write the pipe.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_SHOT,
    .traits = SHOT_TRAIT_DISORDER,
    .settings_size = sizeof(struct find_settings),
    .options = options,
    .latency = latency,
    .parts = parts,
};
