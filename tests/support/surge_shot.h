/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shot by formulas with a surge, or with what might pass for one. */
#ifndef SHOT_TEST_SURGE_SHOT_H
#define SHOT_TEST_SURGE_SHOT_H

#include <support/feed.h>

#include <shottrace/signal/flicker.h>
#include <shottrace/signal/random.h>

/* A shot by formulas: a ramp to `high` in 2 s from 1 s on, held; the end at 31 s.  Resistance 4
 * bar.s/ml, falling slowly; a surge of `loss` from 18 s over 0.6 s. */
typedef struct plan {
    double loss;
    double takes;       /* s in which it opens, if not 0.6 */
    double second;      /* loss of what is left, from 19.4 s over 0.6 s */
    double sags;        /* share of the pressure that is lost from 18.5 to 19.5 s, and 0.8 of it of
                           the resistance from 19.5 to 21 s: the bed relaxes */
    bool soaked;        /* 2 bar until the pressure rises from 17.1 to 17.7 s */
    bool flow_held;     /* flow of 2 ml/s; the pressure follows from the resistance */
    double lowered;     /* pressure is lowered by so many bar from 18 to 19 s */
    double raised;      /* and here raised */
    double room;        /* ml/bar that the room over the puck takes as it is */
    double earlier;     /* s by which either begins earlier */
    double leaks;       /* ml/s, that pass the puck from 18 s on and miss the cup */
    double knock;       /* g, on the scale, at 20 s */
    double hand;        /* g, with which it leans on the scale from 20 to 21.2 s */
    double put;         /* g, put beside the cup at 20 s, to stay */
    double hangs;       /* s, from which on the scale shows its last figure; 0: never */
    double tared;       /* s, at which the scale shows 0 again; 0: never */
    double drains;      /* s, with which the basket empties onto the scale */
    double spike;       /* ml/s, one sample, at 20 s */
    double gate;        /* s over which the meter counts pulses of 0.1 ml; 0: it does not count */
    double wets;        /* ml/s each second, by which the flow falls from 13 s until 18 s */
    bool meter, scale;  /* channels */
    bool blind;         /* no gauge */
    bool in_turn;       /* gauge and meter have every other row each */
    double rate, noise; /* Hz; of the flow, ml/s */
    bool drifts;        /* that noise is 1/f */
    uint64_t seed;
} plan;

static inline double ramp(double t, double from, double seconds) {
    return t < from ? 0 : t > from + seconds ? 1 : (t - from) / seconds;
}

/* A brew at 9 bar from 3 to 31 s. */
static inline double pressed(double t) {
    return 9 * (ramp(t, 1, 2) - ramp(t, 31, 0.3));
}

static inline double resistance_at(const plan *p, double t) {
    return 4 * exp(-0.008 * t) * (1 - p->loss * ramp(t, 18, p->takes > 0 ? p->takes : 0.6)) *
           (1 - p->second * ramp(t, 19.4, 0.6)) * (1 - 0.8 * p->sags * ramp(t, 19.5, 1.5));
}

static inline double pressure_at(const plan *p, double t) {
    double open = ramp(t, 1, 2) - ramp(t, 31, 0.7);
    double held = p->flow_held && t < 31 ? 2 * resistance_at(p, t)
                  : p->soaked            ? 2 + 7 * ramp(t, 17.1, 0.6)
                                         : 9 * (1 - p->sags * ramp(t, 18.5, 1));
    return open * (held - (p->lowered - p->raised) * ramp(t, 18 - p->earlier, 1));
}

static inline double flow_at(const plan *p, double t) {
    if (t < 1 || t >= 31)
        return 0;
    double fill = 5 * exp(-(t - 1) / 1.2);               /* the headspace takes water first */
    double wetting = p->wets * fmax(0, fmin(5, 18 - t)); /* into the bed, until it is wet through */
    const double apart = 0.01,
                 rate = (pressure_at(p, t + apart) - pressure_at(p, t - apart)) / (2 * apart);
    return fill + wetting + pressure_at(p, t) / resistance_at(p, t) + p->room * rate;
}

/* Pulses that a meter has seen until t, of 0.1 ml, by the water of every millisecond. */
static inline double pulses_until(const plan *p, double t, double *sum, double *last) {
    for (; *last < t; *last += 0.001)
        *sum += 0.001 * flow_at(p, *last);
    return floor(*sum / 0.1);
}

/* What the meter shows. */
typedef struct counter {
    double sum, last, early_sum, early_last; /* ml and s, now and a gate ago */
} counter;

static inline double shown_flow(const plan *p, double t, counter *of) {
    if (p->gate <= 0)
        return flow_at(p, t);
    const double now = pulses_until(p, t, &of->sum, &of->last);
    return (now - pulses_until(p, t - p->gate, &of->early_sum, &of->early_last)) * 0.1 / p->gate;
}

static inline void add_cell(shot_text *text, double value, double per_unit) {
    shot_text_add(text, ",");
    if (!isnan(value))
        shot_text_add_number(text, floor(value * per_unit + 0.5) / per_unit);
}

static inline shot_text write(const plan *p) {
    shot_text text = {0};
    shot_random random = shot_random_at(p->seed, 0);
    shot_flicker flicker;
    double weight = 0, held = 0, last = 0, off = 0, shown = 0;
    counter meter = {0};
    shot_flicker_start(&flicker, shot_random_at(p->seed, 1), 64);
    shot_text_add_format(&text, "# scale.lag: 0 s\ntime%s%s%s\n", p->blind ? "" : ",pressure",
                         p->meter ? ",flow" : "", p->scale ? ",weight" : "");
    for (int i = 0; i <= 34 * p->rate; i++) {
        double t = i / p->rate;
        for (; last < t; last += 0.001) {
            held += last > 6 ? 0.001 * flow_at(p, last) : 0;
            double falls = p->drains > 0 ? held * 0.001 / p->drains : held;
            held -= falls;
            weight += falls;
        }
        double noise = p->noise * (p->drifts ? shot_flicker_step(&flicker, 1 / p->rate)
                                             : shot_random_normal(&random));
        bool hit = t >= 20 && t < 20 + 0.9 / p->rate;
        double since = t - 20,
               ring = since < 0 ? 0 : p->knock * exp(-since / 0.15) * cos(25 * since);
        if (p->tared > 0 && off == 0 && t >= p->tared)
            off = weight;
        ring += t >= 20 ? p->put : 0;
        ring += p->hand * (ramp(t, 20, 0.1) - ramp(t, 21.2, 0.1)) - off;
        shot_text_add_number(&text, floor(t * 1000 + 0.5) / 1000);
        double pressure = pressure_at(p, t) + 0.02 * shot_random_normal(&random);
        if (!p->blind)
            add_cell(&text, p->in_turn && i % 2 != 0 ? NAN : pressure, 100);
        if (p->meter)
            add_cell(&text,
                     p->in_turn && i % 2 == 0 ? NAN
                                              : shown_flow(p, t, &meter) + noise + hit * p->spike +
                                                    p->leaks * ramp(t, 18, 0.3),
                     100);
        if (p->scale && (p->hangs == 0 || t < p->hangs))
            shown = weight + 0.05 * shot_random_normal(&random) + ring;
        if (p->scale)
            add_cell(&text, shown, 10);
        shot_text_add(&text, "\n");
    }
    return text;
}

static inline feed surges(const plan *p, const char *chain) {
    shot_text text = write(p);
    feed got = feed_chain(chain, text.bytes, text.length, 0);
    assert_int_equal(got.status, SHOT_OK);
    shot_text_free(&text);
    return got;
}

#endif
