/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: conversions by NIST Special Publication 811 (Thompson & Taylor 2008, appendix B), and
 * the algebra of units.  Tolerance 1e-14 relative: the values are exact but for the rounding of
 * two products. */
#include <support/check.h>

#include <stdlib.h>

#include <shottrace/trace/quantity.h>
#include <shottrace/trace/unit.h>

static void expect(double value, const char *from, const char *to, double expected) {
    shot_conversion conversion;
    assert_int_equal(shot_unit_convert(from, to, &conversion, NULL), SHOT_OK);
    assert_rel(shot_conversion_apply(&conversion, value), expected, 1e-14);
}

static void pressures(void **state) {
    expect(1, "psi", "Pa", 0.45359237 * 9.80665 / (0.0254 * 0.0254));
    expect(9, "bar", "psi", 9e5 / 6894.757293168361);
    expect(9, "bar", "MPa", 0.9);
    expect(9, "bar", "kPa", 900);
    expect(1, "atm", "Pa", 101325);
    expect(1, "kgf/cm2", "Pa", 98066.5);
    expect(1, "mmHg", "Pa", 133.322387415);
    expect(1, "torr", "Pa", 101325.0 / 760);
    expect(1, "inHg", "Pa", 3386.388640341);
    expect(1, "inH2O", "Pa", 249.08891);
}

static void volumes_and_masses(void **state) {
    expect(1, "fl oz", "ml", 29.5735295625);
    expect(1, "imp fl oz", "ml", 28.4130625);
    expect(1, "oz", "g", 28.349523125);
    expect(1, "lb", "g", 453.59237);
    expect(60, "ml/min", "ml/s", 1);
    expect(1, "l/min", "ml/s", 1000.0 / 60);
}

static void temperatures(void **state) {
    expect(32, "degF", "degC", 0);
    expect(212, "degF", "degC", 100);
    expect(-40, "degF", "degC", -40);
    expect(203, "degF", "degC", 95);
    expect(200, "degF", "K", 366.483333333333333);
    expect(0, "degC", "K", 273.15);
    expect(100, "degC", "degF", 212);
}

static void what_does_not_fit_is_refused_by_name(void **state) {
    shot_conversion conversion;
    shot_error error = {0};
    assert_int_equal(shot_unit_convert("g", "bar", &conversion, &error), SHOT_ERR_UNIT);
    assert_string_equal(error.what, "'g' cannot be converted into 'bar'");
    assert_int_equal(shot_unit_convert("g/s", "ml/s", &conversion, NULL), SHOT_ERR_UNIT);
    assert_int_equal(shot_unit_convert("furlong", "m", &conversion, NULL), SHOT_ERR_UNIT);
    assert_int_equal(shot_unit_convert("oz", "ml", &conversion, NULL), SHOT_ERR_UNIT);
}

static void expect_unit(const char *x, int px, const char *y, int py, const char *expected) {
    char *unit;
    assert_int_equal(shot_unit_combine(x, px, y, py, &unit, NULL), SHOT_OK);
    assert_string_equal(unit, expected);
    free(unit);
}

static void units_are_computed(void **state) {
    expect_unit("g", 1, "s", -1, "g/s");
    expect_unit("g/s", 1, "s", 1, "g");
    expect_unit("bar", 1, "s", -2, "bar/s2");
    expect_unit("bar", 1, "ml/s", -1, "bar.s/ml");
    expect_unit("ml/s", 1, "bar", -1, "ml/s/bar");
    expect_unit("s", 1, "s", -1, "");
    expect_unit("", 1, "s", -1, "1/s");
    expect_unit("furlong", 1, "s", -1, "furlong/s");
    char *unit;
    assert_int_equal(shot_unit_combine("g//s", 1, "s", 1, &unit, NULL), SHOT_ERR_UNIT);
    assert_null(unit);
}

static void quantities_are_read_whole(void **state) {
    double value;
    assert_int_equal(shot_quantity_read(" 18.2 g ", "g", &value), SHOT_OK);
    assert_close(value, 18.2, 0);
    assert_int_equal(shot_quantity_read("300ms", "s", &value), SHOT_OK);
    assert_close(value, 0.3, 0);
    assert_int_equal(shot_quantity_read("20%", "%", &value), SHOT_OK);
    assert_close(value, 20, 0);
    assert_int_equal(shot_quantity_read("18.2 gg", "g", &value), SHOT_ERR_UNIT);
    assert_int_equal(shot_quantity_read("g", "g", &value), SHOT_ERR_SYNTAX);
    assert_int_equal(shot_quantity_read("", "g", &value), SHOT_ERR_SYNTAX);
    assert_true(isnan(value));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pressures),
        cmocka_unit_test(volumes_and_masses),
        cmocka_unit_test(temperatures),
        cmocka_unit_test(what_does_not_fit_is_refused_by_name),
        cmocka_unit_test(units_are_computed),
        cmocka_unit_test(quantities_are_read_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
