/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-spectrum: power spectrum and ripple. */
#include <shottrace/detect/spectrum.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/trace/detector.h>
#include <shottrace/trace/text.h>
#include <shottrace/trace/unit.h>

#include "detect/asked_channels.h"
#include "detect/channel_view.h"
#include "detect/ripple.h"
#include "detect/spectrum_table.h"

struct spectrum_settings {
    shot_texts channels;
    shot_span window;
    double alarm_rate; /* % */
    double mains;
    const char *table;
};

static const shot_option options[] = {
    {.letter = 'c',
     .name = "channel",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct spectrum_settings, channels),
     .argument = "NAME,...",
     .initial = SHOT_ASKED_DEFAULT,
     .help = "channels to look at"},
    {.letter = 'w',
     .name = "window",
     .kind = SHOT_OPTION_SPAN,
     .field = offsetof(struct spectrum_settings, window),
     .argument = "LENGTH",
     .low = 0,
     .high = 1e9,
     .help = "length of the segments whose spectra are averaged, a time (4s) or a count of samples "
             "(128); without it at least 3 s and 64 samples, but at most 2/5 of the record"},
    {.name = "alarm-rate",
     .kind = SHOT_OPTION_QUANTITY,
     .unit = "%",
     .field = offsetof(struct spectrum_settings, alarm_rate),
     .argument = "RATE",
     .initial = "1%",
     .low = 1e-6,
     .high = 50,
     .help = "how often noise alone may look like a ripple, a shot and channel"},
    {.name = "mains",
     .kind = SHOT_OPTION_QUANTITY,
     .unit = "Hz",
     .field = offsetof(struct spectrum_settings, mains),
     .argument = "FREQUENCY",
     .low = 1,
     .high = 1000,
     .help =
         "frequency that drives the pump (50Hz, 60Hz): say where a ripple is the mains or twice "
         "the mains, folded by a slow log"},
    {.name = "table",
     .kind = SHOT_OPTION_FILE,
     .field = offsetof(struct spectrum_settings, table),
     .argument = "FILE",
     .help = "write the spectra to this file, as CSV"},
    {0}};

/* Values written in steps turn a slow ramp into a saw of the height of a step, a tone of amplitude
 * step/pi at slope/step (Widrow & Kollar 2008, 'Quantization Noise', chapter 20), and more where
 * slopes sweep it; uneven times let it show far above half the rate.  A ripple must be larger. */
static const double LEAST_STEPS = 0.5, LEAST_STEPS_ABOVE = 1;

/* The mains are within 1 % of their nominal frequency (EN 50160, 4.2.1). */
static const double MAINS_TOLERANCE = 0.01;

/* The ripple of a channel, and how it was found. */
typedef struct line {
    ripple ripple;
    bool found;
    bool above; /* above half the sampling rate, where the mains had to be looked for */
} line;

/* ", mains at 50.02 Hz folded by 7.7 samples a second" */
static shot_status add_mains(shot_text *note, const line *one, double rate, double mains) {
    for (int harmonic = 1; harmonic <= 2; harmonic++) {
        const double seen = one->ripple.frequency;
        const double meant =
            (one->above ? seen : ripple_unfold(seen, rate, harmonic * mains)) / harmonic;
        if (fabs(meant - mains) > MAINS_TOLERANCE * mains)
            continue;
        SHOT_TRY(shot_text_add_format(note, ", %smains at %.4g Hz", harmonic == 2 ? "twice " : "",
                                      meant));
        if (one->above)
            return shot_text_add_format(note, " seen through %.4g uneven samples a second", rate);
        if (harmonic * mains > rate / 2)
            return shot_text_add_format(note, " folded by %.4g samples a second", rate);
        return SHOT_OK;
    }
    return shot_text_add_format(note, ", not the mains of %g Hz", mains);
}

static shot_status write_note(const line *one, const ripple_spectrum *spectrum, const char *unit,
                              double mains, shot_text *note) {
    SHOT_TRY(shot_text_add_format(note, "amplitude %.2g %s, false-alarm probability ",
                                  one->ripple.amplitude, unit));
    SHOT_TRY(one->ripple.false_alarm > 1e-300
                 ? shot_text_add_format(note, "%.1g", one->ripple.false_alarm)
                 : shot_text_add(note, "below 1e-300"));
    return isnan(mains) ? SHOT_OK : add_mains(note, one, spectrum->mean_rate, mains);
}

/* The mains and twice the mains above half the rate of uneven rows. */
static shot_status look_for_mains(const ripple_spectrum *spectrum, double mains, double alarm_rate,
                                  double step, line *out) {
    for (int harmonic = 1; harmonic <= 2 && !out->found; harmonic++) {
        ripple_spectrum near;
        const double frequency = harmonic * mains;
        if (frequency * (1 + MAINS_TOLERANCE) < spectrum->segments.rate / 2)
            continue;
        shot_status status = ripple_spectrum_near(spectrum, frequency, MAINS_TOLERANCE, &near);
        if (status == SHOT_ERR_SINGULAR)
            continue;
        SHOT_TRY(status);
        bool image = false;
        status =
            ripple_find(&near, alarm_rate, LEAST_STEPS_ABOVE * step, &out->ripple, &out->found);
        if (status == SHOT_OK && out->found)
            status = ripple_is_image(&near, out->ripple.frequency, &image);
        ripple_spectrum_free(&near);
        out->found = out->found && !image;
        SHOT_TRY(status);
        out->above = out->found;
    }
    return SHOT_OK;
}

/* All searches together keep the alarm rate. */
static shot_status find_line(const struct spectrum_settings *settings, double step,
                             const ripple_spectrum *spectrum, line *out) {
    const bool more = !isnan(settings->mains) && !spectrum->segments.even;
    const double alarm_rate = settings->alarm_rate / 100 / (more ? 3 : 1);
    *out = (line){.found = false};
    if (more)
        SHOT_TRY(look_for_mains(spectrum, settings->mains, alarm_rate, step, out));
    return out->found
               ? SHOT_OK
               : ripple_find(spectrum, alarm_rate, LEAST_STEPS * step, &out->ripple, &out->found);
}

static shot_status add_ripple(const ripple *found, const shot_channel_view *view,
                              const char *channel, char *note, shot_findings *findings) {
    shot_mark mark = shot_mark_none();
    mark.kind = (char *)"ripple";
    mark.from = found->from.at;
    mark.to = found->to.at;
    mark.channel = (char *)channel;
    mark.value = found->frequency;
    mark.unit = (char *)"Hz";
    mark.note = note;
    if (!view->processed && !isnan(found->low)) {
        mark.from_low = found->from.low;
        mark.from_high = found->from.high;
        mark.to_low = found->to.low;
        mark.to_high = found->to.high;
        mark.value_low = found->low;
        mark.value_high = found->high;
        mark.level = 0.95;
    }
    return shot_findings_add(findings, &mark);
}

static shot_status tell(const shot_table *shot, const struct spectrum_settings *settings,
                        const shot_channel_view *view, const char *channel,
                        const ripple_spectrum *spectrum, shot_findings *findings,
                        shot_error *error) {
    const char *unit = shot->head.channels[shot_head_channel(&shot->head, channel)].unit;
    line one;
    shot_text note = {0};
    char *density = NULL;
    shot_status status = find_line(settings, view->step, spectrum, &one);
    if (status == SHOT_OK && one.found)
        status = write_note(&one, spectrum, unit, settings->mains, &note);
    if (status == SHOT_OK && one.found)
        status = add_ripple(&one.ripple, view, channel, note.bytes, findings);
    if (status == SHOT_OK && settings->table != NULL)
        status = shot_unit_combine(unit, 2, "Hz", -1, &density, error);
    if (status == SHOT_OK && settings->table != NULL)
        status =
            spectrum_table_add(settings->table, shot->head.name, channel, density, spectrum, error);
    free(density);
    shot_text_free(&note);
    return status;
}

static shot_status look_at(const shot_table *shot, const struct spectrum_settings *settings,
                           const shot_channel_view *view, const char *channel,
                           shot_findings *findings, shot_error *error) {
    ripple_spectrum spectrum;
    const double usual = view->noise.spacing;
    const double length = settings->window.length * (settings->window.samples ? usual : 1);
    const shot_status status = ripple_spectrum_find(view->t, view->y, view->n, length, &spectrum);
    if (status == SHOT_ERR_SINGULAR)
        return shot_findings_note(findings, "spectrum",
                                  "no spectrum of '%s': too few samples, or too few in a window",
                                  channel);
    SHOT_TRY(status);
    const shot_status told = tell(shot, settings, view, channel, &spectrum, findings, error);
    ripple_spectrum_free(&spectrum);
    return told;
}

static shot_status find(const shot_table *shot, const void *made, shot_findings *findings,
                        shot_error *error) {
    const struct spectrum_settings *settings = made;
    for (size_t i = 0; i < settings->channels.count; i++) {
        const char *channel = settings->channels.items[i];
        shot_channel_view view;
        SHOT_TRY(asked_channels_tell_missing(&settings->channels, &shot->head, channel, findings));
        shot_status status = shot_channel_view_new(shot, channel, &view);
        if (status == SHOT_OK)
            status = look_at(shot, settings, &view, channel, findings, error);
        else if (status == SHOT_ERR_SINGULAR)
            status = shot_findings_note(findings, "spectrum",
                                        "no spectrum of '%s': there is no such channel, or it has "
                                        "fewer than 5 samples",
                                        channel);
        shot_channel_view_free(&view);
        SHOT_TRY(status);
    }
    return SHOT_OK;
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    const struct spectrum_settings *settings = making->settings;
    *out = NULL;
    SHOT_TRY(asked_channels_check(&settings->channels, error));
    if (settings->table != NULL)
        SHOT_TRY(spectrum_table_begin(settings->table, error));
    return shot_detector_new(making, find, out, error);
}

static const char *const examples[] = {
    "shot-spectrum --mains 50Hz < shot.csv | shot-marks",
    "shot-spectrum --channel flow --window 4s --table spectra.csv < shot.csv",
    NULL,
};

const shot_description shot_spectrum = {
    .name = "spectrum",
    .purpose = "power spectrum of a channel, and the pump's ripple in it",
    .details =
        "Averages the spectra of overlapping Hann-windowed segments: Fourier transforms where the "
        "samples lie on an even grid (Welch), Lomb-Scargle periodograms where their times are "
        "uneven. Segments with a transient (a ramp, the end of a shot) are left out. The noise "
        "under "
        "a line is a red-noise continuum fitted to the spectrum; a line that noise would show, "
        "anywhere in the spectrum, with at most the probability --alarm-rate becomes a mark "
        "'ripple' with its frequency, the span in which it shows, its amplitude and that "
        "probability.\n"
        "Use it on raw rows. Ripple above half the sampling rate shows folded; with --mains the "
        "note "
        "says so. A few strokes of a pulsed pre-wetting are no ripple: see shot-pulses.\n"
        "The table has the columns shot, channel, frequency [Hz], power (one-sided density), its "
        "unit, the noise continuum, and the false-alarm probability of that frequency alone.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_SHOT,
    .traits = SHOT_TRAIT_ACROSS_SHOTS, /* one table for all of them, in their order */
    .settings_size = sizeof(struct spectrum_settings),
    .options = options,
    .make = make,
    .latency = shot_detector_latency,
};
