/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a picture goes, and in which format. */
#include "plot/output.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#include "plot/paint.h"
#include "plot/svg.h"

/* ---- choosing ---- */

static shot_status format_of_name(const char *path, plot_format *out, shot_error *error) {
    static const struct {
        const char *suffix;
        plot_format format;
    } known[] = {{".svg", PLOT_FORMAT_SVG},
                 {".pdf", PLOT_FORMAT_PDF},
                 {".png", PLOT_FORMAT_PNG},
                 {".txt", PLOT_FORMAT_TEXT}};
    const char *suffix = strrchr(path, '.');
    for (size_t i = 0; suffix != NULL && i < sizeof known / sizeof *known; i++)
        if (strcasecmp(suffix, known[i].suffix) == 0) {
            *out = known[i].format;
            return SHOT_OK;
        }
    return shot_fail(
        error, SHOT_ERR_USAGE,
        "the name '%s' tells no format; let it end in .svg, .pdf, .png or .txt, or say "
        "--format",
        path);
}

/* A page of paper, or of a terminal that shows pictures. */
static void look_of_page(plot_output *out, const struct plot_settings *settings) {
    bool terminal = out->format == PLOT_FORMAT_TERMINAL;
    double width = terminal ? fmin(8.0 * out->terminal.columns, 960) : 960;
    out->look.width = settings->width > 0 && !terminal ? (double)settings->width : width;
    out->look.type = plot_type_page;
    out->look.pixel = 1 / out->scale;
}

/* Characters: a cell is half a line wide. */
static void look_of_cells(plot_output *out) {
    out->look.type = plot_type_cells;
    out->look.width = out->terminal.columns * plot_type_cells.line / 2;
    out->look.height = (out->terminal.rows - 1) * plot_type_cells.line; /* and the prompt */
    out->look.pixel = 1;
    if (out->terminal.colours == PLOT_NO_COLOURS)
        out->look.theme = PLOT_MONO;
}

static void choose_look(plot_output *out, const struct plot_settings *settings) {
    bool terminal = out->format == PLOT_FORMAT_TERMINAL, text = out->format == PLOT_FORMAT_TEXT;
    int columns = settings->width > 0 ? (int)settings->width : 80;
    bool dark = settings->theme == PLOT_THEME_AUTO ? terminal : settings->theme == PLOT_THEME_DARK;
    out->look.theme = dark ? PLOT_DARK : PLOT_LIGHT;
    out->scale = out->format != PLOT_FORMAT_PNG ? 1 : isnan(settings->scale) ? 2 : settings->scale;
    out->terminal = terminal ? plot_terminal_detect(STDOUT_FILENO) : plot_terminal_plain(columns);
    if (settings->width > 0)
        out->terminal.columns = columns;
    if (text || (terminal && !out->terminal.pixels))
        look_of_cells(out);
    else
        look_of_page(out, settings);
}

shot_status plot_output_choose(const struct plot_settings *settings, plot_output *out,
                               shot_error *error) {
    *out = (plot_output){.format = (plot_format)settings->format, .path = settings->output};
    if (out->path != NULL && strcmp(out->path, "-") == 0)
        out->path = NULL;
    if (out->format == PLOT_FORMAT_AUTO && out->path != NULL)
        SHOT_TRY(format_of_name(out->path, &out->format, error));
    if (out->format == PLOT_FORMAT_AUTO)
        out->format = isatty(STDOUT_FILENO) ? PLOT_FORMAT_TERMINAL : PLOT_FORMAT_SVG;
    if (!isnan(settings->scale) && out->format != PLOT_FORMAT_PNG)
        return shot_fail(error, SHOT_ERR_USAGE, "--scale is for PNG, whose pixels it counts");
    choose_look(out, settings);
    double least = out->look.type.cells ? 20 : 200;
    if (settings->width > 0 && settings->width < least)
        return shot_fail(error, SHOT_ERR_USAGE, "--width %ld leaves no room; give %.0f at least",
                         settings->width, least);
    return SHOT_OK;
}

/* ---- writing ---- */

static shot_status write_file(const char *path, const shot_text *text, shot_error *error) {
    FILE *file = fopen(path, "wb");
    if (file == NULL)
        return shot_fail(error, SHOT_ERR_WRITE, "cannot write '%s': %s", path, strerror(errno));
    bool fine = fwrite(text->bytes, 1, text->length, file) == text->length;
    if (fclose(file) == 0 && fine)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_WRITE, "cannot write '%s': %s", path, strerror(errno));
}

static shot_status make_bytes(const plot_output *output, const plot_scene *scene, shot_text *text) {
    switch (output->format) {
    case PLOT_FORMAT_PNG:
        return plot_paint_png(scene, output->scale, text);
    case PLOT_FORMAT_PDF:
        return plot_paint_pdf(scene, text);
    case PLOT_FORMAT_TERMINAL:
    case PLOT_FORMAT_TEXT:
        return plot_terminal_write(scene, &output->terminal, text);
    default:
        return plot_svg_write(scene, text);
    }
}

static shot_status too_large(const plot_output *output, const plot_scene *scene,
                             shot_error *error) {
    if (output->format == PLOT_FORMAT_PNG)
        return shot_fail(error, SHOT_ERR_RANGE,
                         "the picture would be %.0f by %.0f pixels, more than a PNG can hold here; "
                         "give a smaller --scale",
                         scene->width * output->scale, scene->height * output->scale);
    return shot_fail(error, SHOT_ERR_RANGE,
                     "the picture is too long for a terminal; choose channels with --channel, or "
                     "write an SVG");
}

shot_status plot_output_write(const plot_output *output, const plot_scene *scene,
                              const shot_output *bytes, shot_error *error) {
    shot_text text = {0};
    shot_status status = make_bytes(output, scene, &text);
    if (status == SHOT_ERR_RANGE)
        too_large(output, scene, error);
    if (status == SHOT_OK)
        status = output->path != NULL ? write_file(output->path, &text, error)
                                      : bytes->write(bytes->user, text.bytes, text.length, error);
    shot_text_free(&text);
    return status;
}
