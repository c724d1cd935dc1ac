/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Simulated shots as the source of a chain. */
#include <shottrace/puck/synth_source.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/decimal.h>
#include <shottrace/trace/text.h>

#include "puck/rounding.h"
#include "puck/synth_settings.h"

struct synth_source {
    shot_source source;
    const struct synth_settings *settings;
    const char *history;
    shot_sink *next;
};

/* ---- the head ---- */

static shot_status add_line(shot_head *head, const char *key, shot_text *value) {
    const shot_status status = shot_head_add_line(head, key, value->bytes);
    shot_text_free(value);
    return status;
}

/* `# key: 18.2 unit`, rounded to what a person would write down. */
static shot_status add_figure(shot_head *head, const char *key, double value, double step,
                              const char *unit) {
    shot_text text = {0};
    if (isnan(value))
        return SHOT_OK;
    shot_status status = shot_text_add_number(&text, puck_round(value, step));
    if (status == SHOT_OK)
        status = shot_text_add_format(&text, " %s", unit);
    if (status == SHOT_OK)
        return add_line(head, key, &text);
    shot_text_free(&text);
    return status;
}

static shot_status set_name(shot_head *head, const struct synth_settings *settings, long index) {
    shot_text name = {0};
    const char *styles = SHOT_STYLE_NAMES;
    for (int i = 0; i < settings->style; i++)
        styles = strchr(styles, '|') + 1;
    shot_status status;
    if (settings->name != NULL && settings->count == 1)
        status = shot_text_add(&name, settings->name);
    else if (settings->name != NULL)
        status = shot_text_add_format(&name, "%s-%03ld", settings->name, index + 1);
    else
        status = shot_text_add_format(&name, "%.*s-%ld-%03ld", (int)strcspn(styles, "|"), styles,
                                      settings->seed, index + 1);
    if (status == SHOT_OK)
        status = shot_head_set_name(head, name.bytes);
    shot_text_free(&name);
    return status;
}

static shot_status add_origin(shot_head *head, double origin) {
    shot_decimal exact;
    char text[SHOT_DECIMAL_ROOM + 1];
    if (origin == 0)
        return SHOT_OK;
    SHOT_TRY(shot_decimal_from(origin, &exact));
    text[shot_decimal_write(text, &exact)] = '\0';
    return shot_head_add_line(head, "t0", text);
}

static shot_status fill_head(const struct synth_source *self, const shot_synth *shot, long index,
                             shot_head *head) {
    SHOT_TRY(set_name(head, self->settings, index));
    SHOT_TRY(add_figure(head, "dose", shot->recipe.bed.dose, 0.1, "g"));
    SHOT_TRY(add_figure(head, "basket", shot->recipe.bed.basket, 0.1, "mm"));
    SHOT_TRY(shot_head_add_line(head, "gauge",
                                shot->recipe.machine.gauge_at_puck != 0 ? "puck" : "pump"));
    if (shot->logger.sensor[SHOT_SENSOR_WEIGHT].present != 0)
        SHOT_TRY(add_figure(head, "scale.lag", shot->log->scale_lag, 0.01, "s"));
    SHOT_TRY(add_figure(head, "tds", shot->brew->tds, 0.01, "%"));
    SHOT_TRY(add_origin(head, shot->logger.origin));
    SHOT_TRY(shot_head_add_line(head, "note", "simulated; no real shot"));
    SHOT_TRY(shot_head_add_line(head, "history", self->history));
    for (size_t c = 0; c < shot->log->columns; c++)
        SHOT_TRY(shot_head_add_channel(head, shot->log->name[c], shot->log->unit[c]));
    return SHOT_OK;
}

static shot_status begin(const struct synth_source *self, const shot_synth *shot, long index,
                         shot_error *error) {
    shot_head head = {0};
    shot_status status = fill_head(self, shot, index, &head);
    if (status == SHOT_OK)
        status = shot_sink_begin(self->next, &head, error);
    shot_head_free(&head);
    return status;
}

/* ---- the true marks ---- */

/* Texts that are empty in the truth are absent in a mark. */
static char *text_or_absent(const char *text) {
    return *text == '\0' ? NULL : (char *)text;
}

static shot_status say_truth(const struct synth_source *self, const shot_synth *shot,
                             shot_error *error) {
    shot_mark_list said = {0};
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < shot->truth.count && status == SHOT_OK; i++) {
        const shot_truth *truth = &shot->truth.items[i];
        char *id = NULL;
        status = shot_mark_list_id_for(&said, truth->kind, &id);
        shot_mark mark = shot_mark_none(); /* borrows its texts */
        mark.kind = (char *)truth->kind;
        mark.id = id;
        mark.from = truth->from;
        mark.to = truth->to;
        mark.value = truth->value;
        mark.channel = text_or_absent(truth->channel);
        mark.unit = text_or_absent(truth->unit);
        mark.note = text_or_absent(truth->note);
        if (status == SHOT_OK)
            status = shot_mark_list_add(&said, &mark);
        if (status == SHOT_OK)
            status = shot_sink_mark(self->next, &mark, error);
        free(id);
    }
    shot_mark_list_free(&said);
    return status;
}

/* ---- the shots ---- */

static shot_status hand_on(const struct synth_source *self, const shot_synth *shot, long index,
                           shot_error *error) {
    SHOT_TRY(begin(self, shot, index, error));
    const shot_block block = {.rows = shot->log->rows,
                              .columns = shot->log->columns,
                              .column = (const double *const *)shot->log->column};
    SHOT_TRY(shot_sink_rows(self->next, &block, error));
    if (self->settings->truth)
        SHOT_TRY(say_truth(self, shot, error));
    return shot_sink_end(self->next, false, error);
}

static shot_status make_shot(const struct synth_source *self, long index, shot_error *error) {
    shot_recipe recipe;
    shot_logger logger;
    shot_synth *shot;
    SHOT_TRY(synth_prepare(self->settings, (uint64_t)index, &recipe, &logger, error));
    shot_status status = shot_synth_brew(&recipe, &logger, &shot);
    shot_recipe_free(&recipe);
    if (status != SHOT_OK)
        return shot_fail(error, status, "cannot simulate a shot: %s", shot_status_text(status));
    status = hand_on(self, shot, index, error);
    shot_synth_free(shot);
    return status;
}

static shot_status finish(shot_source *source, shot_error *error) {
    const struct synth_source *self = (const struct synth_source *)source;
    for (long i = 0; i < self->settings->count; i++)
        SHOT_TRY(make_shot(self, self->settings->first + i, error));
    return shot_sink_close(self->next, false, error);
}

static void free_source(shot_source *source) {
    free(source);
}

static shot_status no_file(shot_source *source, const char *name, shot_error *error) {
    return SHOT_OK;
}

static shot_status no_bytes(shot_source *source, const char *bytes, size_t count,
                            shot_error *error) {
    return SHOT_OK;
}

static shot_status no_pause(shot_source *source, shot_error *error) {
    return SHOT_OK;
}

static const shot_source_calls calls = {no_file, no_bytes, no_pause, finish, free_source, NULL};

static shot_status make_source(const shot_making *making, shot_source **out, shot_error *error) {
    struct synth_source *self = calloc(1, sizeof *self);
    *out = NULL;
    if (self == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the simulator");
    *self = (struct synth_source){{&calls}, making->settings, making->history, making->next};
    *out = &self->source;
    return SHOT_OK;
}

static const char *const examples[] = {
    "shot-synth --style soak | shot-clean | shot-segment | shot-report",
    "shot-synth --seed 7 --truth --channel-at 18s | shot-clean | shot-marks",
    "shot-synth --program 'pressure 2bar 8s; pressure 9bar 30s main'", NULL};

const shot_description shot_synth_description = {
    .name = "synth",
    .purpose = "make shots with known truth from a physical model",
    .details =
        "Everything that differs from kitchen to kitchen (grind, dose, pump, hand, logger) is "
        "drawn at random by seed and index; what an option names is used instead. docs/model.md "
        "gives the model, its sources and what must not be concluded from it. With --logger "
        "typical or harsh times may repeat or fall, as real logs' do: pipe through shot-clean.",
    .examples = examples,
    .role = SHOT_ROLE_SOURCE,
    .memory = SHOT_MEMORY_SHOT,
    .traits = SHOT_TRAIT_NO_INPUT | SHOT_TRAIT_PASSES_DISORDER,
    .settings_size = sizeof(struct synth_settings),
    .options = synth_options,
    .make_source = make_source,
};
