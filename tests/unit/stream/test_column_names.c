/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: titles of columns in the usual spellings mean the right channel and unit, and nothing
 * is read into the others. */
#include <support/check.h>

#include <string.h>

#include "stream/column_names.h"

static void assert_title(const char *text, const char *channel, const char *unit,
                         const char *name) {
    shot_title title = {0};
    assert_int_equal(shot_title_read(text, strlen(text), &title), SHOT_OK);
    const char *kind = title.kind != NULL ? title.kind->name : "";
    if (strcmp(kind, channel) != 0 || strcmp(title.unit.bytes, unit) != 0 ||
        strcmp(title.name.bytes, name) != 0)
        fail_msg("'%s' is '%s' in '%s', named '%s'", text, kind, title.unit.bytes,
                 title.name.bytes);
    shot_title_free(&title);
}

static const struct {
    const char *text, *channel, *unit, *name;
} titles[] = {
    {"time", "time", "", "time"},
    {"time [s]", "time", "s", "time"},
    {"Elapsed Time (ms)", "time", "ms", "Elapsed Time"},
    {"elapsedTime", "time", "", "elapsedTime"},
    {"t_ms", "time", "ms", "t"},
    {"seconds", "time", "s", "seconds"},
    {"Millis", "time", "ms", "Millis"},
    {"Zeit [min]", "time", "min", "Zeit"},
    {"Datum/Zeit", "time", "", "Datum/Zeit"},
    {"tiempo (s)", "time", "s", "tiempo"},
    {"caudal (ml/s)", "flow", "ml/s", "caudal"},
    {"press\xc3\xa3o (bar)", "pressure", "bar", "press\xc3\xa3o"},
    {"tijd (s)", "time", "s", "tijd"},
    {"\xe6\x99\x82\xe9\x96\x93 (s)", "time", "s", "\xe6\x99\x82\xe9\x96\x93"},
    {"\xe5\x9c\xa7\xe5\x8a\x9b (bar)", "pressure", "bar", "\xe5\x9c\xa7\xe5\x8a\x9b"},
    {"\xe9\x87\x8d\xe9\x87\x8f (g)", "weight", "g", "\xe9\x87\x8d\xe9\x87\x8f"},
    {"pressure.group", "pressure", "", "pressure.group"},
    {"flow.pump [ml/s]", "flow", "ml/s", "flow.pump"},
    {"temperature.boiler", "", "", "temperature.boiler"},
    {"Pressure [bar]", "pressure", "bar", "Pressure"},
    {"Pump Pressure (PSI)", "pressure", "psi", "Pump Pressure"},
    {"p/kPa", "pressure", "kPa", "p"},
    {"pressure_bar", "pressure", "bar", "pressure"},
    {"pressure, kgf/cm\xc2\xb2", "pressure", "kgf/cm2", "pressure"},
    {"Druck BAR", "pressure", "bar", "Druck"},
    {"Manom\xc3\xa8tre (bar)", "pressure", "bar", "Manom\xc3\xa8tre"},
    {"flow [ml s-1]", "flow", "ml/s", "flow"},
    {"flow [ml.s^-1]", "flow", "ml/s", "flow"},
    {"flow (mL\xc2\xb7s\xe2\x81\xbb\xc2\xb9)", "flow", "ml/s", "flow"},
    {"outflow / g\xc2\xa0s\xe2\x88\x92\x31", "outflow", "g/s", "outflow"},
    {"pressure [lb/in\xc2\xb2]", "pressure", "psi", "pressure"},
    {"temperature [\xc2\xba"
     "C]",
     "temperature", "degC", "temperature"},
    {"gauge pressure [psi]", "pressure", "psi", "gauge pressure"},
    {"pressure [MPa]", "pressure", "MPa", "pressure"},
    {"needle bar", "pressure", "bar", "needle"},
    {"P group [psi]", "pressure", "psi", "P group"},
    {"pression\xc2\xa0(bar)", "pressure", "bar", "pression"},
    {"poids\xe2\x80\xaf[g]", "weight", "g", "poids"},
    {"Br\xc3\xbchtemperatur (\xc2\xb0"
     "C)",
     "temperature", "degC", "Br\xc3\xbchtemperatur"},
    /* Nothing but a unit. */
    {"bar", "pressure", "bar", "bar"},
    {"g", "weight", "g", "g"},
    {"ml/s", "flow", "ml/s", "ml/s"},
    {"mlps", "flow", "ml/s", "mlps"},
    {"C", "", "", "C"},
    {"flow_ml/s", "flow", "ml/s", "flow"},
    {"flow_ml_s", "flow", "ml/s", "flow"},
    {"flow_mlps", "flow", "ml/s", "flow"},
    {"flow_mlpm", "flow", "ml/min", "flow"},
    {"outflow_gps", "outflow", "g/s", "outflow"},
    {"Flow Rate (mL/sec)", "flow", "ml/s", "Flow Rate"},
    {"flow (cc/min)", "flow", "ml/min", "flow"},
    {"weight flow (g/s)", "outflow", "g/s", "weight flow"},
    {"weight_g", "weight", "g", "weight"},
    {"Scale Weight (grams)", "weight", "g", "Scale Weight"},
    {"Mass [oz]", "weight", "oz", "Mass"},
    {"temp_c", "temperature", "degC", "temp"},
    {"T [\xc2\xb0"
     "C]",
     "temperature", "degC", "T"},
    {"t", "time", "", "t"},
    {"T", "temperature", "", "T"},
    {"Basket Temp (\xc2\xb0 F)", "temperature", "degF", "Basket Temp"},
    {"water [fl. oz]", "water", "fl oz", "water"},
    {"Target Pressure", "wanted.pressure", "", "Target Pressure"},
    {"flow goal (ml/s)", "wanted.flow", "ml/s", "flow goal"},
    /* Units that do not belong to the name are no units of it, unless brackets say so. */
    {"flow_s", "", "", "flow_s"},
    {"pressure_2", "", "", "pressure_2"},
    {"pressure [g]", "pressure", "g", "pressure"},
    {"time (hh:mm:ss)", "time", "hh:mm:ss", "time"},
    /* Absolute pressure is no unit of a trace, and is not lost as part of a name. */
    {"pressure (psia)", "pressure", "psia", "pressure"},
    {"Druck (kPa abs)", "pressure", "kPa abs", "Druck"},
    {"pressure_bara", "pressure", "bara", "pressure"},
    {"pressure (panda)", "", "", "pressure (panda)"},
    {"flow_psia", "", "", "flow_psia"},
    {"boiler pressure (bar)", "", "bar", "boiler pressure"},
    /* A slash between blanks does too, where the name means nothing that it would not fit. */
    {"Brew P / bar", "", "bar", "Brew P"},
    {"Druck / bar", "pressure", "bar", "Druck"},
    {"weight / s", "", "", "weight / s"},
    {"on / off", "", "", "on / off"},
    {"temperature (basket)", "temperature", "", "temperature (basket)"},
    {"voltage [V]", "", "V", "voltage"},
    {"[bar]", "", "", "[bar]"},
    {"()", "", "", "()"},
    {"", "", "", ""},
    {"p1", "", "", "p1"},
};

static void titles_mean_channels(void **state) {
    for (size_t i = 0; i < sizeof titles / sizeof *titles; i++)
        assert_title(titles[i].text, titles[i].channel, titles[i].unit, titles[i].name);
}

/* Of two titles that mean one channel the plainer one wins. */
static void plainer_names_rank_first(void **state) {
    static const char *const order[] = {"pressure", "p", "group pressure", "pump pressure"};
    int last = -1;
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        shot_title title = {0};
        assert_int_equal(shot_title_read(order[i], strlen(order[i]), &title), SHOT_OK);
        assert_true(title.rank > last);
        last = title.rank;
        shot_title_free(&title);
    }
}

static void units_are_recognised_with_and_without_brackets(void **state) {
    static const char *const units[] = {"bar",
                                        "[bar]",
                                        "(ml/s)",
                                        " s ",
                                        "-",
                                        "",
                                        "\xc2\xb0"
                                        "C",
                                        "%"};
    static const char *const others[] = {"time", "1", "pressure", "[time]", "soak"};
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        assert_true(shot_title_is_unit(units[i], strlen(units[i])));
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        assert_false(shot_title_is_unit(others[i], strlen(others[i])));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(titles_mean_channels),
        cmocka_unit_test(plainer_names_rank_first),
        cmocka_unit_test(units_are_recognised_with_and_without_brackets),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
