/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A program that brews: rows of a machine go to a chain one by one, its marks change what is asked
 * of the machine, and at a weight in the cup the shot is over. */
#ifndef SHOT_TEST_CLOSED_LOOP_H
#define SHOT_TEST_CLOSED_LOOP_H

#include <stdint.h>

#include <support/numbers.h>

typedef enum loop_habit {
    LOOP_OBEYS,   /* eases the pressure off when a surge is told, and goes back after a while */
    LOOP_IGNORES, /* hears of surges and brews on */
    LOOP_RESTLESS /* eases off twice with no reason, in a puck that does not channel */
} loop_habit;

/* Sums over shots. */
typedef struct loop_score {
    size_t shots, openings; /* openings of 15 % and more; smaller ones count neither way */
    size_t told, in_time;   /* while the shot ran; within 1 s of the onset */
    size_t kept, held;      /* of those told: a final surge refines it; its interval is right */
    size_t in_vain;         /* told where nothing opened */
    size_t invented;        /* final surges where nothing opened */
    size_t unsettled;       /* provisional marks that are not refined or withdrawn just once */
    size_t brew_lost;       /* not one brew, from 3 s about the full pressure to 0.5 s about the
                               stop */
    size_t pulses, stops;   /* final pulses; ends of the brew told early while it ran */
    size_t differ;          /* other bytes when the whole log goes in at once */
    numbers delay;          /* s, of those told */
} loop_score;

/* One shot, number `index` of a seed; the program ends where the chain fails. */
void closed_loop_run(const char *chain, uint64_t seed, uint64_t index, loop_habit habit,
                     loop_score *score);

#endif
