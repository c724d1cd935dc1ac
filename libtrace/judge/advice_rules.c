/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rules of what to try next.  The thresholds are common practice, no source; each speaks only
 * where the whole interval of its figure is beyond its threshold, so that it is not moved by noise.
 */
#include <shottrace/judge/advice.h>

#include <math.h>
#include <string.h>

#include "judge/advice_parts.h"
#include "judge/words.h"

static double value_of(const shot_measure_list *list, const char *name) {
    const shot_measure *one = shot_measure_list_find(list, name);
    return one ? one->value : NAN;
}

/* The ends of a measure's interval, or its value where it has none. */
static double least_of(const shot_measure_list *list, const char *name) {
    const shot_measure *one = shot_measure_list_find(list, name);
    return one == NULL ? NAN : isfinite(one->low) ? one->low : one->value;
}

static double most_of(const shot_measure_list *list, const char *name) {
    const shot_measure *one = shot_measure_list_find(list, name);
    return one == NULL ? NAN : isfinite(one->high) ? one->high : one->value;
}

/* "9.2 s", no surer than it is known, as in the lines In short. */
static shot_status say_seconds(const shot_measure_list *list, const char *name, shot_text *out) {
    return shot_words_seconds(out, value_of(list, name), least_of(list, name), most_of(list, name),
                              " ");
}

/* A surge found in the flow alone may be a pressure that was raised: its note says so. */
static bool surges_are_doubtful(const shot_measure_list *list) {
    const shot_measure *loss = shot_measure_list_find(list, "surge.loss");
    return loss != NULL && loss->note != NULL;
}

static bool is_known(const shot_measure_list *list, const char *name) {
    return shot_measure_list_find(list, name) != NULL;
}

/* Under this in the brew hardly anything flows. */
static const double least_flow = 0.5; /* ml/s, g/s; common practice, no source */

/* Over this it runs very fast. */
static const double most_flow = 3.5; /* ml/s, g/s; common practice, no source */

/* So long a puck may soak before its first drop. */
static const double long_soak = 15; /* s; common practice, no source */

/* Water ran, and the scale shows nothing that could be told from nothing. */
static bool came_nowhere(const shot_measure_list *list) {
    return least_of(list, "beverage.mass") <= 0 && least_of(list, "brew.flow") >= least_flow;
}

/* It was over before the puck had to let any through; one that runs fast lacks its cup. */
static bool stopped_soon(const shot_measure_list *list) {
    return came_nowhere(list) && value_of(list, "shot.time") <= long_soak &&
           !(least_of(list, "brew.flow") > most_flow);
}

static bool scale_missed(const shot_measure_list *list) {
    return came_nowhere(list) && !stopped_soon(list);
}

/* Flow in the brew: of the beverage, or of the water where no scale took it. */
static const char *flow_name(const shot_measure_list *list) {
    return is_known(list, "brew.outflow") && !scale_missed(list) ? "brew.outflow" : "brew.flow";
}

/* ---- the rules ---- */

/* A log with a gauge that shows no brew, and less pressure than at which a basket counts as full or
 * as let go. */
static bool ran_through(const shot_measure_list *list) {
    const char *moved = is_known(list, "beverage.mass") ? "beverage.mass" : "water.used";
    return value_of(list, "pressure.peak") < 0.5 && !is_known(list, "brew.time") &&
           least_of(list, moved) > 0;
}

/* Coffee keeps its own mass of water, and more stays in the room above it; half of that is no
 * coffee, whatever the gauge before a restrictor shows. */
static const double least_kept = 0.5, small_dose = 14; /* ml/g, g; common practice, no source */

static bool came_at_once(const shot_measure_list *list) {
    const double dose = value_of(list, "dose"), kept = least_kept * (dose > 0 ? dose : small_dose);
    const double lost = most_of(list, "water.used") - least_of(list, "beverage.mass");
    return fabs(lost) < kept && least_of(list, "beverage.mass") > 2 * kept &&
           most_of(list, "first-drip.time") < 2;
}

static shot_status no_puck(const shot_measure_list *list, shot_grind *grind, shot_text *out) {
    if (came_at_once(list))
        return shot_text_add_format(
            out,
            "Of %.0f ml of water all but %.0f came through, from the "
            "start: no coffee in the basket.",
            value_of(list, "water.used"),
            fmax(value_of(list, "water.used") - value_of(list, "beverage.mass"), 0));
    if (!ran_through(list))
        return SHOT_OK;
    return shot_text_add_format(out,
                                "Water ran, and the pressure stayed under 0.5 bar (%.2g at most): "
                                "no coffee in the basket, one that was not closed, or a gauge that "
                                "shows nothing.",
                                fmax(value_of(list, "pressure.peak"), 0));
}

static shot_status no_cup(const shot_measure_list *list, shot_grind *grind, shot_text *out) {
    if (stopped_soon(list)) {
        SHOT_TRY(shot_text_add(out, "It was stopped "));
        SHOT_TRY(say_seconds(list, "shot.time", out));
        return shot_text_add(out, " after the water came, before anything was in the cup: too soon "
                                  "to judge it.");
    }
    if (!scale_missed(list))
        return SHOT_OK;
    return shot_text_add_format(out,
                                "Water went in (%.2g ml/s in the brew), and nothing came onto the "
                                "scale: see whether the cup stood on it.",
                                value_of(list, "brew.flow"));
}

/* What a puck keeps and a basket holds above it, in doses; and of a dose that nobody told. */
static const double most_kept = 4, usual_dose = 18.75; /* ml/g, g; common practice, no source */

static shot_status water_lost(const shot_measure_list *list, shot_grind *grind, shot_text *out) {
    const shot_measure *mass = shot_measure_list_find(list, "beverage.mass");
    const double dose = value_of(list, "dose"), kept = most_kept * (dose > 0 ? dose : usual_dose);
    const double lost = value_of(list, "water.used") - value_of(list, "beverage.mass");
    if (mass == NULL || isnan(mass->high) || scale_missed(list) ||
        !(least_of(list, "water.used") - mass->high > kept))
        return SHOT_OK;
    return shot_text_add_format(out,
                                "Of the water %.0f ml came into no cup, more than a puck keeps: "
                                "see whether the gasket or the rim of the basket leaks, or the "
                                "meter counts too much.",
                                lost);
}

/* The meter tells soon; to the scale alone a puck that still soaks looks the same. */
static bool is_choked(const shot_measure_list *list) {
    const double soon = most_of(list, "brew.flow") < least_flow ? 3 : long_soak; /* s */
    return most_of(list, flow_name(list)) < least_flow && value_of(list, "brew.time") > soon;
}

/* Water had its time under pressure, in pulses perhaps, and neither scale nor meter showed any. */
static bool stayed_dry(const shot_measure_list *list) {
    return value_of(list, "shot.time") > long_soak && least_of(list, "beverage.mass") <= 0 &&
           !is_known(list, "first-drip.time") && !(value_of(list, "brew.flow") >= least_flow);
}

static bool nothing_came(const shot_measure_list *list) {
    return (is_choked(list) || stayed_dry(list)) && least_of(list, flow_name(list)) <= 0;
}

static shot_status choked(const shot_measure_list *list, shot_grind *grind, shot_text *out) {
    const char *flow = flow_name(list);
    if (!is_choked(list) && !nothing_came(list))
        return SHOT_OK;
    *grind = SHOT_GRIND_COARSER;
    if (nothing_came(list))
        return shot_text_add(out, "Nothing came through in the brew: a blind basket, as for "
                                  "cleaning, or a puck that is shut, which wants a coarser grind "
                                  "or a smaller dose.");
    return shot_text_add_format(out,
                                "Hardly anything flowed (%.2g %s in the brew): grind coarser, or "
                                "dose less.",
                                value_of(list, flow), shot_measure_kind_named(flow)->unit);
}

/* Where the channels alone explain the flow they are the cause: at one pressure a puck that lost
 * the share L of its resistance ran at (1 - L) of that flow before. */
static double kept_by_channels(const shot_measure_list *list) {
    const double loss = value_of(list, "surge.loss");
    return isfinite(loss) && !surges_are_doubtful(list) ? 1 - loss / 100 : 1;
}

static shot_status gushing(const shot_measure_list *list, shot_grind *grind, shot_text *out) {
    const char *flow = flow_name(list);
    if (!(least_of(list, flow) * kept_by_channels(list) > most_flow) || came_at_once(list))
        return SHOT_OK;
    *grind = SHOT_GRIND_FINER;
    return shot_text_add_format(out,
                                "It ran very fast (%.2g %s in the brew): grind finer, or dose "
                                "more.",
                                value_of(list, flow), shot_measure_kind_named(flow)->unit);
}

/* ", and lost 22 % (18 to 26) of its resistance". */
static shot_status say_loss(const shot_measure_list *list, shot_text *out) {
    const shot_measure *loss = shot_measure_list_find(list, "surge.loss");
    if (loss == NULL)
        return SHOT_OK;
    SHOT_TRY(shot_text_add_format(out, ", and lost %.0f %%", loss->value));
    if (isfinite(loss->low))
        SHOT_TRY(shot_text_add_format(out, " (%.0f to %.0f)", loss->low, loss->high));
    return shot_text_add(out, " of its resistance");
}

/* A tenth of the shot is some grams of the cup: common practice, no source. */
static bool channelled_late(const shot_measure_list *list) {
    return value_of(list, "surge.first") > 0.9 * value_of(list, "shot.time");
}

static bool channelled_before_brew(const shot_measure_list *list) {
    return value_of(list, "surge.first") < value_of(list, "preinfusion.time");
}

/* While the pressure of the brew falls as it was programmed. */
typedef struct fall {
    double from, to; /* s after the water; 0 from the start on, INFINITY to the end; NaN where it is
                        held or not known */
} fall;

static fall find_fall(const shot_measure_list *list) {
    const shot_measure *slope = shot_measure_list_find(list, "brew.pressure.slope");
    const char *shape = slope != NULL && slope->note != NULL ? slope->note : "";
    const double step = value_of(list, "brew.pressure.step-time");
    const double bend = value_of(list, "brew.pressure.bend-time");
    if (value_of(list, "brew.pressure.step") < 0)
        return (fall){step, step};
    if (strcmp(shape, "held, then falling evenly") == 0)
        return (fall){bend, INFINITY};
    if (strcmp(shape, "falling evenly, then held") == 0)
        return (fall){0, bend};
    if (strcmp(shape, "falling evenly") == 0 || strcmp(shape, "falling slightly") == 0)
        return (fall){0, INFINITY};
    return (fall){NAN, NAN};
}

/* s beside a channel in which the pressure may fall because of it, at a pump that gives no more: a
 * surge takes 2 s, and when a fall began is known to no better. */
static const double at_once = 3;

/* What may be changed of the pressure, as far as the log knows how it ran. */
static shot_status say_fall(const shot_measure_list *list, shot_text *out) {
    const fall known = find_fall(list);
    const double surge = value_of(list, "surge.first");
    if (isnan(known.from))
        return shot_text_add(out, "let the pressure fall from just before that time, or brew at a "
                                  "lower one");
    if (fabs(known.from - surge) <= at_once)
        return shot_text_add(out, "the pressure fell as it opened: let it fall from before that "
                                  "time, or brew at a lower one");
    if (known.from > surge)
        return shot_text_add_format(out,
                                    "let the fall of the pressure, now %.0f s after the water, "
                                    "begin before that time, or brew at a lower one",
                                    known.from);
    if (known.to < surge)
        return shot_text_add(out, "the pressure had fallen before and was held: let it fall "
                                  "further, or begin at a lower one");
    return shot_text_add(out, "the pressure was falling by then: let it fall sooner or further, or "
                              "begin at a lower one");
}

/* Not where it was too fast before the channel opened, nor where it ran nearly so fast that the
 * next page would ask for a finer one: of shots that were turned back and forth nobody learns
 * anything.  Between this and ran_fast the grind is left alone (common practice, no source). */
static bool may_be_coarser(const shot_measure_list *list, shot_grind grind) {
    const double most = most_of(list, flow_name(list)) * kept_by_channels(list);
    return grind != SHOT_GRIND_FINER && !(most >= 2);
}

static shot_status say_channel(const shot_measure_list *list, shot_text *out) {
    SHOT_TRY(shot_text_add(out, "the puck channelled"));
    if (isfinite(value_of(list, "surge.first"))) {
        SHOT_TRY(shot_text_add(out, " "));
        SHOT_TRY(say_seconds(list, "surge.first", out));
        SHOT_TRY(shot_text_add(out, channelled_before_brew(list)
                                        ? " after the water came, before the brew"
                                        : " after the water came"));
    }
    return say_loss(list, out);
}

static bool has_surges(const shot_measure_list *list) {
    return value_of(list, "surge.count") >= 1;
}

static shot_status channelled(const shot_measure_list *list, shot_grind *grind, shot_text *out) {
    if (!has_surges(list))
        return SHOT_OK;
    if (surges_are_doubtful(list)) {
        SHOT_TRY(shot_text_add(out, "If the pressure was held, "));
        SHOT_TRY(say_channel(list, out));
        return shot_text_add(out, ": a log with the pressure tells the two apart.");
    }
    size_t begin = out->length;
    SHOT_TRY(say_channel(list, out));
    out->bytes[begin] = 'T';
    if (channelled_late(list))
        return shot_text_add(out, ", at the very end of the shot: stop a little sooner, or let the "
                                  "pressure fall towards the end.");
    if (channelled_before_brew(list))
        return shot_text_add(out, ": wet it more gently, with less pressure or flow, and make the "
                                  "bed more even.");
    SHOT_TRY(shot_text_add(out, ": "));
    SHOT_TRY(say_fall(list, out));
    SHOT_TRY(shot_text_add(out, "; "));
    if (!may_be_coarser(list, *grind))
        return shot_text_add(out, "a more even bed helps too.");
    *grind = SHOT_GRIND_COARSER;
    return shot_text_add(out, "a slightly coarser grind and a more even bed help too.");
}

/* The pressure stood still, so that a flow that rises is the puck's doing. */
static bool pressure_was_held(const shot_measure_list *list) {
    const shot_measure *slope = shot_measure_list_find(list, "brew.pressure.slope");
    return slope != NULL && slope->note != NULL &&
           (strcmp(slope->note, "held") == 0 || strcmp(slope->note, "falling slightly") == 0);
}

/* Slowly, as solids wash out: what a surge adds at once is another rule's. */
static shot_status sped_up(const shot_measure_list *list, shot_grind *grind, shot_text *out) {
    const double length = value_of(list, "brew.time"), mean = value_of(list, "brew.flow");
    const double rise = value_of(list, "brew.flow.slope") * length;
    const double least_rise = least_of(list, "brew.flow.slope") * length;
    if (!(least_rise > mean / 2) || is_choked(list) || !pressure_was_held(list) || has_surges(list))
        return SHOT_OK;
    return shot_text_add_format(out,
                                "The flow rose by %.2g ml/s in the brew, about a mean of %.2g, "
                                "though nobody raised the pressure: let the pressure fall slowly, "
                                "so that the flow stays even.",
                                rise, mean);
}

static shot_status pulses_let_go(const shot_measure_list *list, shot_grind *grind, shot_text *out) {
    if (!(value_of(list, "pulse.count") >= 2) || !(value_of(list, "pulse.lowest") < 0.5) ||
        nothing_came(list))
        return SHOT_OK;
    SHOT_TRY(shot_text_add(out, "Between pulses the pressure went down to "));
    SHOT_TRY(value_of(list, "pulse.lowest") < 0.05
                 ? shot_text_add(out, "nothing")
                 : shot_text_add_format(out, "%.1f bar", value_of(list, "pulse.lowest")));
    return shot_text_add(out, " and the bed could move: keep a little pressure on (a soak) "
                              "instead.");
}

/* A shot that ran no faster than usual has no need of a finer grind (common practice, no source).
 */
static bool ran_fast(const shot_measure_list *list) {
    return !(most_of(list, flow_name(list)) < 2.5);
}

static shot_status early_drops(const shot_measure_list *list, shot_grind *grind, shot_text *out) {
    const bool no_brew = is_known(list, "pressure.peak") && !is_known(list, "brew.time");
    if (!(most_of(list, "first-drip.time") < 4.5) || no_brew || came_at_once(list))
        return SHOT_OK;
    SHOT_TRY(shot_text_add(out, "The first drop came after "));
    SHOT_TRY(say_seconds(list, "first-drip.time", out));
    SHOT_TRY(shot_text_add(out, ", before the 6 to 8 s of a restricted nine-bar machine: "));
    /* a channel may be what made it fast */
    if (*grind == SHOT_GRIND_COARSER || !ran_fast(list) || has_surges(list))
        return shot_text_add(out, "wet the puck more slowly.");
    *grind = SHOT_GRIND_FINER;
    return shot_text_add(out, "grind finer, or wet the puck more slowly.");
}

/* Brewed at so little, or pre-wetted for so long, that a longer pre-wetting is no cure: the puck
 * lets too little through (common practice, no source). */
static bool is_tight(const shot_measure_list *list) {
    return most_of(list, flow_name(list)) < 1 || least_of(list, "preinfusion.time") >= 10;
}

/* A choked puck drips late however it was wetted. */
static shot_status pressed_while_dry(const shot_measure_list *list, shot_grind *grind,
                                     shot_text *out) {
    const double least = least_of(list, "first-drip.time") - most_of(list, "preinfusion.time");
    const double most = most_of(list, "first-drip.time") - least_of(list, "preinfusion.time");
    if (!(least > 1) || is_choked(list))
        return SHOT_OK;
    SHOT_TRY(shot_text_add(out, "The puck had its full pressure "));
    SHOT_TRY(shot_words_seconds(
        out, value_of(list, "first-drip.time") - value_of(list, "preinfusion.time"), least, most,
        " "));
    if (!is_tight(list) || !may_be_coarser(list, *grind))
        return shot_text_add(out, " before the first drop: a longer pre-wetting at 1 to 3 bar "
                                  "would wet it through first.");
    *grind = SHOT_GRIND_COARSER;
    return shot_text_add(out, " before the first drop: a slightly coarser grind would wet it "
                              "through sooner.");
}

static shot_status unsteady(const shot_measure_list *list, shot_grind *grind, shot_text *out) {
    if (!(value_of(list, "brew.pressure.steadiness") > 0.4) ||
        !(fabs(value_of(list, "brew.pressure.slope")) < 0.05) ||
        shot_measure_list_find(list, "brew.pressure.step") != NULL ||
        shot_measure_list_find(list, "brew.pressure.bend") != NULL)
        return SHOT_OK;
    return shot_text_add_format(out,
                                "The pressure wandered by %.1f bar in the brew: before changing "
                                "anything else, see whether two equal shots agree.",
                                value_of(list, "brew.pressure.steadiness"));
}

/* ---- where each knows that nothing is to be said: its whole interval is on the quiet side ---- */

/* Between what chokes and what gushes. */
static bool knows_flow(const shot_measure_list *list) {
    const char *flow = flow_name(list);
    return least_of(list, flow) >= least_flow && most_of(list, flow) <= most_flow;
}

static bool knows_surges(const shot_measure_list *list) {
    return is_known(list, "surge.count");
}

static bool knows_rise(const shot_measure_list *list) {
    return is_known(list, "brew.flow.slope") && is_known(list, "brew.pressure.slope");
}

static bool knows_pulses(const shot_measure_list *list) {
    return is_known(list, "pulse.count");
}

static bool knows_drip(const shot_measure_list *list) {
    return least_of(list, "first-drip.time") >= 4.5;
}

static bool knows_wait(const shot_measure_list *list) {
    return most_of(list, "first-drip.time") - least_of(list, "preinfusion.time") <= 1;
}

static bool knows_steadiness(const shot_measure_list *list) {
    return is_known(list, "brew.pressure.steadiness");
}

#define TRADE "common practice, no source"

/* Rules of one subject stand together. */
static const shot_advice_rule rules[] = {
    {"no puck", "flow", {NULL}, TRADE, knows_flow, no_puck},
    {"no cup", "flow", {NULL}, TRADE, knows_flow, no_cup},
    {"water lost", "flow", {NULL}, TRADE, knows_flow, water_lost},
    {"choked", "flow", {NULL}, TRADE, knows_flow, choked},
    {"gushing", "flow", {NULL}, TRADE, knows_flow, gushing},
    {"channelled", "channels", {"surge.count"}, TRADE, knows_surges, channelled},
    {"sped up",
     "rise of the flow",
     {"brew.flow.slope", "brew.pressure.slope"},
     TRADE,
     knows_rise,
     sped_up},
    {"pulses let go", "pulses", {"pulse.count"}, TRADE, knows_pulses, pulses_let_go},
    {"early drops", "first drop", {"first-drip.time"}, TRADE, knows_drip, early_drops},
    {"pressed while dry",
     "pre-wetting",
     {"first-drip.time", "preinfusion.time"},
     TRADE,
     knows_wait,
     pressed_while_dry},
    {"unsteady pressure",
     "steadiness of the pressure",
     {"brew.pressure.steadiness"},
     TRADE,
     knows_steadiness,
     unsteady},
};

const shot_advice_rule *shot_advice_rules(size_t *count) {
    *count = sizeof rules / sizeof *rules;
    return rules;
}

bool advice_lacks_figure(const shot_measure_list *list, const shot_advice_rule *rule) {
    if (strcmp(rule->subject, "flow") == 0)
        return !is_known(list, flow_name(list));
    for (size_t i = 0; i < 2 && rule->figures[i] != NULL; i++)
        if (!is_known(list, rule->figures[i]))
            return true;
    return false;
}
