/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/scene.h>

#include "plot/panels.h"
#include "plot/pictures.h"
#include "plot/terminal.h"

static void draw(const char *log, const plot_terminal *terminal, shot_text *out) {
    shot_table_collector collector;
    plot_scene scene = {0};
    plot_look look = {.width = terminal->columns * 8.0, .pixel = 1, .type = plot_type_cells};
    look.theme = terminal->colours == PLOT_NO_COLOURS ? PLOT_MONO : PLOT_DARK;
    const shot_texts all = {0};
    scene_shots(log, &collector);
    assert_int_equal(plot_panels_draw(collector.shots.items[0], NULL, &all, &look, &scene, NULL),
                     SHOT_OK);
    assert_int_equal(plot_terminal_write(&scene, terminal, out), SHOT_OK);
    plot_scene_free(&scene);
    shot_table_collector_free(&collector);
}

static const char log_of_test[] =
    "# shot: \xe6\x97\xa5\xe6\x9c\xac quay\ntime,pressure\n0,0\n1,9\n2,9\n3,9\n4,9\n5,0\n"
    "# mark: brew from=1 to=4\n# mark: surge from=2 to=3 value=20 unit=%\n";

/* Protects: no line of plain text is wider than the terminal, and there are neither colours nor
 * other control characters. */
static void plain_text_fits(void **state) {
    static const int columns[] = {20, 40, 80, 200};
    for (size_t i = 0; i < 4; i++) {
        plot_terminal terminal = plot_terminal_plain(columns[i]);
        shot_text out = {0};
        draw(log_of_test, &terminal, &out);
        for (char *line = strtok(out.bytes, "\n"); line != NULL; line = strtok(NULL, "\n")) {
            assert_true(plot_glyphs_cells(line) <= (size_t)columns[i]);
            for (const char *c = line; *c != '\0'; c++)
                assert_true((unsigned char)*c >= 0x20);
        }
        shot_text_free(&out);
    }
}

/* How many lines the picture of that many shots of three channels has on a screen of so many; 0: of
 * any. */
static double lines_on_screen(size_t shots, double screen) {
    static const char logs[] =
        "time,pressure,flow,weight\n0,0,0,0\n1,9,2,1\n2,9,2,3\n3,9,2,5\n4,9,2,7\n"
        "# mark: brew from=1 to=4\n# mark: surge from=2 to=3\n"
        "time,pressure,flow,weight\n0,0,0,0\n1,9,2,1\n2,9,2,3\n3,9,2,5\n4,9,2,7\n";
    shot_table_collector collector;
    plot_scene scene = {0};
    const plot_look look = {
        .width = 640, .height = 16 * screen, .pixel = 1, .type = plot_type_cells};
    const shot_texts all = {0};
    scene_shots(logs, &collector);
    assert_int_equal(
        shots == 1 ? plot_panels_draw(collector.shots.items[0], NULL, &all, &look, &scene, NULL)
                   : plot_overlay_draw(&collector.shots, &all, &look, &scene, NULL),
        SHOT_OK);
    const double lines = scene.height / 16;
    plot_scene_free(&scene);
    shot_table_collector_free(&collector);
    return lines;
}

/* Protects: the findings, at the top of the picture, do not scroll away while there is another way;
 * where there is none the curves can still be read. */
static void a_picture_fits_the_screen(void **state) {
    for (size_t shots = 1; shots <= 2; shots++) {
        const double full = lines_on_screen(shots, 0);
        assert_true(full > 23);
        assert_true(lines_on_screen(shots, 23) <= 23);
        assert_true(lines_on_screen(shots, 60) == full);
        assert_true(lines_on_screen(shots, 5) >= 3 * 3);
    }
}

/* Protects: words are words: name, channel, unit, phases and findings can be read. */
static void words_stay_words(void **state) {
    static const char *const words[] = {
        "\xe6\x97\xa5\xe6\x9c\xac quay", "pressure bar", "brew", "surges", "20 %", "time s"};
    plot_terminal terminal = plot_terminal_plain(80);
    shot_text out = {0};
    draw(log_of_test, &terminal, &out);
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        assert_non_null(strstr(out.bytes, words[i]));
    assert_non_null(strstr(out.bytes, "\xe2\x96\x92")); /* a shade: the span of the brew */
    shot_text_free(&out);
}

/* Protects: where the locale knows ASCII alone nothing else is written. */
static void ascii_is_ascii(void **state) {
    plot_terminal terminal = {.columns = 80};
    shot_text out = {0};
    draw(log_of_test, &terminal, &out);
    for (size_t i = 0; i < out.length; i++)
        assert_true((unsigned char)out.bytes[i] < 0x80);
    assert_non_null(strstr(out.bytes, "?? quay"));
    shot_text_free(&out);
}

/* Protects: colours come as the terminal takes them, and are ended on every line. */
static void colours_are_ended(void **state) {
    for (int colours = PLOT_256_COLOURS; colours <= PLOT_ALL_COLOURS; colours++) {
        plot_terminal terminal = {.columns = 80, .utf8 = true, .colours = (plot_colours)colours};
        shot_text out = {0};
        draw(log_of_test, &terminal, &out);
        assert_non_null(
            strstr(out.bytes, colours == PLOT_256_COLOURS ? "\x1b[48;5;" : "\x1b[48;2;"));
        for (char *line = strtok(out.bytes, "\n"); line != NULL; line = strtok(NULL, "\n"))
            assert_string_equal(line + strlen(line) - 4, "\x1b[0m");
        shot_text_free(&out);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plain_text_fits),   cmocka_unit_test(a_picture_fits_the_screen),
        cmocka_unit_test(words_stay_words),  cmocka_unit_test(ascii_is_ascii),
        cmocka_unit_test(colours_are_ended),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
