/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Do detectors keep the false-alarm rate that they state?
 *
 *     eval_alarms [RATE [LOGS [SEED [NOISE [CHANNELS [FASTEST]]]]]]
 *
 * gives each detector LOGS logs (200) of 30 s in which nothing happens - pressure, flow and weight
 * of a steady brew, with noise - at each sampling rate and of each kind of noise, asks it for an
 * alarm rate of RATE (0.01), and prints the share of logs with any alarm, and with one that was
 * told while the log ran, which may come more often.  The interval is the binomial one of 95 %
 * (Wilson 1927): a rate that lies below it is exceeded.  NOISE is one kind of it, or all; CHANNELS
 * the first letters of those that are logged (pfw); no rate is above FASTEST (Hz).
 */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/chain.h>
#include <shottrace/signal/flicker.h>
#include <shottrace/signal/proportion.h>
#include <shottrace/signal/random.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

#include "support/run_chain.h"

static const double LENGTH = 30; /* s */
static const double rates[] = {2, 5, 10, 20, 40, 100, 200};

/* Shares of the noise's variance that are white; steps in standard deviations. */
static const struct kind {
    const char *name;
    double white, step;
} kinds[] = {
    {"white", 1, 0.01}, {"half of it 1/f", 0.5, 0.01}, {"1/f", 0, 0.01}, {"in steps", 1, 3}};

static const struct detector {
    const char *name, *mark;
    bool endless; /* its provisional marks have no end, which tells them */
} detectors[] = {{"knees", "knee", false}, {"surges", "surge", true}};

enum {
    RATES = sizeof rates / sizeof *rates,
    KINDS = sizeof kinds / sizeof *kinds,
    DETECTORS = sizeof detectors / sizeof *detectors
};

/* ---- a log ---- */

typedef struct sensor {
    double sd;
    const struct kind *kind;
    shot_random random;
    shot_flicker flicker;
} sensor;

static double read_sensor(sensor *self, double truth, double seconds) {
    const double slow = shot_flicker_step(&self->flicker, seconds);
    const double noise = sqrt(self->kind->white) * shot_random_normal(&self->random) +
                         sqrt(1 - self->kind->white) * slow;
    const double step = self->kind->step * self->sd;
    return step * round((truth + self->sd * noise) / step);
}

static const char *const names[] = {"pressure [bar]", "flow [ml/s]", "weight [g]"};
enum { CHANNELS = 3 };

static void write_log(const struct kind *kind, double rate, uint64_t seed, uint64_t index,
                      const char *channels, shot_text *text) {
    static const double sd[CHANNELS] = {0.05, 0.08, 0.1}; /* as the names have it */
    sensor sensors[CHANNELS];
    for (int i = 0; i < CHANNELS; i++) {
        shot_random random = shot_random_at(seed, 3 * index + (uint64_t)i);
        sensors[i] = (sensor){.sd = sd[i], .kind = kind, .random = random};
        shot_flicker_start(&sensors[i].flicker, shot_random_at(seed + 1, 3 * index + (uint64_t)i),
                           LENGTH);
    }
    shot_text_clear(text);
    shot_text_add(text, "# gauge: puck\ntime [s]");
    for (int i = 0; i < CHANNELS; i++)
        if (strchr(channels, *names[i]) != NULL)
            shot_text_add_format(text, ",%s", names[i]);
    shot_text_add(text, "\n");
    for (double t = 0; t < LENGTH; t += 1 / rate) {
        const double truth[CHANNELS] = {9, 2, 5 + 2 * t};
        shot_text_add_format(text, "%.4f", t);
        for (int i = 0; i < CHANNELS; i++)
            if (strchr(channels, *names[i]) != NULL)
                shot_text_add_format(text, ",%.6g", read_sensor(&sensors[i], truth[i], 1 / rate));
        shot_text_add(text, "\n");
    }
}

/* ---- what is found in it ---- */

/* Marks that stand at the end, and those that were provisional. */
typedef struct counter {
    shot_sink sink;
    const char *kind;
    size_t final, running;
} counter;

static shot_status count_mark(shot_sink *sink, const shot_mark *mark, shot_error *error) {
    counter *self = (counter *)sink;
    const bool is = strcmp(mark->kind, self->kind) == 0;
    self->final += is && !isnan(mark->to);
    self->running += is && isnan(mark->to);
    return SHOT_OK;
}

static const shot_sink_calls counting = {.mark = count_mark};

static counter alarms(const struct detector *detector, double alarm_rate, const shot_text *log) {
    counter counted = {.sink = {&counting}, .kind = detector->mark};
    char text[80];
    snprintf(text, sizeof text, "%s --alarm-rate %g%%", detector->name, 100 * alarm_rate);
    run_chain(text, &(shot_chain_ends){.sink = &counted.sink}, log);
    return counted;
}

/* ---- the table ---- */

static void print_share(size_t hits, size_t n) {
    double low, high;
    shot_proportion_wilson(hits, n, 0.95, &low, &high);
    printf("  %5.3f [%.3f, %.3f]", (double)hits / (double)n, low, high);
}

static void evaluate(const struct kind *kind, double rate, double alarm_rate, uint64_t logs,
                     uint64_t seed, const char *channels) {
    size_t final[DETECTORS] = {0}, running[DETECTORS] = {0};
    shot_text log = {0};
    for (uint64_t i = 0; i < logs; i++) {
        write_log(kind, rate, seed, i, channels, &log);
        for (int d = 0; d < DETECTORS; d++) {
            const counter counted = alarms(&detectors[d], alarm_rate, &log);
            final[d] += counted.final > 0;
            running[d] += counted.running > 0;
        }
    }
    shot_text_free(&log);
    printf("%-15s %5g", kind->name, rate);
    for (int d = 0; d < DETECTORS; d++) {
        print_share(final[d], logs);
        if (detectors[d].endless)
            print_share(running[d], logs);
    }
    printf("\n");
}

int main(int argc, char **argv) {
    const double alarm_rate = argc > 1 ? atof(argv[1]) : 0.01;
    const uint64_t logs = argc > 2 ? strtoull(argv[2], NULL, 10) : 200;
    const uint64_t seed = argc > 3 ? strtoull(argv[3], NULL, 10) : 2000;
    const char *only = argc > 4 && strcmp(argv[4], "all") != 0 ? argv[4] : NULL;
    const char *channels = argc > 5 ? argv[5] : "pfw";
    const double fastest = argc > 6 ? atof(argv[6]) : INFINITY;
    printf("logs with an alarm of %llu, asked for %g\n%-15s %5s", (unsigned long long)logs,
           alarm_rate, "noise", "Hz");
    for (int d = 0; d < DETECTORS; d++)
        printf(detectors[d].endless ? "  %-20s  while it runs" : "  %-20s", detectors[d].name);
    printf("\n");
    for (int k = 0; k < KINDS; k++)
        for (int r = 0; r < RATES && (only == NULL || strcmp(only, kinds[k].name) == 0); r++)
            if (rates[r] <= fastest)
                evaluate(&kinds[k], rates[r], alarm_rate, logs, seed, channels);
    return 0;
}
