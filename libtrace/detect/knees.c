/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slope breaks. */
#include <shottrace/detect/knees.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>
#include <shottrace/trace/unit.h>

#include "detect/asked_channels.h"
#include "detect/even_clock.h"
#include "detect/final_rise.h"
#include "detect/fresh_values.h"
#include "detect/knee_watch.h"

static const shot_option options[] = {
    {.letter = 'c',
     .name = "channel",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct knees_settings, channels),
     .argument = "NAME,...",
     .initial = SHOT_ASKED_DEFAULT,
     .help = "channels to look at"},
    {.letter = 'm',
     .name = "model",
     .kind = SHOT_OPTION_CHOICE,
     .field = offsetof(struct knees_settings, model),
     .argument = "NAME",
     .choices = "phases|linear|level",
     .initial = "phases",
     .help =
         "phases: instants at which the slope breaks, bends left out; linear: the joints of the "
         "best description by straight pieces, which follow a bend as well; level: the steps of "
         "the best description by constant levels, of which noise that drifts has some too"},
    {.name = "alarm-rate",
     .kind = SHOT_OPTION_QUANTITY,
     .unit = "%",
     .field = offsetof(struct knees_settings, alarm_rate),
     .argument = "RATE",
     .initial = "1%",
     .low = 1e-6,
     .high = 50,
     .help = "how often noise alone may look like a knee, a shot and channel"},
    {0}};

static const double level = 0.95;

/* The note is a fixed wording: judge reads the height from it. */
static shot_status final_rise_note(double height, char **out) {
    shot_text text = {0};
    SHOT_TRY(shot_text_add_format(&text, "final rise of %.2f bar", height));
    *out = text.bytes;
    return SHOT_OK;
}

static shot_status add_knee(const char *kind, const shot_knee *knee, const shot_channel_view *view,
                            const char *channel, char *unit, char *note, shot_findings *found) {
    shot_mark mark = shot_mark_none();
    mark.kind = (char *)kind;
    mark.from = mark.to = knee->at;
    mark.channel = (char *)channel;
    mark.value = knee->after - knee->before;
    mark.unit = unit;
    mark.note = note;
    if (!view->processed) { /* what a filter did to the samples is not in the interval */
        mark.from_low = mark.to_low = knee->low;
        mark.from_high = mark.to_high = knee->high;
        mark.value_low = knee->change_low;
        mark.value_high = knee->change_high;
        mark.level = level;
    }
    return shot_findings_add(found, &mark);
}

/* Does the channel show the pressure at the pump, as far as is known? */
static bool shows_pump(const shot_head *head, const char *channel) {
    const char *gauge = shot_head_value(head, "gauge");
    return strcmp(channel, "pressure") == 0 && (gauge == NULL || strcmp(gauge, "puck") != 0);
}

typedef shot_status finder(const shot_channel_view *view, double alarm_rate, double level,
                           shot_knee **out, size_t *count);

static finder *const finders[] = {[KNEES_PHASES] = shot_knees_find,
                                  [KNEES_LINEAR] = shot_knees_linear,
                                  [KNEES_LEVEL] = shot_knees_level};

/* The knees of a channel and what is known of them. */
struct channel_knees {
    shot_channel_view view;
    shot_knee *knees; /* [count], with room for one more */
    size_t count;
    ptrdiff_t rise; /* the knee of the final rise, or -1 */
    double height;  /* of the rise, bar */
};

static void channel_knees_free(struct channel_knees *self) {
    free(self->knees);
    shot_channel_view_free(&self->view);
}

/* A channel as it came, at the times of its grid, less the figures that a slow sensor repeats. */
static shot_status fresh_view(const shot_table *shot, const char *channel, shot_channel_view *out) {
    shot_channel_view rows = {0};
    *out = (shot_channel_view){0};
    shot_status status = shot_channel_view_new(shot, channel, &rows);
    if (status == SHOT_OK) {
        shot_view_even_clock(&rows);
        status = shot_view_fresh(&rows, out);
    }
    shot_channel_view_free(&rows);
    return status;
}

/* SHOT_ERR_RANGE: the values are too small or too large; the view is then empty, as of a channel
 * that the log lacks. */
static shot_status channel_knees_find(const shot_table *shot, const char *channel,
                                      const struct knees_settings *settings,
                                      struct channel_knees *out) {
    *out = (struct channel_knees){.rise = -1};
    SHOT_TRY(fresh_view(shot, channel, &out->view));
    if (!shot_knee_squares_hold(&out->view)) {
        shot_channel_view_free(&out->view);
        out->view = (shot_channel_view){0};
        return SHOT_ERR_RANGE;
    }
    return finders[settings->model](&out->view, settings->alarm_rate / 100, level, &out->knees,
                                    &out->count);
}

/* Put the knee of the final rise among those of the pressure, in place of one that is the same:
 * the surer place counts. */
static void merge_rise(struct channel_knees *self, const shot_knee *rise) {
    for (size_t i = 0; i < self->count; i++) {
        shot_knee *one = &self->knees[i];
        if (fabs(one->at - rise->at) > 0.5 || one->after < one->before)
            continue;
        if (one->high - one->low > rise->high - rise->low)
            *one = *rise;
        self->rise = (ptrdiff_t)i;
        return;
    }
    size_t i = self->count++;
    for (; i > 0 && self->knees[i - 1].at > rise->at; i--)
        self->knees[i] = self->knees[i - 1];
    self->knees[i] = *rise;
    self->rise = (ptrdiff_t)i;
}

/* The knee at which the flow falls from the rise on, where it tells the place better.  The range is
 * that of both: the narrower of two is too often too narrow. */
static void sharpen(shot_knee *rise, const struct channel_knees *flow) {
    for (size_t i = 0; i < flow->count; i++) {
        const shot_knee *one = &flow->knees[i];
        if (one->at < rise->low || one->at > rise->high || one->after > one->before ||
            one->high - one->low > rise->high - rise->low)
            continue;
        rise->at = one->at;
        rise->low = fmin(rise->low, one->low);
        rise->high = fmax(rise->high, one->high);
    }
}

/* The final rise, from the flow where it is logged, else from the knees of the pressure alone. */
static shot_status find_rise(const shot_table *shot, const struct knees_settings *settings,
                             struct channel_knees *pressure) {
    struct channel_knees flow;
    shot_knee rise = {.at = NAN};
    struct knees_settings as_phases = *settings;
    as_phases.model = KNEES_PHASES;
    shot_status status = channel_knees_find(shot, "flow", &as_phases, &flow);
    if (status == SHOT_OK && pressure->knees != NULL)
        status =
            shot_final_rise_in_flow(&pressure->view, &flow.view, level, &rise, &pressure->height);
    if (!isnan(rise.at)) {
        sharpen(&rise, &flow);
        merge_rise(pressure, &rise);
    } else {
        pressure->rise = shot_final_rise(&pressure->view, &flow.view, pressure->knees,
                                         pressure->count, &pressure->height);
    }
    channel_knees_free(&flow);
    return status == SHOT_ERR_SINGULAR || status == SHOT_ERR_RANGE ? SHOT_OK : status;
}

static shot_status add_steps(const struct channel_knees *self, const char *channel, char *unit,
                             shot_findings *found) {
    for (size_t i = 0; i < self->count; i++)
        SHOT_TRY(add_knee("step", &self->knees[i], &self->view, channel, unit, NULL, found));
    return SHOT_OK;
}

static shot_status add_knees(const struct channel_knees *self, const char *channel,
                             const char *unit, shot_findings *found) {
    char *slope_unit = NULL, *note = NULL;
    shot_status status = shot_unit_combine(unit, 1, "s", -1, &slope_unit, NULL);
    if (status == SHOT_OK && self->rise >= 0)
        status = final_rise_note(self->height, &note);
    for (size_t i = 0; i < self->count && status == SHOT_OK; i++)
        status = add_knee("knee", &self->knees[i], &self->view, channel, slope_unit,
                          (ptrdiff_t)i == self->rise ? note : NULL, found);
    free(slope_unit);
    free(note);
    return status;
}

static shot_status look_at(const shot_table *shot, const char *channel,
                           const struct knees_settings *settings, shot_findings *found) {
    struct channel_knees knees;
    ptrdiff_t place = shot_head_channel(&shot->head, channel);
    if (place < 0)
        return shot_findings_note(found, "knees", "no knees of %s: the log has no such channel",
                                  channel);
    shot_status status = channel_knees_find(shot, channel, settings, &knees);
    char *unit = shot->head.channels[place].unit;
    const bool steps = settings->model == KNEES_LEVEL;
    if (status == SHOT_OK && !steps && shows_pump(&shot->head, channel))
        status = find_rise(shot, settings, &knees);
    if (status == SHOT_OK)
        status = steps ? add_steps(&knees, channel, unit, found)
                       : add_knees(&knees, channel, unit, found);
    channel_knees_free(&knees);
    if (status == SHOT_ERR_SINGULAR)
        return shot_findings_note(found, "knees", "no knees of %s: it has fewer than 5 values",
                                  channel);
    if (status == SHOT_ERR_RANGE)
        return shot_findings_note(found, "knees",
                                  "no knees of %s: its values are under 1e-60 or over 1e60; say it "
                                  "in another unit",
                                  channel);
    return status;
}

static shot_status find(const shot_table *shot, const void *values, shot_findings *found,
                        shot_error *error) {
    const struct knees_settings *settings = values;
    const shot_texts *asked = &settings->channels;
    for (size_t i = 0; i < asked->count; i++) {
        SHOT_TRY(asked_channels_tell_missing(asked, &shot->head, asked->items[i], found));
        SHOT_TRY(look_at(shot, asked->items[i], settings, found));
    }
    return SHOT_OK;
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    const struct knees_settings *settings = making->settings;
    *out = NULL;
    SHOT_TRY(asked_channels_check(&settings->channels, error));
    return shot_detector_new_watching(making, &knee_watch, find, out, error);
}

static void latency(const void *settings, char *out, size_t room) {
    const struct knees_settings *said = settings;
    snprintf(
        out, room,
        said->model == KNEES_PHASES
            ? "0 s for samples; provisional marks: 0.6 to 1.1 s after the knee, later below 8 Hz; "
              "final marks at the end of the shot"
            : "0 s for samples; marks at the end of the shot");
}

static const char *const examples[] = {
    "shot-knees shot.csv | shot-marks",
    "shot-knees --channel pressure,flow shot.csv | shot-report",
    NULL,
};

const shot_description shot_knees = {
    .name = "knees",
    .purpose = "find where the slope of a channel breaks",
    .details =
        "Something begins or ends where a curve breaks. Adds a mark 'knee' at each instant "
        "at which the slope just after differs from the "
        "slope just before: its time with an interval, and the change of slope. The knee at "
        "which a restricted machine comes fully up to pressure, with a last small rise, is "
        "noted 'final rise'. Bends that are not sharp are no knees. With --model level the marks "
        "are of kind 'step': where the level jumps, and by how much. Samples pass unchanged. "
        "Best on raw or cleaned samples: smoothing rounds knees, and no interval is given "
        "after it.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_SHOT,
    .settings_size = sizeof(struct knees_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
