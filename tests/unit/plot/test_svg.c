/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/scene.h>
#include <support/text_count.h>

#include "plot/paint.h"
#include "plot/panels.h"
#include "plot/svg.h"

static void draw(const char *log, plot_scene *scene) {
    shot_table_collector collector;
    plot_look look = scene_look();
    shot_error error = {0};
    shot_texts all = {0};
    *scene = (plot_scene){0};
    scene_shots(log, &collector);
    assert_int_equal(plot_panels_draw(collector.shots.items[0], NULL, &all, &look, scene, &error),
                     SHOT_OK);
    shot_table_collector_free(&collector);
}

/* Protects: names, notes and metadata from a log cannot become markup. */
static void hostile_names_stay_text(void **state) {
    plot_scene scene;
    shot_text svg = {0};
    draw("# shot: <script>alert(1)</script>\"'&]]>\n# grind: <svg onload=alert(2)>\n"
         "# history: x --><!-- <foreignObject>\n"
         "time,a<b>&\"' onload=alert(3)\n0,1\n1,2\n"
         "# mark: <script> from=0 note=\"<script>alert(4)</script>\"\n"
         "# mark: note from=0 note=\"</text><script>alert(5)</script>\"\n"
         "# end: rows=2\n# close: shots=1\n",
         &scene);
    assert_int_equal(plot_svg_write(&scene, &svg), SHOT_OK);
    assert_int_equal(count_of(svg.bytes, "<script"), 0);
    assert_int_equal(count_of(svg.bytes, "<svg"), 1);
    assert_int_equal(count_of(svg.bytes, "<!--"), 0);
    assert_int_equal(count_of(svg.bytes, "<foreignObject"), 0);
    assert_true(
        count_of(svg.bytes, "&lt;script&gt;alert(1)&lt;/script&gt;&quot;&#39;&amp;]]&gt;") >= 1);
    assert_int_equal(count_of(svg.bytes, "<g "), count_of(svg.bytes, "</g>"));
    shot_text_free(&svg);
    plot_scene_free(&scene);
}

/* Protects: what a reader of the screen is told, and that text stays text. */
static void text_stays_text(void **state) {
    plot_scene scene;
    shot_text svg = {0};
    draw("# shot: quay-017\ntime,pressure\n0,1\n1,2\n", &scene);
    assert_int_equal(plot_svg_write(&scene, &svg), SHOT_OK);
    assert_non_null(strstr(svg.bytes, "<title id=\"plot-title\">quay-017</title>"));
    assert_non_null(strstr(svg.bytes, "pressure from 1 to 2 bar."));
    assert_non_null(strstr(svg.bytes, ">pressure</text>"));
    assert_non_null(strstr(svg.bytes, "role=\"img\""));
    shot_text_free(&svg);
    plot_scene_free(&scene);
}

/* Protects: lengths are written to a hundredth, with no dust and no minus nought. */
static void lengths_are_short(void **state) {
    plot_scene scene = {.width = 10, .height = 10};
    shot_text svg = {0};
    const double xy[] = {0.1 + 0.2, -0.001, 1.5, -2.25, 3, 1234.567};
    plot_scene_path(&scene, (plot_pen){PLOT_LINE, 1, PLOT_SOLID}, xy, 3);
    assert_int_equal(plot_svg_write(&scene, &svg), SHOT_OK);
    assert_non_null(strstr(svg.bytes, "points=\"0.3,0 1.5,-2.25 3,1234.57\""));
    shot_text_free(&svg);
    plot_scene_free(&scene);
}

static unsigned pixel_of(const unsigned char *pixels, int width, double x, double y) {
    const unsigned char *at = pixels + 4 * ((size_t)y * (size_t)width + (size_t)x);
    unsigned colour;
    memcpy(&colour, at, sizeof colour);
    return colour & 0xffffff;
}

/* Protects: the painted picture has the ink of the line where the scene has its corners, paper
 * beside it, and dark paper in the dark theme. */
static void ink_is_where_the_scene_has_it(void **state) {
    plot_scene scene;
    draw("time,pressure\n0,1\n1,9\n2,9\n3,9\n4,1\n", &scene);
    for (int theme = PLOT_LIGHT; theme <= PLOT_DARK; theme++) {
        unsigned char *pixels;
        int width = (int)scene.width, height = (int)scene.height;
        scene.theme = (plot_theme)theme;
        assert_int_equal(plot_paint_pixels(&scene, width, height, true, &pixels), SHOT_OK);
        const plot_shape *line = scene_inside(scene_group(&scene, "line", 0), PLOT_PATH, 0);
        const double *flat = scene.points + line->first + 2; /* from 1 s to 3 s it is level */
        double x = (flat[0] + flat[4]) / 2, y = flat[1];
        unsigned ink = plot_ink_colour((plot_theme)theme, PLOT_LINE);
        bool found = false; /* it covers one whole pixel or shares two */
        for (int d = -1; d <= 1; d++)
            found = found || pixel_of(pixels, width, x, y + d) == ink;
        assert_true(found);
        assert_int_equal(pixel_of(pixels, width, 2, 2),
                         plot_ink_colour((plot_theme)theme, PLOT_PAPER));
        assert_int_equal(pixel_of(pixels, width, x, y + 8),
                         plot_ink_colour((plot_theme)theme, PLOT_PAPER));
        free(pixels);
    }
    plot_scene_free(&scene);
}

/* Protects: the sizes of PNG and PDF, and a refusal where a PNG would be too large. */
static void formats_have_their_size(void **state) {
    plot_scene scene;
    shot_text bytes = {0};
    draw("time,pressure\n0,1\n1,9\n", &scene);
    assert_int_equal(plot_paint_png(&scene, 2, &bytes), SHOT_OK);
    assert_memory_equal(bytes.bytes, "\x89PNG\r\n\x1a\n", 8);
    const unsigned char *head = (const unsigned char *)bytes.bytes + 16; /* IHDR: width, height */
    assert_int_equal(head[2] << 8 | head[3], 2 * (int)scene.width);
    assert_int_equal(head[6] << 8 | head[7], 2 * (int)scene.height);
    shot_text_clear(&bytes);
    assert_int_equal(plot_paint_png(&scene, 100, &bytes), SHOT_ERR_RANGE);
    assert_int_equal(plot_paint_pdf(&scene, &bytes), SHOT_OK);
    assert_memory_equal(bytes.bytes, "%PDF-", 5);
    shot_text_free(&bytes);
    plot_scene_free(&scene);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hostile_names_stay_text), cmocka_unit_test(text_stays_text),
        cmocka_unit_test(lengths_are_short),       cmocka_unit_test(ink_is_where_the_scene_has_it),
        cmocka_unit_test(formats_have_their_size),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
