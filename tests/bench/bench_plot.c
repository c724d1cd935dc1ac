/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the bytes of a trace to the bytes of a picture: a minute at 100 Hz to SVG, an hour at 100 Hz
 * to PNG, four channels each. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include <shottrace/stream/reader.h>

#include "plot/intake.h"
#include "plot/paint.h"
#include "plot/panels.h"
#include "plot/svg.h"

enum { RATE = 100, REPEATS = 5 };

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

static void must(shot_status status, const char *what) {
    if (status == SHOT_OK)
        return;
    printf("%s: %s\n", what, shot_status_text(status));
    exit(1);
}

static void make_log(size_t seconds, shot_text *log) {
    must(shot_text_add(log, "time,pressure,flow,weight,temperature\n"), "log");
    for (size_t i = 0; i < seconds * RATE; i++) {
        double t = (double)i / RATE;
        must(shot_text_add_format(log, "%.2f,%.3f,%.3f,%.1f,%.2f\n", t, 9 + 0.1 * sin(70 * t),
                                  2 + 0.1 * sin(31 * t), t / 10, 92 + sin(t / 3)),
             "log");
    }
}

/* Milliseconds for the whole way. */
static double draw(const shot_text *log, bool png) {
    double start = now();
    shot_table_collector collector;
    shot_reader_settings settings = {0};
    shot_source *reader;
    shot_table_collector_init(&collector);
    must(shot_reader_new(&settings, &collector.sink, &reader, NULL), "reader");
    must(reader->calls->push(reader, log->bytes, log->length, NULL), "reading");
    must(reader->calls->finish(reader, NULL), "reading");
    reader->calls->free(reader);
    double scale = png ? 2 : 1;
    plot_look look = {.width = 960, .pixel = 1 / scale, .type = plot_type_page};
    plot_scene scene = {0};
    const shot_texts all = {0};
    must(plot_panels_draw(collector.shots.items[0], NULL, &all, &look, &scene, NULL), "drawing");
    shot_text out = {0};
    must(png ? plot_paint_png(&scene, scale, &out) : plot_svg_write(&scene, &out), "writing");
    shot_text_free(&out);
    plot_scene_free(&scene);
    shot_table_collector_free(&collector);
    return now() - start;
}

static void measure(const char *what, size_t seconds, bool png, double wanted) {
    shot_text log = {0};
    double best = INFINITY;
    make_log(seconds, &log);
    for (int i = 0; i < REPEATS; i++)
        best = fmin(best, draw(&log, png));
    printf("%-34s %8.1f ms (wanted: under %g)\n", what, best, wanted);
    shot_text_free(&log);
}

int main(void) {
    measure("a minute at 100 Hz to SVG", 60, false, 100);
    measure("an hour at 100 Hz to PNG", 3600, true, 1000);
    return 0;
}
