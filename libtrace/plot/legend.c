/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A picture is looked at away from its page of documentation: its signs are told below it. */
#include "plot/legend.h"

#include <math.h>
#include <string.h>

static const struct {
    const char *kind, *sign;
} signs[] = {
    {"pulse", "behind a pulse: lowest pressure after it"},
    {"first-drip", "dotted: first drop"},
    {"surge", "tinted: surge, with the resistance lost"},
    {"knee", "rings: knees, where the slope breaks"},
};

static bool is_drawn(const shot_mark_list *marks, const char *kind) {
    for (size_t i = 0; i < marks->count; i++)
        if (strcmp(marks->marks[i].kind, kind) == 0 && isfinite(marks->marks[i].from))
            return true;
    return false;
}

/* The phases by name and in their order, since a short one has no room for its own. */
static const struct {
    const char *kind, *name;
} phases[] = {{"fill", "fill"},
              {"soak", "soak"},
              {"ramp", "ramp (main rise)"},
              {"brew", "brew"},
              {"release", "release"}};

static shot_status add_phases(const shot_mark_list *marks, shot_text *out) {
    const char *before = "phases: ";
    for (size_t i = 0; i < sizeof phases / sizeof *phases; i++) {
        if (!is_drawn(marks, phases[i].kind))
            continue;
        SHOT_TRY(shot_text_add_format(out, "%s%s", before, phases[i].name));
        before = ", ";
    }
    return SHOT_OK;
}

static bool has_interval(const shot_mark_list *marks) {
    for (size_t i = 0; i < marks->count; i++)
        if (isfinite(marks->marks[i].from_low))
            return true;
    return false;
}

static shot_status add_sign(shot_text *out, size_t start, const char *sign) {
    return shot_text_add_format(out, "%s%s", out->length > start ? " \xc2\xb7 " : "", sign);
}

shot_status plot_legend_write(const shot_mark_list *marks, bool figures, shot_text *out) {
    const size_t start = out->length;
    SHOT_TRY(add_phases(marks, out));
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        if (!is_drawn(marks, signs[i].kind))
            continue;
        SHOT_TRY(add_sign(out, start, signs[i].sign));
        if (!figures && strcmp(signs[i].kind, "pulse") == 0)
            SHOT_TRY(shot_text_add(out, ", where it has room"));
    }
    return has_interval(marks) ? add_sign(out, start, "thin lines: intervals of the estimates")
                               : SHOT_OK;
}
