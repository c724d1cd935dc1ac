/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the settings of shot-synth to a recipe and a logger. */
#include "plain_format.h"
#include "puck/synth_settings.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include <shottrace/puck/program_text.h>
#include <shottrace/trace/quantity.h>

/* Copy every figure that was said by hand over the one that was drawn.  Percentages are shares in
 * the recipe. */
static void apply_figures(const struct synth_settings *settings, struct synth_figures *figures) {
    const size_t start = offsetof(struct synth_settings, figures);
    for (const shot_option *option = synth_options; option->name != NULL; option++) {
        if (option->kind != SHOT_OPTION_QUANTITY || option->field < start)
            continue;
        const double said = *(const double *)((const char *)settings + option->field);
        double *place = (double *)((char *)figures + (option->field - start));
        if (!isnan(said))
            *place = strcmp(option->unit, "%") == 0 ? said / 100 : said;
    }
}

static void apply_all_figures(const struct synth_settings *settings, shot_recipe *recipe,
                              shot_logger *logger) {
    struct synth_figures figures = {recipe->bed,      recipe->machine, recipe->cup,
                                    recipe->solubles, *logger,         recipe->tail};
    apply_figures(settings, &figures);
    recipe->bed = figures.bed;
    recipe->machine = figures.machine;
    recipe->cup = figures.cup;
    recipe->solubles = figures.solubles;
    recipe->tail = figures.tail;
    *logger = figures.logger;
    if (settings->gauge != GAUGE_DRAWN)
        recipe->machine.gauge_at_puck = settings->gauge == GAUGE_PUCK;
    if (settings->hold)
        logger->hold = 1;
}

/* Figure `i` of a list; the last one counts for the rest; *out is left alone if there is none. */
static shot_status list_figure(const shot_texts *list, size_t i, const char *option,
                               const char *unit, double *out, shot_error *error) {
    if (list->count == 0)
        return SHOT_OK;
    const char *text = list->items[i < list->count ? i : list->count - 1];
    if (shot_quantity_read(text, unit, out) == SHOT_OK)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_USAGE,
                     "--%s: '%s' is not a quantity in %s; give a number, or one with a unit",
                     option, text, unit);
}

/* Channel `i` of those named: first the ones by time, then the ones by mass. */
static shot_status add_channel(const struct synth_settings *settings, size_t i, shot_recipe *recipe,
                               shot_error *error) {
    shot_recipe_channel channel = {.at = NAN, .sharpness = 1.3, .heal = INFINITY};
    const size_t timed = settings->at.count;
    if (i < timed)
        SHOT_TRY(list_figure(&settings->at, i, "channel-at", "s", &channel.at, error));
    else
        SHOT_TRY(
            list_figure(&settings->mass, i - timed, "channel-mass", "g", &channel.mass, error));
    double percent = 0;
    SHOT_TRY(list_figure(&settings->size, i, "channel-size", "%", &percent, error));
    SHOT_TRY(list_figure(&settings->seconds, i, "channel-time", "s", &channel.seconds, error));
    SHOT_TRY(list_figure(&settings->heal, i, "channel-heal", "s", &channel.heal, error));
    channel.size = percent / 100;
    return shot_recipe_add_channel(recipe, channel);
}

/* A figure more than there are channels would be a figure of none. */
static shot_status check_counts(const struct synth_settings *settings, size_t named,
                                shot_error *error) {
    const struct {
        const char *option;
        size_t count;
    } lists[] = {{"channel-size", settings->size.count},
                 {"channel-time", settings->seconds.count},
                 {"channel-heal", settings->heal.count}};
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++)
        if (named > 0 && lists[i].count > named)
            return shot_fail(error, SHOT_ERR_USAGE, "--%s: %zu figures for %zu channel%s",
                             lists[i].option, lists[i].count, named, shot_plural(named));
    return SHOT_OK;
}

static shot_status set_channels(const struct synth_settings *settings, shot_recipe *recipe,
                                shot_error *error) {
    const size_t named = settings->at.count + settings->mass.count;
    SHOT_TRY(check_counts(settings, named, error));
    if (named > 0 || settings->drawn == CHANNELS_NONE)
        recipe->channel_count = 0;
    for (size_t i = 0; i < named; i++)
        SHOT_TRY(add_channel(settings, i, recipe, error));
    return SHOT_OK;
}

static shot_status set_sensors(const struct synth_settings *settings, shot_logger *logger,
                               shot_error *error) {
    if (settings->sensors.count == 0)
        return SHOT_OK;
    for (int k = 0; k < SHOT_SENSOR_COUNT; k++)
        logger->sensor[k].present = 0;
    for (size_t i = 0; i < settings->sensors.count; i++) {
        int k = 0;
        while (k < SHOT_SENSOR_COUNT &&
               strcmp(settings->sensors.items[i], shot_sensor_name((shot_sensor_kind)k)) != 0)
            k++;
        if (k == SHOT_SENSOR_COUNT)
            return shot_fail(error, SHOT_ERR_USAGE, "--channel: a log has no channel '%s'",
                             settings->sensors.items[i]);
        logger->sensor[k].present = 1;
    }
    return SHOT_OK;
}

static shot_status apply(const struct synth_settings *settings, shot_recipe *recipe,
                         shot_logger *logger, shot_error *error) {
    apply_all_figures(settings, recipe, logger);
    SHOT_TRY(set_channels(settings, recipe, error));
    SHOT_TRY(set_sensors(settings, logger, error));
    if (settings->program != NULL)
        SHOT_TRY(shot_recipe_read_program(recipe, settings->program, error));
    SHOT_TRY(shot_recipe_check(recipe, error));
    return shot_logger_check(logger, error);
}

shot_status synth_prepare(const struct synth_settings *settings, uint64_t index,
                          shot_recipe *recipe, shot_logger *logger, shot_error *error) {
    const uint64_t seed = (uint64_t)settings->seed;
    SHOT_TRY(shot_logger_draw((shot_grade)settings->grade, seed, index, settings->spread, logger));
    SHOT_TRY(shot_recipe_draw((shot_style)settings->style, seed, index, settings->spread, recipe));
    const shot_status status = apply(settings, recipe, logger, error);
    if (status == SHOT_OK)
        return SHOT_OK;
    shot_recipe_free(recipe);
    if (error != NULL && status != SHOT_ERR_MEMORY) /* whatever was wrong was said by hand */
        error->code = SHOT_ERR_USAGE;
    return status == SHOT_ERR_MEMORY ? status : SHOT_ERR_USAGE;
}
