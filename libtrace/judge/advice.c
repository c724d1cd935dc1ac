/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to try next, as a page says it: what the rules advise, or that they have nothing to say. */
#include <shottrace/judge/advice.h>

#include "judge/advice_parts.h"

/* A new subject, which could, or could not, be judged. */
static bool begins(const shot_measure_list *measures, const shot_advice_rule *rules, size_t i,
                   bool judged) {
    return rules[i].knows(measures) == judged &&
           (i == 0 || rules[i].subject != rules[i - 1].subject);
}

static shot_status add_judged(const shot_measure_list *measures, shot_text *out) {
    size_t count;
    const shot_advice_rule *rules = shot_advice_rules(&count);
    const char *before = "Nothing stands out in: ";
    for (size_t i = 0; i < count; i++) {
        if (!begins(measures, rules, i, true))
            continue;
        SHOT_TRY(shot_text_add_format(out, "%s%s", before, rules[i].subject));
        before = ", ";
    }
    return SHOT_OK;
}

/* "Could not be judged: flow, pulses (not known); first drop (near a limit, or in doubt)": a figure
 * is missing, or its interval is on no side of what counts. */
static shot_status add_unjudged(const shot_measure_list *measures, bool first, shot_text *out) {
    static const char *const why[] = {" (near a limit, or in doubt)", " (not known)"};
    size_t count;
    const shot_advice_rule *rules = shot_advice_rules(&count);
    const char *before = first ? "Could not be judged: " : ". Could not be judged: ";
    for (int lacks = 1; lacks >= 0; lacks--) {
        bool any = false;
        for (size_t i = 0; i < count; i++) {
            if (!begins(measures, rules, i, false) ||
                advice_lacks_figure(measures, &rules[i]) != lacks)
                continue;
            SHOT_TRY(shot_text_add_format(out, "%s%s", before, rules[i].subject));
            before = ", ";
            any = true;
        }
        if (any) {
            SHOT_TRY(shot_text_add(out, why[lacks]));
            before = "; ";
        }
    }
    return SHOT_OK;
}

/* Silence would leave open whether all is well or nothing was seen. */
static shot_status say_nothing_applies(const shot_measure_list *measures, shot_text *out) {
    size_t begin = out->length;
    SHOT_TRY(add_judged(measures, out));
    bool any = out->length > begin;
    SHOT_TRY(add_unjudged(measures, !any, out));
    return shot_text_add(out, any ? ". Let taste decide.\n" : ".\n");
}

shot_status shot_advice_write(const shot_measure_list *measures, size_t most, shot_text *out) {
    size_t given = 0, count;
    const shot_advice_rule *rules = shot_advice_rules(&count);
    shot_grind grind = SHOT_GRIND_OPEN;
    for (size_t i = 0; i < count && given < most; i++) {
        size_t before = out->length;
        SHOT_TRY(rules[i].advise(measures, &grind, out));
        if (out->length == before)
            continue;
        given++;
        SHOT_TRY(shot_text_add(out, "\n"));
    }
    return given > 0 || most == 0 ? SHOT_OK : say_nothing_applies(measures, out);
}
