/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Groups of shots against each other: options, intake, and the way to a page. */
#include <shottrace/judge/compare.h>

#include <string.h>

#include "judge/compare_parts.h"
#include "judge/measure_intake.h"
#include "judge/words.h"

enum { PAGE, CSV };

static const shot_option options[] = {
    {.name = "against",
     .kind = SHOT_OPTION_FILES,
     .field = offsetof(struct compare_settings, against),
     .argument = "FILE...",
     .help = "the shots of the second group; those before it are the first"},
    {.name = "by",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct compare_settings, by),
     .argument = "KEY",
     .only = "!against",
     .help = "make the groups by the values of a metadata key (grind); each is held against the "
             "first"},
    {.name = "within",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct compare_settings, within),
     .argument = "KEY",
     .only = "!usual,!machine",
     .help =
         "differences within the values of a metadata key that the groups share (student, bean; "
         "day: also by the clocks): of each the shots of either side are averaged and paired"},
    {.name = "usual",
     .kind = SHOT_OPTION_FILES,
     .field = offsetof(struct compare_settings, usual),
     .argument = "FILE...",
     .help = "earlier shots (files or a folder): what is held against one group, even a single "
             "shot; for two groups, their scatter"},
    {.name = "measure",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct compare_settings, measures),
     .argument = "NAME,...",
     .help = "only these measures, or metadata keys that are numbers (score)"},
    {.name = "primary",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct compare_settings, primary),
     .argument = "NAME",
     .help = "the one measure that the comparison is about, named before looking"},
    {.name = "margin",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct compare_settings, margins),
     .argument = "[NAME=]VALUE",
     .help = "the difference that matters, of the primary measure or the one named; of one group "
             "alone: how many shots would settle such a change"},
    {.name = "looks",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct compare_settings, looks),
     .argument = "N,...",
     .only = "primary,!usual",
     .help = "the shots a side (with --within the pairs) at which you look at the primary "
             "measure, planned before the first look, the last one where you stop (6,10,16): "
             "together they raise a false alarm as seldom as one look"},
    {.name = "triangles",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct compare_settings, triangles),
     .argument = "RIGHT/ALL",
     .only = "!usual",
     .help = "blind triangles of the two groups: in how many the odd cup was found (9/12); with "
             "--order how many are to be tasted (12), or, of cups without logs, the answers"},
    {.name = "pairs",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct compare_settings, pairs),
     .argument = "FIRST/ALL",
     .only = "!usual",
     .help = "blind pairs: in how many the cup of the first group was liked better (9/12); with "
             "--order how many are to be tasted (12), or, of cups without logs, the answers"},
    {.name = "order",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct compare_settings, order),
     .argument = "NAME,...",
     .only = "!against,!by,!usual,!machine",
     .help = "print in which order to pull (or to taste) these kinds, by lot and balanced, and "
             "stop"},
    {.name = "each",
     .kind = SHOT_OPTION_COUNT,
     .field = offsetof(struct compare_settings, each),
     .argument = "N",
     .initial = "8",
     .low = 1,
     .high = 1000,
     .only = "order",
     .help = "shots of each kind"},
    {.name = "days",
     .kind = SHOT_OPTION_COUNT,
     .field = offsetof(struct compare_settings, days),
     .argument = "N",
     .initial = "1",
     .low = 1,
     .high = 1000,
     .only = "order",
     .help = "days over which they are spread, each with all kinds"},
    {.name = "seed",
     .kind = SHOT_OPTION_COUNT,
     .field = offsetof(struct compare_settings, seed),
     .argument = "N",
     .initial = "1",
     .low = 0,
     .high = 1e9,
     .only = "order",
     .help = "of the lot: another number, another order"},
    {.name = "machine",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct compare_settings, machine),
     .only = "!by,!against,!usual",
     .help = "how the machine does over all shots: fill, time to full pressure, plateau, zero of "
             "the gauge, ripple"},
    {.name = "level",
     .kind = SHOT_OPTION_NUMBER,
     .field = offsetof(struct compare_settings, level),
     .argument = "P",
     .initial = "0.95",
     .low = 0.8,
     .high = 0.999,
     .help = "level of intervals; tests are at 1 - P"},
    {.name = "power",
     .kind = SHOT_OPTION_NUMBER,
     .field = offsetof(struct compare_settings, power),
     .argument = "P",
     .initial = "0.8",
     .low = 0.5,
     .high = 0.99,
     .help = "chance with which the number of shots is to settle the question"},
    {.name = "format",
     .kind = SHOT_OPTION_CHOICE,
     .field = offsetof(struct compare_settings, format),
     .argument = "NAME",
     .choices = "page|csv",
     .initial = "page",
     .help = "a page for a person, or CSV"},
    {0}};

typedef struct compare_sink {
    shot_measure_writer writer;
    const struct compare_settings *settings;
    shot_compare_result result;
} compare_sink;

/* ---- the other files, then the work ---- */

static shot_status load(compare_sink *self, shot_error *error) {
    shot_measure_writer *writer = &self->writer;
    SHOT_TRY(shot_measure_intake_load(&writer->intake, &writer->loader, &self->settings->against, 1,
                                      error));
    return shot_measure_intake_load(&writer->intake, &writer->loader, &self->settings->usual,
                                    COMPARE_USUAL, error);
}

/* The shots of one key's value are a group, or a block, not both. */
static shot_status find_blocks(compare_sink *self, shot_error *error) {
    const struct compare_settings *s = self->settings;
    if (s->within == NULL)
        return SHOT_OK;
    if (s->by != NULL && strcmp(s->by, s->within) == 0)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--within: '%s' makes the groups (--by); name what they share (student, "
                         "bean, day)",
                         s->within);
    return shot_compare_find_blocks(&self->result.groups, s->within, &self->writer.intake.notice,
                                    error);
}

static shot_status label_groups(compare_sink *self) {
    const struct compare_settings *s = self->settings;
    shot_compare_groups *groups = &self->result.groups;
    if (s->by != NULL)
        return shot_compare_group_by(groups, s->by, &self->writer.intake.notice);
    if (s->against.count > 0)
        return shot_compare_label_two(groups, self->writer.operands, &s->against);
    if (s->usual.count > 0)
        return shot_compare_label(groups,
                                  shot_compare_group_size(groups, 0) == 1 ? "this" : "these");
    return shot_compare_label(groups, s->machine ? "The machine" : "One group");
}

static shot_status check_groups(const compare_sink *self, shot_error *error) {
    const struct compare_settings *s = self->settings;
    const shot_compare_groups *groups = &self->result.groups;
    if (groups->table.shot_count == 0)
        return shot_fail(error, SHOT_ERR_DATA, "there is no shot to compare");
    if (s->by != NULL && groups->count == 0)
        return shot_fail(error, SHOT_ERR_DATA, "no shot says anything of '%s'", s->by);
    for (size_t g = 0; g < groups->count; g++)
        if (shot_compare_group_size(groups, g) == 0)
            return shot_fail(error, SHOT_ERR_DATA, "group %s has no shots", groups->labels[g]);
    return SHOT_OK;
}

/* Pairs are of two groups. */
static shot_status check_series(const compare_sink *self, bool series, shot_error *error) {
    const struct compare_settings *s = self->settings;
    if (!series || s->within == NULL)
        return SHOT_OK;
    return shot_fail(error, s->by != NULL ? SHOT_ERR_DATA : SHOT_ERR_USAGE,
                     "--within: there is one group, and nothing to hold it against (--against, "
                     "--by)");
}

static shot_status find_and_write(compare_sink *self, shot_error *error) {
    shot_compare_result *result = &self->result;
    shot_text *text = &self->writer.text;
    bool series =
        self->settings->machine || (result->groups.count == 1 && self->settings->usual.count == 0);
    SHOT_TRY(check_series(self, series, error));
    SHOT_TRY(shot_compare_check_looks(self->settings, error));
    SHOT_TRY(shot_compare_check_taste(self->settings, result->groups.count, error));
    SHOT_TRY(series ? shot_compare_find_series(result, error)
                    : shot_compare_find_rows(result, error));
    if (self->settings->format == CSV)
        return series ? shot_compare_write_series_csv(result, text)
                      : shot_compare_write_csv(result, text);
    SHOT_TRY(series ? shot_compare_write_series_page(result, text)
                    : shot_compare_write_page(result, text));
    shot_words_make_plain(text, 0);
    return SHOT_OK;
}

static shot_status finish(shot_measure_writer *writer, shot_error *error) {
    compare_sink *self = (compare_sink *)writer;
    SHOT_TRY(load(self, error));
    SHOT_TRY(label_groups(self));
    SHOT_TRY(shot_compare_find_twins(&self->result.groups, &writer->intake.notice));
    SHOT_TRY(check_groups(self, error));
    SHOT_TRY(shot_compare_find_order(&self->result.groups));
    SHOT_TRY(find_blocks(self, error));
    SHOT_TRY(check_groups(self, error));
    return find_and_write(self, error);
}

static void release(shot_measure_writer *writer) {
    shot_compare_result_free(&((compare_sink *)writer)->result);
}

/* ---- making ---- */

/* A plan that is none is left to make(), which says why. */
static shot_status answer(const void *settings, shot_text *out) {
    const struct compare_settings *s = settings;
    shot_error error;
    return s->order.count > 0 && shot_compare_check_order(s, &error) == SHOT_OK
               ? shot_compare_write_order(s, out)
               : SHOT_OK;
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    *out = NULL;
    SHOT_TRY(shot_compare_check_order(making->settings, error));
    shot_measure_writer *writer;
    SHOT_TRY(shot_measure_writer_new(making, sizeof(compare_sink), &writer, error));
    compare_sink *self = (compare_sink *)writer;
    writer->finish = finish;
    writer->release = release;
    writer->intake.table = &self->result.groups.table;
    self->settings = self->result.settings = making->settings;
    *out = &writer->sink;
    return SHOT_OK;
}

static const char *const examples[] = {
    "shot-compare a.trace --against b.trace --primary score --margin 2",
    "shot-compare --by grind < week.trace",
    "shot-compare --by week --within student < course.trace",
    "shot-compare usual.trace --primary first-drip.time --margin 1s",
    "shot-compare today.trace --usual shots/",
    "shot-compare --machine < year.trace",
    "shot-compare --order usual,new --each 8 --days 2",
    NULL,
};

const shot_description shot_compare = {
    .name = "compare",
    .purpose = "groups of shots against each other, or today against the usual",
    .details =
        "Says in short, by their scores, which cup was better and what differs; then of each "
        "measure (shot-report names them) whether it differs between groups of shots, by how much"
        " and how sure that is; of the primary measure, with a margin, also how many more shots "
        "would settle it. Takes traces (one that no detector has seen goes through the detectors "
        "first), or tables of shot-report --format csv. Without a second group: how alike the "
        "shots are, control limits, the odd one out; of several days (by their logs' clocks) also "
        "how far days lie apart.\n"
        "Differences are Welch's with their interval; where the groups are small the exact "
        "permutation test stands beside them; with --within they are those of pairs. One measure "
        "may be named beforehand (--primary); the "
        "others are corrected for their number. With a margin the verdict is one of: different, "
        "the same within the margin, different but negligible, not settled. Different or drifted: "
        "the groups were pulled apart, and the hour or the day may have made the difference. "
        "Fewer than four shots a side are too few to tell, unless --usual gives the scatter of "
        "earlier ones.",
    .examples = examples,
    .role = SHOT_ROLE_WRITER,
    .memory = SHOT_MEMORY_TABLE,
    .traits = SHOT_TRAIT_OWN_OPERANDS | SHOT_TRAIT_FINDINGS,
    .settings_size = sizeof(struct compare_settings),
    .options = options,
    .make = make,
    .latency = shot_latency_stream,
    .answer = answer,
};
