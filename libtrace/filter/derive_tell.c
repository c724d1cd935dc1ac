/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What shot-derive says of a shot. */
#include "filter/derive_sink.h"

#include <math.h>

#include "filter/named_channels.h"

/* What was named, and this shot does not allow: others of the stream may. */
static shot_status tell_not_allowed(derive_sink *self, shot_error *error) {
    const struct derive_settings *settings = self->stage.settings;
    for (int q = 0; q < DERIVE_QUANTITIES; q++) {
        const char *name = derive_name((derive_quantity)q),
                   *needs = derive_needs((derive_quantity)q);
        if (self->wanted[q] || !named_channels_hold(&settings->quantities, name))
            continue;
        shot_notice_say(&self->stage.notice, "shot '%s' does not allow %s: it needs %s",
                        self->head.name, name, needs);
        SHOT_TRY(shot_sink_say(self->stage.next, "note", error, "shot-derive: no %s: it needs %s",
                               name, needs));
    }
    return SHOT_OK;
}

/* Where nothing was named and nothing comes out, that is to be seen. */
static shot_status tell_nothing(derive_sink *self, shot_error *error) {
    const struct derive_settings *settings = self->stage.settings;
    const char *why = derive_nothing(&self->shot, &self->head);
    if (settings->quantities.count > 0 || why == NULL)
        return SHOT_OK;
    return shot_sink_say(self->stage.next, "note", error, "shot-derive: %s", why);
}

/* What is taken as given where the log does not tell. */
static shot_status tell_assumed(derive_sink *self, shot_error *error) {
    bool rests = self->wanted[DERIVE_RESISTANCE] || self->wanted[DERIVE_CONDUCTANCE] ||
                 self->wanted[DERIVE_POWER] || self->wanted[DERIVE_PERMEABILITY];
    shot_sink *next = self->stage.next;
    if (rests && self->from_outflow)
        SHOT_TRY(shot_sink_say(next, "note", error,
                               "shot-derive: no flow into the basket: the flow of the beverage is "
                               "taken for it, with the density of water"));
    if (rests && self->from_outflow && self->shot.temperature < 0)
        SHOT_TRY(shot_sink_say(next, "note", error,
                               "shot-derive: no temperature: water is taken to be at 93 degC"));
    if (self->wanted[DERIVE_PERMEABILITY] && self->shot.bed_is_guessed)
        SHOT_TRY(shot_sink_say(next, "note", error,
                               "shot-derive: no '# bed:': its depth is taken to be %.1f mm, from "
                               "the dose at %.2f g/ml",
                               1e3 * self->shot.length, DERIVE_TAMPED));
    return SHOT_OK;
}

shot_status derive_tell_begin(derive_sink *self, shot_error *error) {
    SHOT_TRY(tell_not_allowed(self, error));
    SHOT_TRY(tell_nothing(self, error));
    return tell_assumed(self, error);
}

/* Published permeabilities of coffee beds are 1e-14 to 1e-13 m2 (Corrochano et al. 2015, J. Food
 * Eng. 150:106-116); real shots imply less, since fines, compression and basket are lumped in. */
static shot_status tell_permeability(derive_sink *self, shot_error *error) {
    if (self->permeabilities == 0)
        return SHOT_OK;
    double typical = pow(10, self->sum_permeability / (double)self->permeabilities);
    if (typical >= 1e-15 && typical <= 1e-12)
        return SHOT_OK;
    return shot_sink_say(self->stage.next, "note", error,
                         "shot-derive: an apparent permeability of %.2g m2 is outside 1e-15 to "
                         "1e-12 m2; check the units of flow and pressure, and the bed",
                         typical);
}

/* Which standard errors were left out, and why: a line for each reason. */
static shot_status tell_faults(derive_sink *self, shot_error *error) {
    const char *const *fault = self->errors.fault;
    for (int q = 0; q < DERIVE_QUANTITIES; q++) {
        shot_text names = {0};
        bool said = fault[q] == NULL;
        for (int before = 0; before < q; before++)
            said = said || fault[before] == fault[q];
        shot_status status = SHOT_OK;
        for (int k = q; k < DERIVE_QUANTITIES && !said && status == SHOT_OK; k++)
            if (fault[k] == fault[q])
                status = shot_text_add_format(&names, "%s%s", k > q ? ", " : "",
                                              derive_name((derive_quantity)k));
        if (status == SHOT_OK && !said)
            status = shot_sink_say(self->stage.next, "note", error,
                                   "shot-derive: no standard error of %s, since the errors of "
                                   "samples that went through %s depend on each other",
                                   names.bytes, fault[q]);
        shot_text_free(&names);
        SHOT_TRY(status);
    }
    return SHOT_OK;
}

/* Channels whose noise too few samples tell: what rests on them has no standard error. */
static shot_status tell_unknown_noise(derive_sink *self, shot_error *error) {
    for (int c = 0; c < DERIVE_CHANNELS; c++) {
        const derive_noise *noise = &self->errors.of[c];
        if (noise->needed && isnan(noise->is.sd))
            SHOT_TRY(shot_sink_say(self->stage.next, "note", error,
                                   "shot-derive: no standard errors of what rests on %s: too few "
                                   "samples tell its noise",
                                   self->head.channels[noise->column].name));
    }
    return SHOT_OK;
}

shot_status derive_tell_end(derive_sink *self, shot_error *error) {
    SHOT_TRY(tell_faults(self, error));
    SHOT_TRY(tell_unknown_noise(self, error));
    return tell_permeability(self, error);
}
