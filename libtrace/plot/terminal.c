/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A scene in a terminal. */
#include "plot/terminal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>

#include <chafa.h>

#include "plot/paint.h"

enum { CELL_WIDTH = 8, CELL_HEIGHT = 16 }; /* page units: those of plot_type_cells */

/* ---- what the terminal is ---- */

static const char *variable(const char *name) {
    const char *value = getenv(name);
    return value != NULL ? value : "";
}

/* The first of the three that is set decides (POSIX.1-2017, 8.2). */
static bool locale_is_utf8(void) {
    static const char *const names[] = {"LC_ALL", "LC_CTYPE", "LANG"};
    for (size_t i = 0; i < 3; i++) {
        const char *value = variable(names[i]);
        if (value[0] != '\0')
            return strstr(value, "UTF-8") != NULL || strstr(value, "utf8") != NULL ||
                   strstr(value, "utf-8") != NULL || strstr(value, "UTF8") != NULL;
    }
    return false;
}

/* What the terminal itself says goes before the variables, which may be those of another one. */
static void find_size(int file, plot_terminal *terminal) {
    struct winsize size;
    int columns = atoi(variable("COLUMNS")), rows = atoi(variable("LINES"));
    if (ioctl(file, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) {
        columns = size.ws_col;
        rows = size.ws_row;
    }
    terminal->columns = columns >= 20 ? columns : 80;
    terminal->rows = rows > 1 ? rows : 1;
}

static ChafaTermInfo *detect_info(void) {
    char **environment = g_get_environ();
    ChafaTermInfo *info = chafa_term_db_detect(chafa_term_db_get_default(), environment);
    g_strfreev(environment);
    return info;
}

static ChafaPixelMode best_mode(const ChafaTermInfo *info) {
    if (chafa_term_info_have_seq(info, CHAFA_TERM_SEQ_BEGIN_KITTY_IMMEDIATE_IMAGE_V1))
        return CHAFA_PIXEL_MODE_KITTY;
    if (chafa_term_info_have_seq(info, CHAFA_TERM_SEQ_BEGIN_ITERM2_IMAGE))
        return CHAFA_PIXEL_MODE_ITERM2;
    if (chafa_term_info_have_seq(info, CHAFA_TERM_SEQ_BEGIN_SIXELS))
        return CHAFA_PIXEL_MODE_SIXELS;
    return CHAFA_PIXEL_MODE_SYMBOLS;
}

/* Terminals of one colour, as the terminfo database has them (tput -T NAME colors): the vt series
 * before vt525, and names that end in -m or -mono. */
static bool is_of_one_colour(const char *term) {
    const size_t length = strlen(term);
    const char *mono = length >= 5 ? term + length - 5 : "",
               *m = length >= 2 ? term + length - 2 : "";
    const bool vt = strncmp(term, "vt", 2) == 0 && term[2] >= '0' && term[2] <= '9';
    return (vt && strncmp(term, "vt525", 5) != 0) || strcmp(mono, "-mono") == 0 ||
           strcmp(m, "-m") == 0;
}

plot_terminal plot_terminal_detect(int file) {
    const char *term = variable("TERM"), *colours = variable("COLORTERM");
    bool dumb = term[0] == '\0' || strcmp(term, "dumb") == 0;
    plot_terminal terminal = {.utf8 = locale_is_utf8()};
    find_size(file, &terminal);
    if (dumb || is_of_one_colour(term) || variable("NO_COLOR")[0] != '\0')
        return terminal;
    terminal.colours = strcmp(colours, "truecolor") == 0 || strcmp(colours, "24bit") == 0
                           ? PLOT_ALL_COLOURS
                           : PLOT_256_COLOURS;
    ChafaTermInfo *info = detect_info();
    terminal.pixels = best_mode(info) != CHAFA_PIXEL_MODE_SYMBOLS;
    chafa_term_info_unref(info);
    return terminal;
}

plot_terminal plot_terminal_plain(int columns) {
    return (plot_terminal){.columns = columns, .rows = 1, .utf8 = true};
}

/* ---- patterns ---- */

static ChafaSymbolMap *choose_symbols(const plot_terminal *terminal) {
    ChafaSymbolMap *symbols = chafa_symbol_map_new();
    ChafaSymbolTags tags = CHAFA_SYMBOL_TAG_SPACE;
    if (!terminal->utf8)
        tags |= CHAFA_SYMBOL_TAG_ASCII;
    else
        tags |= CHAFA_SYMBOL_TAG_BLOCK;
    chafa_symbol_map_add_by_tags(symbols, tags);
    return symbols;
}

static ChafaCanvas *make_canvas(const plot_terminal *terminal, int width, int height,
                                ChafaPixelMode mode) {
    ChafaCanvasConfig *config = chafa_canvas_config_new();
    ChafaSymbolMap *symbols = choose_symbols(terminal);
    bool plain = terminal->colours == PLOT_NO_COLOURS;
    chafa_canvas_config_set_geometry(config, width, height);
    chafa_canvas_config_set_cell_geometry(config, CELL_WIDTH, CELL_HEIGHT);
    chafa_canvas_config_set_canvas_mode(config, plain ? CHAFA_CANVAS_MODE_FGBG
                                                      : CHAFA_CANVAS_MODE_TRUECOLOR);
    chafa_canvas_config_set_pixel_mode(config, mode);
    chafa_canvas_config_set_symbol_map(config, symbols);
    chafa_canvas_config_set_fg_color(config, 0x000000);
    chafa_canvas_config_set_bg_color(config, 0xffffff);
    chafa_canvas_config_set_preprocessing_enabled(config, FALSE);
    ChafaCanvas *canvas = chafa_canvas_new(config);
    chafa_symbol_map_unref(symbols);
    chafa_canvas_config_unref(config);
    return canvas;
}

static shot_status draw_canvas(const plot_scene *scene, ChafaCanvas *canvas, int width, int height,
                               bool with_words, unsigned char **out) {
    unsigned char *pixels;
    *out = NULL;
    SHOT_TRY(plot_paint_pixels(scene, width, height, with_words, &pixels));
    chafa_canvas_draw_all_pixels(canvas, CHAFA_PIXEL_BGRA8_PREMULTIPLIED, pixels, width, height,
                                 4 * width);
    *out = pixels;
    return SHOT_OK;
}

/* ---- the grid of characters ---- */

typedef struct cell {
    uint32_t character; /* 0 for the second half of a wide one */
    int ink, paper;     /* 0xRRGGBB, -1 for the terminal's own */
} cell;

typedef struct grid {
    int width, height;
    cell *cells; /* [height * width] */
} grid;

/* How much of a part of the page is ink, by one of its colours, from 0 to 1; its least and most. */
static double darkness(const unsigned char *pixels, size_t stride, int x, int y, int width,
                       int height, double *least, double *most) {
    double sum = 0;
    *least = 1;
    *most = 0;
    for (int row = y; row < y + height; row++)
        for (int i = x; i < x + width; i++) {
            double dark = 1 - pixels[4 * ((size_t)row * stride + (size_t)i)] / 255.0;
            *least = fmin(*least, dark);
            *most = fmax(*most, dark);
            sum += dark;
        }
    return sum / (width * height);
}

/* Without colours: an even tint is a shade, and anything else Braille dots, two by four a cell,
 * where a third of a dot's part of the page or more is ink. */
static uint32_t pattern_of(const unsigned char *pixels, const grid *self, int x, int y) {
    static const unsigned char dots[4][2] = {
        {0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}};
    size_t stride = (size_t)self->width * CELL_WIDTH;
    double least, most;
    int left = x * CELL_WIDTH, top = y * CELL_HEIGHT;
    double dark = darkness(pixels, stride, left, top, CELL_WIDTH, CELL_HEIGHT, &least, &most);
    if (most - least < 0.02)
        return dark < 0.15 ? ' ' : dark < 0.35 ? 0x2591 : dark < 0.7 ? 0x2592 : 0x2588;
    uint32_t pattern = 0x2800;
    for (int row = 0; row < 4; row++)
        for (int i = 0; i < 2; i++)
            if (darkness(pixels, stride, left + i * CELL_WIDTH / 2, top + row * CELL_HEIGHT / 4,
                         CELL_WIDTH / 2, CELL_HEIGHT / 4, &least, &most) > 0.33)
                pattern |= dots[row][i];
    return pattern;
}

static void take_patterns(grid *self, ChafaCanvas *canvas, const plot_terminal *terminal,
                          const unsigned char *pixels) {
    for (int y = 0; y < self->height; y++)
        for (int x = 0; x < self->width; x++) {
            cell *one = &self->cells[y * self->width + x];
            one->ink = one->paper = -1;
            one->character = terminal->colours == PLOT_NO_COLOURS && terminal->utf8
                                 ? pattern_of(pixels, self, x, y)
                                 : chafa_canvas_get_char_at(canvas, x, y);
            if (terminal->colours != PLOT_NO_COLOURS)
                chafa_canvas_get_colors_at(canvas, x, y, &one->ink, &one->paper);
            if (one->character == 0 || one->character == 0x2800) /* no dots at all */
                one->character = ' ';
        }
}

static void put(grid *self, int x, int y, uint32_t character, int ink) {
    if (x < 0 || x >= self->width || y < 0 || y >= self->height)
        return;
    cell *one = &self->cells[y * self->width + x];
    one->character = character;
    one->ink = ink;
}

static void put_words(grid *self, const plot_scene *scene, const plot_shape *shape) {
    int length = (int)plot_glyphs_cells(shape->words);
    double part = shape->font.anchor == PLOT_START ? 0 : shape->font.anchor == PLOT_END ? 1 : 0.5;
    int x = (int)floor(shape->x / CELL_WIDTH - part * length + 0.5);
    int y = (int)floor((shape->y - 0.36 * shape->font.size) / CELL_HEIGHT);
    int ink = (int)plot_ink_colour(scene->theme, shape->font.ink);
    for (const char *next = shape->words; *next != '\0';) {
        uint32_t c = plot_glyphs_next(&next);
        int cells = plot_glyphs_cells_of(c);
        if (cells == 0 || x + cells > self->width) /* marks over letters are left out */
            continue;
        put(self, x, y, c, ink);
        if (cells == 2)
            put(self, x + 1, y, 0, ink);
        x += cells;
    }
}

/* ---- bytes ---- */

static int to_palette(int colour) {
    int part[3];
    for (int i = 0; i < 3; i++)
        part[i] = ((colour >> (16 - 8 * i) & 255) * 5 + 127) / 255;
    return 16 + 36 * part[0] + 6 * part[1] + part[2];
}

static shot_status add_colour(shot_text *out, const plot_terminal *terminal, int what, int colour) {
    if (colour < 0)
        return shot_text_add_format(out, "\x1b[%dm", what + 1); /* 39, 49: the terminal's own */
    if (terminal->colours == PLOT_256_COLOURS)
        return shot_text_add_format(out, "\x1b[%d;5;%dm", what, to_palette(colour));
    return shot_text_add_format(out, "\x1b[%d;2;%d;%d;%dm", what, colour >> 16, colour >> 8 & 255,
                                colour & 255);
}

static shot_status add_row(const grid *self, const plot_terminal *terminal, int y, shot_text *out) {
    const cell *row = self->cells + (size_t)y * (size_t)self->width;
    bool plain = terminal->colours == PLOT_NO_COLOURS;
    int end = self->width, ink = -2, paper = -2;
    while (plain && end > 0 && row[end - 1].character == ' ')
        end--;
    for (int x = 0; x < end; x++) {
        uint32_t c = row[x].character;
        if (c == 0)
            continue;
        if (!plain && row[x].paper != paper)
            SHOT_TRY(add_colour(out, terminal, 48, paper = row[x].paper));
        if (!plain && row[x].ink != ink && c != ' ')
            SHOT_TRY(add_colour(out, terminal, 38, ink = row[x].ink));
        SHOT_TRY(plot_glyphs_add(out, terminal->utf8 || c < 0x7f ? c : '?'));
    }
    return shot_text_add(out, plain ? "\n" : "\x1b[0m\n");
}

static shot_status write_cells(const plot_scene *scene, const plot_terminal *terminal,
                               shot_text *out) {
    grid self = {.width = (int)(scene->width / CELL_WIDTH),
                 .height = (int)ceil(scene->height / CELL_HEIGHT)};
    self.cells = calloc((size_t)self.width * (size_t)self.height + 1, sizeof *self.cells);
    if (self.cells == NULL)
        return SHOT_ERR_MEMORY;
    ChafaCanvas *canvas = make_canvas(terminal, self.width, self.height, CHAFA_PIXEL_MODE_SYMBOLS);
    unsigned char *pixels;
    shot_status status = draw_canvas(scene, canvas, self.width * CELL_WIDTH,
                                     self.height * CELL_HEIGHT, false, &pixels);
    if (status == SHOT_OK)
        take_patterns(&self, canvas, terminal, pixels);
    free(pixels);
    for (size_t i = 0; i < scene->count && status == SHOT_OK; i++)
        if (scene->shapes[i].kind == PLOT_WORDS)
            put_words(&self, scene, &scene->shapes[i]);
    for (int y = 0; y < self.height && status == SHOT_OK; y++)
        status = add_row(&self, terminal, y, out);
    chafa_canvas_unref(canvas);
    free(self.cells);
    return status;
}

/* ---- the picture itself ---- */

static shot_status write_pixels(const plot_scene *scene, const plot_terminal *terminal,
                                shot_text *out) {
    int height = (int)ceil(scene->height / CELL_HEIGHT);
    ChafaTermInfo *info = detect_info();
    ChafaCanvas *canvas =
        make_canvas(terminal, (int)(scene->width / CELL_WIDTH), height, best_mode(info));
    unsigned char *pixels;
    shot_status status =
        draw_canvas(scene, canvas, (int)scene->width, height * CELL_HEIGHT, true, &pixels);
    free(pixels);
    if (status == SHOT_OK) {
        GString *bytes = chafa_canvas_print(canvas, info);
        status = shot_text_add_bytes(out, bytes->str, bytes->len);
        if (status == SHOT_OK)
            status = shot_text_add(out, "\n");
        g_string_free(bytes, TRUE);
    }
    chafa_canvas_unref(canvas);
    chafa_term_info_unref(info);
    return status;
}

shot_status plot_terminal_write(const plot_scene *scene, const plot_terminal *terminal,
                                shot_text *out) {
    SHOT_TRY(scene->status);
    return terminal->pixels ? write_pixels(scene, terminal, out)
                            : write_cells(scene, terminal, out);
}
