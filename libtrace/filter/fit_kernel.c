/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The running fit as a kernel. */
#include "filter/fit_kernel.h"

#include <math.h>

#include "plain_format.h"
#include "signal/running_fit_parts.h"

shot_status fit_kernel_reach(const shot_span *window, shot_reach *out, shot_error *error) {
    const double half = window->samples ? (window->length - 1) / 2 : window->length / 2;
    if (window->samples && fmod(window->length, 2) != 1)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--window: %g is an even count; give an odd one, with as many samples "
                         "before the middle as after it",
                         window->length);
    *out = (shot_reach){half, half, window->samples};
    return SHOT_OK;
}

shot_status fit_kernel_check(const shot_running_fit_rule *rule, shot_error *error) {
    const double samples = rule->reach.before + rule->reach.after + 1;
    if (rule->derivative > rule->order)
        return shot_fail(
            error, SHOT_ERR_USAGE,
            "--order: a polynomial of order %zu has no derivative %zu; choose an order "
            "of %zu or more",
            rule->order, rule->derivative, rule->derivative);
    if (rule->reach.samples && (double)rule->order >= samples)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--window: %g samples cannot determine a polynomial of order %zu; choose "
                         "a longer window or a lower --order",
                         samples, rule->order);
    return SHOT_OK;
}

static shot_status push(void *kernel, double t, double y) {
    return shot_running_fit_push(kernel, t, y);
}

static shot_status push_block(void *kernel, const double *t, const double *y, size_t n) {
    return shot_running_fit_push_block(kernel, t, y, n);
}

static shot_status finish(void *kernel, shot_error *error) {
    shot_running_fit_finish(kernel);
    return SHOT_OK;
}

static shot_status next(void *kernel, channel_result *result, bool *ready) {
    shot_running_fit_at at;
    SHOT_TRY(shot_running_fit_next(kernel, &at, ready));
    if (*ready) {
        *result = (channel_result){at.fitted, at.gain, 0};
    }
    return SHOT_OK;
}

static shot_status take(void *kernel, size_t room, double *value, double *gain, size_t *count) {
    return shot_running_fit_take(kernel, room, value, gain, count);
}

static void reset(void *kernel) {
    shot_running_fit_reset(kernel);
}

static void release(void *kernel) {
    shot_running_fit_free(kernel);
}

static void correlate(void *kernel, double seconds) {
    shot_running_fit_correlate(kernel, seconds);
}

static void share(void *kernel, void *first) {
    running_fit_share(kernel, first);
}

static const channel_kernel_calls calls = {push,       finish, next,      reset, release,
                                           push_block, take,   correlate, NULL,  share};

shot_status fit_kernel_new(const shot_running_fit_rule *rule, channel_kernel *out) {
    shot_running_fit *fit;
    SHOT_TRY(shot_running_fit_new(rule, &fit));
    *out = (channel_kernel){&calls, fit};
    return SHOT_OK;
}

/* The first samples wait for a whole window (shot_running_fit). */
void fit_kernel_latency(const shot_span *window, char *out, size_t room) {
    if (window->samples)
        shot_format(out, room, "%.0f sample%s of the slowest channel, the first %.0f",
                    (window->length - 1) / 2, window->length > 3 ? "s" : "", window->length - 1);
    else
        shot_format(out, room, "%g s, the first rows %g s, and until the next row",
                    window->length / 2, window->length);
}
