/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-plot: options, and the way from what comes in to a picture. */
#include "plot/plot.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/stage.h>

#include "plot/intake.h"
#include "plot/output.h"
#include "plot/panels.h"
#include "plot/pictures.h"
#include "plot/settings.h"

static const shot_option options[] = {
    {.letter = 'o',
     .name = "output",
     .kind = SHOT_OPTION_FILE,
     .field = offsetof(struct plot_settings, output),
     .argument = "FILE",
     .help = "where the picture goes; its name tells the format (.svg, .pdf, .png, .txt)"},
    {.name = "format",
     .kind = SHOT_OPTION_CHOICE,
     .field = offsetof(struct plot_settings, format),
     .argument = "NAME",
     .choices = "auto|svg|pdf|png|terminal|text",
     .initial = "auto",
     .help = "auto: by the name of the output; without one a terminal shows the picture itself, "
             "and a pipe gets SVG. text: plain text for any screen"},
    {.name = "show",
     .kind = SHOT_OPTION_CHOICE,
     .field = offsetof(struct plot_settings, show),
     .argument = "WHAT",
     .choices = "auto|panels|overlay|multiples|path|control",
     .initial = "auto",
     .help =
         "what to draw of shots. panels: a panel a channel, of one shot; overlay: shots over each "
         "other; multiples: a small panel a shot; path: pressure against flow; control: measures "
         "over the order of the shots; auto: panels for one shot, overlay for more. Tables of "
         "other filters are drawn as what they are"},
    {.letter = 'c',
     .name = "channel",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct plot_settings, channels),
     .argument = "NAME,...",
     .only = "show=auto|show=panels|show=overlay|show=multiples",
     .help = "only these channels, in this order (default: all)"},
    {.name = "measure",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct plot_settings, measures),
     .argument = "NAME,...",
     .only = "show=control|show=auto",
     .help = "of a control chart: these measures, or metadata keys that are numbers "
             "(default: brew.pressure, brew.flow, "
             "first-drip.time, beverage.mass)"},
    {.name = "behind",
     .kind = SHOT_OPTION_FILE,
     .field = offsetof(struct plot_settings, behind),
     .argument = "FILE",
     .only = "show=auto|show=panels",
     .help = "the same shot before a filter, drawn pale behind its panels"},
    {.name = "theme",
     .kind = SHOT_OPTION_CHOICE,
     .field = offsetof(struct plot_settings, theme),
     .argument = "NAME",
     .choices = "auto|light|dark",
     .initial = "auto",
     .help = "light: dark lines on white paper; dark: light ones on a dark page; auto: dark in a "
             "terminal, else light"},
    {.name = "width",
     .kind = SHOT_OPTION_COUNT,
     .field = offsetof(struct plot_settings, width),
     .argument = "UNITS",
     .low = 20,
     .high = 20000,
     .help = "of the page, in 1/96 inch (default 960); for text, columns (default: the "
             "terminal's, or 80)"},
    {.name = "scale",
     .kind = SHOT_OPTION_NUMBER,
     .field = offsetof(struct plot_settings, scale),
     .argument = "FACTOR",
     .low = 0.1,
     .high = 20,
     .help = "pixels of a PNG to a unit of the page (default 2)"},
    {0}};

typedef struct plot_source {
    shot_source source;
    const struct plot_settings *settings;
    const shot_output *output;
    plot_output target;
    shot_loader loader;
    shot_notice notice;
    plot_intake intake;
    shot_table_collector behind;
} plot_source;

/* ---- what to draw ---- */

/* A measure that is named may be a metadata key of the shots. */
static shot_status draw_measures(plot_source *self, shot_measure_table *table, plot_scene *scene,
                                 shot_error *error) {
    const shot_texts *names = &self->settings->measures;
    for (size_t i = 0, column; i < names->count; i++)
        if (!shot_measure_table_find(table, names->items[i], &column))
            SHOT_TRY(shot_measure_table_add_key(table, names->items[i], error));
    return plot_control_draw(table, &self->settings->measures, &self->target.look, scene, error);
}

static shot_status draw_control(plot_source *self, plot_scene *scene, shot_error *error) {
    const shot_table_list *shots = &self->intake.collector.shots;
    shot_measure_table table = {0};
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < shots->count && status == SHOT_OK; i++)
        status = shot_measure_table_add_trace(&table, shots->items[i], 0, error);
    if (status == SHOT_OK)
        status = draw_measures(self, &table, scene, error);
    size_t column;
    if (status == SHOT_OK && self->settings->measures.count == 0 &&
        !shot_measure_table_find(&table, "brew.time", &column))
        shot_notice_say(&self->notice, "no shot has phases, so what is measured in them is left "
                                       "out; put shot-segment before");
    shot_measure_table_free(&table);
    return status;
}

/* ---- what lies behind ---- */

static bool overlap(const shot_table *a, const shot_table *b) {
    const size_t m = a->rows.rows, n = b->rows.rows;
    return m > 0 && n > 0 && a->rows.column[0][0] <= b->rows.column[0][n - 1] &&
           b->rows.column[0][0] <= a->rows.column[0][m - 1];
}

/* The shot of that name behind it, or the only one there is: a warning if that has another name,
 * an error if it cannot be the same shot. */
static shot_status find_behind(const plot_source *self, const shot_table *shot,
                               const shot_table **out, shot_error *error) {
    const shot_table_list *behind = &self->behind.shots;
    const char *name = shot->head.name;
    *out = NULL;
    if (self->settings->behind == NULL)
        return SHOT_OK;
    for (size_t i = 0; i < behind->count && *out == NULL; i++)
        if (strcmp(behind->items[i]->head.name, name) == 0)
            *out = behind->items[i];
    if (*out == NULL && behind->count != 1)
        return shot_fail(error, SHOT_ERR_DATA, "--behind: of its %zu shots none is called '%s'",
                         behind->count, name);
    if (*out == NULL) {
        *out = behind->items[0];
        shot_notice_say(&self->notice,
                        "--behind: its shot is called '%s', not '%s'; is it the same?",
                        (*out)->head.name, name);
    }
    if (!overlap(shot, *out))
        return shot_fail(error, SHOT_ERR_DATA,
                         "--behind: the times of '%s' and of what is to lie behind it have nothing "
                         "in common",
                         name);
    return SHOT_OK;
}

static shot_status draw_panels(plot_source *self, plot_scene *scene, shot_error *error) {
    const shot_table_list *shots = &self->intake.collector.shots;
    const shot_table *behind;
    if (shots->count > 1)
        shot_notice_say(&self->notice, "of %zu shots the first, '%s', is drawn", shots->count,
                        shots->items[0]->head.name);
    SHOT_TRY(find_behind(self, shots->items[0], &behind, error));
    return plot_panels_draw(shots->items[0], behind, &self->settings->channels, &self->target.look,
                            scene, error);
}

/* Pictures show the last word on each finding. */
static shot_status leave_last_words(const shot_table_list *shots) {
    for (size_t i = 0; i < shots->count; i++)
        SHOT_TRY(shot_mark_list_keep_standing(&shots->items[i]->marks));
    return SHOT_OK;
}

static shot_status draw_shots(plot_source *self, plot_scene *scene, shot_error *error) {
    const struct plot_settings *settings = self->settings;
    const shot_table_list *shots = &self->intake.collector.shots;
    const plot_look *look = &self->target.look;
    if (shots->count == 0)
        return shot_fail(error, SHOT_ERR_DATA, "there is no shot to draw");
    SHOT_TRY(leave_last_words(shots));
    bool panels = settings->show == PLOT_SHOW_PANELS ||
                  (settings->show == PLOT_SHOW_AUTO && shots->count == 1);
    if (settings->behind != NULL && !panels)
        return shot_fail(error, SHOT_ERR_USAGE, "--behind is for the panels of one shot");
    switch (panels ? PLOT_SHOW_PANELS : (plot_show)settings->show) {
    case PLOT_SHOW_AUTO:
    case PLOT_SHOW_OVERLAY:
        return plot_overlay_draw(shots, &settings->channels, look, scene, error);
    case PLOT_SHOW_MULTIPLES:
        return plot_multiples_draw(shots, &settings->channels, look, scene, error);
    case PLOT_SHOW_PATH:
        return plot_path_draw(shots, look, scene, error);
    case PLOT_SHOW_CONTROL:
        return draw_control(self, scene, error);
    default:
        return draw_panels(self, scene, error);
    }
}

/* The lines of the table behind its header are those of a table of measures. */
static shot_status draw_measure_lines(plot_source *self, plot_scene *scene, shot_error *error) {
    shot_measure_table table = {0};
    const char *at = strchr(self->intake.table.bytes, '\n');
    shot_status status = SHOT_OK;
    while (status == SHOT_OK && at != NULL && *++at != '\0') {
        size_t length = strcspn(at, "\r\n");
        if (length > 0)
            status = shot_measure_table_add_line(&table, at, length, 0, error);
        at = strchr(at + length, '\n');
    }
    if (status == SHOT_OK)
        status = draw_measures(self, &table, scene, error);
    shot_measure_table_free(&table);
    return status;
}

static shot_status draw_table(plot_source *self, plot_scene *scene, shot_error *error) {
    const plot_look *look = &self->target.look;
    if (self->settings->show != PLOT_SHOW_AUTO &&
        !(self->settings->show == PLOT_SHOW_CONTROL && self->intake.kind == PLOT_MEASURES))
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--show is for shots; this is a table, which is drawn as what it is");
    if (self->intake.kind == PLOT_MEASURES)
        return draw_measure_lines(self, scene, error);
    plot_csv csv;
    shot_status status = plot_csv_read(&self->intake.table, &csv, error);
    if (status == SHOT_OK)
        status = self->intake.kind == PLOT_CONTRASTS ? plot_contrasts_draw(&csv, look, scene, error)
                 : self->intake.kind == PLOT_SPECTRA ? plot_spectra_draw(&csv, look, scene, error)
                                                     : plot_sweep_draw(&csv, look, scene, error);
    plot_csv_free(&csv);
    return status;
}

/* What is asked of a kind of picture that this is not; the kinds that --show names are in the
 * table of options. */
static shot_status check_asked(const plot_source *self, shot_error *error) {
    const struct plot_settings *asked = self->settings;
    const bool traces = self->intake.kind == PLOT_TRACES;
    const bool control =
        self->intake.kind == PLOT_MEASURES || (traces && asked->show == PLOT_SHOW_CONTROL);
    if (asked->measures.count > 0 && !control)
        return shot_fail(error, SHOT_ERR_USAGE, "--measure is for control charts; %s",
                         traces ? "say --show control" : "this is another table");
    if (asked->channels.count > 0 && !traces)
        return shot_fail(error, SHOT_ERR_USAGE, "--channel is for shots; this is a table");
    if (asked->behind != NULL && !traces)
        return shot_fail(error, SHOT_ERR_USAGE, "--behind is for the panels of one shot");
    return SHOT_OK;
}

static shot_status load_behind(plot_source *self, shot_error *error) {
    if (self->settings->behind == NULL || self->behind.shots.count > 0)
        return SHOT_OK;
    char *path = (char *)self->settings->behind;
    const shot_texts paths = {&path, 1};
    const shot_intake into = {.sink = &self->behind.sink};
    return self->loader.load(self->loader.user, &paths, &into, error);
}

static shot_status draw(void *user, shot_error *error) {
    plot_source *self = user;
    plot_scene scene = {0};
    SHOT_TRY(check_asked(self, error));
    SHOT_TRY(load_behind(self, error));
    shot_status status = self->intake.kind == PLOT_TRACES ? draw_shots(self, &scene, error)
                                                          : draw_table(self, &scene, error);
    if (status == SHOT_OK)
        status = plot_output_write(&self->target, &scene, self->output, error);
    if (status == SHOT_ERR_MEMORY)
        shot_fail(error, status, "out of memory for the picture");
    plot_scene_free(&scene);
    return status;
}

/* ---- a source of bytes ---- */

static shot_status file(shot_source *source, const char *name, shot_error *error) {
    return plot_intake_file(&((plot_source *)source)->intake, name, error);
}

static shot_status push(shot_source *source, const char *bytes, size_t count, shot_error *error) {
    return plot_intake_push(&((plot_source *)source)->intake, bytes, count, error);
}

static shot_status file_end(shot_source *source, bool lost, shot_error *error) {
    return plot_intake_file_end(&((plot_source *)source)->intake, lost, error);
}

/* A picture is drawn when all is there. */
static shot_status pause(shot_source *source, shot_error *error) {
    return SHOT_OK;
}

static shot_status finish(shot_source *source, shot_error *error) {
    return plot_intake_finish(&((plot_source *)source)->intake, error);
}

static void release(shot_source *source) {
    plot_source *self = (plot_source *)source;
    plot_intake_free(&self->intake);
    shot_table_collector_free(&self->behind);
    free(self);
}

static const shot_source_calls calls = {file, push, pause, finish, release, file_end};

static shot_status make(const shot_making *making, shot_source **out, shot_error *error) {
    plot_source *self = calloc(1, sizeof *self);
    *out = NULL;
    if (self == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory");
    self->source.calls = &calls;
    self->settings = making->settings;
    self->output = making->output;
    self->loader = making->loader;
    self->notice = making->notice;
    shot_table_collector_init(&self->behind);
    shot_status status = plot_output_choose(self->settings, &self->target, error);
    if (status == SHOT_OK)
        status = plot_intake_init(&self->intake, making, draw, self, error);
    if (status == SHOT_OK)
        *out = &self->source;
    else
        release(&self->source);
    return status;
}

static const char *const examples[] = {
    "shot-read shot.csv | shot-find | shot-plot -o shot.svg",
    "shot-smooth < shot.csv | shot-plot --behind shot.csv -o smooth.png",
    "shot-sweep --at 30s --format curve sweep.trace | shot-plot -o sweep.svg",
    NULL,
};

const shot_description shot_plot = {
    .name = "plot",
    .purpose = "pictures: SVG, PDF, PNG, or in the terminal",
    .details =
        "Draws a shot with everything that the filters before it found: a panel for each channel "
        "over the same time, phases and other findings above, with the intervals of all estimates. "
        "NAME.se becomes a band about NAME, wanted.NAME a panel of what NAME was off by. Several "
        "shots lie over each other; --show chooses otherwise.\n"
        "Tables are told by their first line: shot-sweep --format curve, shot-compare --format "
        "csv, "
        "shot-spectrum --table, and shot-report --format csv, which becomes a control chart.\n"
        "All shots are kept until the stream ends. Without -o a terminal shows the picture itself; "
        "NO_COLOR is honoured. Text in SVG stays text.",
    .examples = examples,
    .role = SHOT_ROLE_WRITER,
    .memory = SHOT_MEMORY_STREAM,
    .traits = SHOT_TRAIT_ACROSS_SHOTS,
    .settings_size = sizeof(struct plot_settings),
    .options = options,
    .make_source = make,
    .latency = shot_latency_stream,
};
