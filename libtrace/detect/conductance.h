/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The puck's hydraulic conductance (flow over pressure, the inverse of its resistance) as a state
 * that wanders, seen through a flow meter or a scale, and a sudden opening in it.
 *
 * Between samples the conductance g changes by a slope d, and both wander:
 *
 *     dg = d dt + level dW1,   dd = slope dW2          (local linear trend)
 *
 * A flow meter shows Q = g p + C dp/dt + e + noise, where C is what the room over the puck takes
 * when the pressure rises, and e is noise that lasts, of a meter that counts pulses over a gate or
 * of a sensor that drifts (first-order autoregression); a scale shows W = W0 + integral of g p + e
 * + noise.  With the pressure p known (its noise goes with the flow's) this is a linear state-space
 * model of four states, (g, d, C, e) or (g, d, W, e), and the Kalman filter gives innovations that
 * are white where nothing sudden happens. An opening a S(t) adds a times the filter's answer to p
 * S(t) to them, so that least squares on the innovations gives a with its standard error, whatever
 * the trend: no derivative of noisy figures is taken, no ratio formed that could blow up at small
 * flows.
 *
 * Sources: Darcy 1856, 'Les fontaines publiques de la ville de Dijon', note D (Q = g p); Harvey
 * 1989, 'Forecasting, Structural Time Series Models and the Kalman Filter', sections 2.3.2, 3.4
 * (likelihood from the innovations) and 7.6 (interventions); Willsky & Jones 1976, 'A generalized
 * likelihood ratio approach to the detection and estimation of jumps in linear systems', IEEE
 * Trans. Autom. Control 21:108-112.
 */
#ifndef SHOT_DETECT_CONDUCTANCE_H
#define SHOT_DETECT_CONDUCTANCE_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

/* The samples of one channel over a stretch, with the pressure at the puck at their instants. */
typedef struct conductance_data {
    double *t, *y, *pressure, *rate; /* [n]; rate is dp/dt, bar/s */
    double *age;                     /* [n] s since pressure was last changed on purpose */
    double *taken;                   /* [n] conductance of the openings that were taken out */
    size_t n;
    size_t changes; /* of the figures y since they were taken */
    bool summed;    /* y is the integral of the flow: a scale, a counter of the water */
    bool drains;    /* a scale: what leaves the bed drains onto it */
    double gate; /* s over which a meter counted each figure, where it has but one a gate; else 0 */
    bool blind;  /* nothing tells the pressure, which is taken to be held */
    double sd, least_sd; /* of the noise of a sample: expected, and at least */
    double apart;        /* s before and behind a sample over which the rate is taken */
    double pressure_sd;  /* of the noise of the gauge */
    double coarse;       /* step in which y is written where noise does not carry it over; else 0 */
    double lag;          /* s by which y follows the flow through the puck */
    double middle;       /* a typical conductance, the scale of its wander */
} conductance_data;

/* How the trend wanders, relative to a typical conductance, at an age of the load of 10 s.  A bed
 * that wets, swells, is compressed and relaxes does so ever more slowly, evenly in the logarithm of
 * the time since its load changed (Terzaghi's consolidation and its creep, Mitchell & Soga 2005,
 * 'Fundamentals of Soil Behavior', 3rd ed., section 12.4); so the level's variance goes with 1/age
 * and the slope's with 1/age^3, those of a walk in ln(age). */
typedef struct conductance_wander {
    double level; /* SD after a second of the level, 1/sqrt(s) */
    double slope; /* SD after a second of the slope, 1/s/sqrt(s) */
} conductance_wander;

/* How an opening goes, with u from 0 to 1: as u, as 1 - (1 - u)^2, as 3 u^2 - 2 u^3, as 1 - (1 -
 * u)^3, or so that the resistance, not the conductance, changes as u. */
typedef enum conductance_form {
    CONDUCTANCE_EVEN,
    CONDUCTANCE_SHARP,
    CONDUCTANCE_GENTLE,
    CONDUCTANCE_SHARPER,
    CONDUCTANCE_LATE
} conductance_form;

/* Time constants with which an opening closes again, s; common practice, no source. */
enum { CONDUCTANCE_HEALINGS = 3 };
extern const double conductance_healings[CONDUCTANCE_HEALINGS];

/* An opening: from 0 at `onset` to 1 after `seconds`; then it heals, with one of those time
 * constants, down to a scar; one with a scar of 1 stays. */
typedef struct conductance_opening {
    double onset, seconds;
    conductance_form form;
    double scar;
    int healing;  /* index of the time constant */
    double drain; /* s in which what leaves the bed drains onto a scale */
    double gate;  /* s over which a flow meter counts: it shows the mean over them */
    double loss;  /* of resistance, as a share; a late one goes by it */
} conductance_opening;

/* How the state moves between two samples. */
typedef struct conductance_step {
    double dt;
    double by_level, by_slope;           /* of the weight: integrals of p and of p times time */
    double left;                         /* of noise that lasts */
    double healed[CONDUCTANCE_HEALINGS]; /* what is left of an opening that heals */
    /* What wander of size 1, of the level and of the slope, adds to the variances and covariances
     * of (g, d, C or W). */
    struct conductance_unrest {
        double gg, gd, gc, dd, dc, cc;
    } by_level_wander, by_slope_wander;
} conductance_step;

/* So many filters, or openings, go side by side, one in each lane of a vector. */
enum { CONDUCTANCE_LANES = 4 };

/* What the Kalman filter knows before it has seen a figure, which follows from the instants, the
 * pressure and the wander alone, and what it makes of the figures.  One lane for each size of noise
 * that lasts. */
typedef struct conductance_gains {
    double *gain;                   /* [n][4][LANES] of the states */
    double *weight;                 /* [n][LANES] 1 / variance of the innovation, for noise of its
                                       known SD */
    double *unsure;                 /* [n][LANES] variance of the conductance before sample i, as
                                       predicted, for the same noise */
    double logs[CONDUCTANCE_LANES]; /* the sum of the logarithms of the variances */

    double *innovation;                /* [n][LANES] */
    double squares[CONDUCTANCE_LANES]; /* of the innovations over their variances, summed */
    size_t changes;                    /* of the figures that they are of */
} conductance_gains;

/* What openings that have ended add to the sums over the innovations, from a sample on: a form of
 * the second degree, and one of the first, in how far the filter's states (g, d, C or W, e) are
 * from those of the puck, and in what is left of one that heals (conductance_tail.h). */
typedef struct conductance_tail {
    double gg, gd, gc, ge, dd, dc, de, cc, ce, ee; /* of the squares */
    double g, d, c, e;                             /* along the innovations */
    struct conductance_tail_rest {
        double rg, rd, rc, re, rr, r;
    } rest[CONDUCTANCE_HEALINGS];
} conductance_tail;

/* What it says of each sample.  Innovations are a linear function of the figures (the filter
 * whitens them), and the same function turns what an opening adds to the figures into what it adds
 * to the innovations. */
typedef struct conductance_filter {
    const conductance_gains *gains;
    int lane;                /* of the gains */
    double *innovation;      /* [n] */
    double *level;           /* [n] conductance before sample i, as predicted */
    conductance_tail *tails; /* [n] what the samples from i on say of openings that have ended */
    double squares;          /* of the innovations over their expected variances, summed */
    double scale;            /* by which all variances are larger than expected */
    double likelihood;       /* its logarithm, with that scale */
} conductance_filter;

/* How the state moves from sample to sample; [n], freed by the caller with free.  NULL where there
 * is no memory. */
conductance_step *conductance_steps_new(const conductance_data *data);

/* SHOT_ERR_MEMORY.  Freed by conductance_gains_free, also after an error. */
shot_status conductance_gains_new(const conductance_data *data, const conductance_step *steps,
                                  conductance_wander wander, conductance_gains *out);
void conductance_gains_free(conductance_gains *gains);

/* Make the innovations those of the figures as they are, where these were changed since. */
void conductance_gains_follow(const conductance_data *data, const conductance_step *steps,
                              conductance_gains *gains);

/* Room for the samples.  SHOT_ERR_MEMORY.  Freed by conductance_filter_free, also after an error.
 */
shot_status conductance_filter_new(const conductance_data *data, conductance_filter *out);
void conductance_filter_free(conductance_filter *filter);

/* Run it over the samples.  The gains are borrowed from then on. */
void conductance_filter_run(const conductance_data *data, const conductance_step *steps,
                            const conductance_gains *gains, int lane, conductance_filter *filter);

/* When a channel shows what an opening does at its onset, and its first sample behind that. */
double conductance_onset_seen(const conductance_data *data, const conductance_opening *opening);
size_t conductance_first_seen(const conductance_data *data, const conductance_opening *opening);

/* What `count` <= CONDUCTANCE_LANES openings of size 1 add to the figures from the first sample
 * behind the first of their onsets on, whose index is returned. added [n][CONDUCTANCE_LANES],
 * untouched before that sample; 0 before each lane's own onset and in lanes that are not used */
size_t conductance_add(const conductance_data *data, const conductance_step *steps,
                       const conductance_opening *openings, size_t count, double *added);

/* What is left of openings that have ended, at a sample: a scar, and a share that heals, of which
 * so much is open still. */
typedef struct conductance_rests {
    double scar[CONDUCTANCE_LANES], share[CONDUCTANCE_LANES], open[CONDUCTANCE_LANES];
    int healing[CONDUCTANCE_LANES];
    double sum[CONDUCTANCE_LANES]; /* of a weight: what they added to it */
} conductance_rests;

/* The same as above, as far as to the first sample behind all their ends, *end.
 *   rests   at that sample, where there is one */
size_t conductance_add_until_ended(const conductance_data *data, const conductance_step *steps,
                                   const conductance_opening *openings, size_t count, double *added,
                                   size_t *end, conductance_rests *rests);

/* What the innovations say of an opening: a = along / square, variance 1 / square. */
typedef struct conductance_evidence {
    double along, square;
    double base;   /* conductance before the onset, as predicted from the samples before, with what
                      was taken out */
    double before; /* s of samples before the onset */
} conductance_evidence;

/* The size of the opening that explains the samples best; 0 where none of them shows it. */
static inline double conductance_best_size(const conductance_evidence *evidence) {
    return evidence->square > 0 ? evidence->along / evidence->square : 0;
}

/* Count an opening of that size as explained: the scale of the filter becomes that of what is left.
 * Returns the log-likelihood with it.  `evidence` is that by the filter as it was. */
double conductance_explain(const conductance_data *data, const conductance_evidence *evidence,
                           double size, conductance_filter *filter);

/* What the innovations of each lane say of an opening, for noise of its known SD: a size `a` takes
 * a (2 along - a square) off their squares. */
typedef struct conductance_response {
    double along[CONDUCTANCE_LANES], square[CONDUCTANCE_LANES];
} conductance_response;

/* `added` is what the opening adds in the first lane from `first` on. */
void conductance_respond(const conductance_data *data, const conductance_step *steps,
                         const conductance_gains *gains, const double *added, size_t first,
                         conductance_response *out);

/* What the samples say with the wander and noise of one lane of gains: their log-likelihood with an
 * opening of the best size, and that size with its variance (0 and infinite without one). */
typedef struct conductance_profile {
    double likelihood, size, variance;
} conductance_profile;

/* With the gains of each lane; `added` (may be NULL) is what an opening adds in the first lane from
 * `first` on.  out [CONDUCTANCE_LANES] */
void conductance_profile_run(const conductance_data *data, const conductance_step *steps,
                             const conductance_gains *gains, const double *added, size_t first,
                             conductance_profile *out);

/* Take a S(t) out of the samples: what is left is as if the puck had held.
 *   added   [n][CONDUCTANCE_LANES] scratch */
void conductance_take_out(conductance_data *data, const conductance_step *steps,
                          const conductance_opening *opening, double a, double *added);

#endif
