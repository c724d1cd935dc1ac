/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Answers one question a line on standard input, for resampling.py: a word and numbers in, numbers
 * out.  A vector is its length and its values. */
#include <shottrace/signal.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct vector {
    double *x; /* owned */
    size_t n;
} vector;

static vector read_vector(char **rest) {
    const size_t n = (size_t)strtod(*rest, rest);
    vector v = {calloc(n + 1, sizeof(double)), n};
    for (size_t i = 0; i < n; i++)
        v.x[i] = strtod(*rest, rest);
    return v;
}

static void say(const double *x, size_t n) {
    for (size_t i = 0; i < n; i++)
        printf("%s%.17g", i > 0 ? " " : "", x[i]);
    putchar('\n');
}

typedef shot_status (*interpolant)(const double *t, const double *y, size_t n, const double *at,
                                   size_t m, double *value);

/* t y at */
static int interpolate(interpolant function, char *rest) {
    const vector t = read_vector(&rest), y = read_vector(&rest), at = read_vector(&rest);
    double *value = calloc(at.n + 1, sizeof *value);
    const shot_status status = function(t.x, y.x, t.n, at.x, at.n, value);
    say(value, at.n);
    free(t.x);
    free(y.x);
    free(at.x);
    free(value);
    return status != SHOT_OK;
}

/* ratio x */
static int sinc(char *rest) {
    const double ratio = strtod(rest, &rest);
    const vector x = read_vector(&rest);
    shot_bandlimited *b;
    if (shot_bandlimited_new(ratio, 0, SHOT_BANDLIMITED_DEFAULT, &b) != SHOT_OK)
        return 1;
    double *y = calloc(shot_bandlimited_room(b, x.n) + 1, sizeof *y);
    size_t made = shot_bandlimited_push(b, x.x, x.n, y);
    made += shot_bandlimited_finish(b, y + made);
    say(y, made);
    shot_bandlimited_free(b);
    free(x.x);
    free(y);
    return 0;
}

/* rate segment overlap window parameter detrend scale x */
static int welch(char *rest) {
    const double rate = strtod(rest, &rest);
    shot_welch_settings s = {0};
    s.segment = (size_t)strtod(rest, &rest);
    s.overlap = (size_t)strtod(rest, &rest);
    s.window.kind = (shot_window_kind)strtod(rest, &rest);
    s.window.parameter = strtod(rest, &rest);
    s.detrend = (shot_detrend)strtod(rest, &rest);
    s.scale = (shot_spectrum_scale)strtod(rest, &rest);
    const vector x = read_vector(&rest);
    double *psd = calloc(s.segment / 2 + 1, sizeof *psd);
    const shot_status status = shot_welch(x.x, x.n, rate, &s, psd, NULL);
    say(psd, s.segment / 2 + 1);
    free(x.x);
    free(psd);
    return status != SHOT_OK;
}

/* mean scale first step m t y */
static int lomb(char *rest) {
    shot_lomb_scargle_settings s = {0};
    s.mean = (shot_mean)strtod(rest, &rest);
    s.scale = (shot_power_scale)strtod(rest, &rest);
    const double first = strtod(rest, &rest), step = strtod(rest, &rest);
    const size_t m = (size_t)strtod(rest, &rest);
    const vector t = read_vector(&rest), y = read_vector(&rest);
    double *power = calloc(m + 1, sizeof *power);
    const shot_status status = shot_lomb_scargle(t.x, y.x, t.n, first, step, m, &s, power);
    say(power, m);
    free(t.x);
    free(y.x);
    free(power);
    return status != SHOT_OK;
}

/* kind parameter symmetric n */
static int window(char *rest) {
    shot_window w = {0};
    w.kind = (shot_window_kind)strtod(rest, &rest);
    w.parameter = strtod(rest, &rest);
    const int symmetric = (int)strtod(rest, &rest);
    const size_t n = (size_t)strtod(rest, &rest);
    double *value = calloc(n, sizeof *value);
    const shot_status status =
        shot_window_fill(w, symmetric ? SHOT_WINDOW_SYMMETRIC : SHOT_WINDOW_PERIODIC, n, value);
    say(value, n);
    free(value);
    return status != SHOT_OK;
}

static int answer(const char *word, char *rest) {
    if (strcmp(word, "linear") == 0)
        return interpolate(shot_linear, rest);
    if (strcmp(word, "cubic") == 0)
        return interpolate(shot_monotone_cubic, rest);
    if (strcmp(word, "sinc") == 0)
        return sinc(rest);
    if (strcmp(word, "welch") == 0)
        return welch(rest);
    if (strcmp(word, "lomb") == 0)
        return lomb(rest);
    return strcmp(word, "window") == 0 ? window(rest) : 1;
}

int main(void) {
    char *line = NULL;
    size_t room = 0;
    while (getline(&line, &room, stdin) > 0) {
        char *rest = strchr(line, ' ');
        if (rest == NULL)
            return 1;
        *rest++ = '\0';
        if (answer(line, rest) != 0)
            return 1;
        fflush(stdout);
    }
    free(line);
    return 0;
}
