/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Conditions on what a shot says about itself: dose>=18g. */
#ifndef SHOT_FILTER_PICK_WHERE_H
#define SHOT_FILTER_PICK_WHERE_H

#include <stdbool.h>

#include <shottrace/trace/shot.h>

typedef enum pick_relation {
    PICK_EQUAL,
    PICK_UNEQUAL,
    PICK_LESS,
    PICK_LESS_EQUAL,
    PICK_GREATER,
    PICK_GREATER_EQUAL
} pick_relation;

typedef struct pick_condition {
    char *key, *value;
    pick_relation relation;
    bool met; /* a shot said something about the key */
} pick_condition;

/* KEY=VALUE, and != < <= > >=.  SHOT_ERR_USAGE with a sentence; *out is then empty. */
shot_status pick_condition_read(const char *text, pick_condition *out, shot_error *error);

/* Does the shot fit?  Numbers are compared as numbers, in whatever unit of one kind they come;
 * texts can only be equal or not.  The key `shot` is the name.  A shot that says nothing about the
 * key fits != alone.  SHOT_ERR_UNIT with a sentence where the units cannot be compared. */
shot_status pick_condition_holds(pick_condition *condition, const shot_head *head, bool *holds,
                                 shot_error *error);

void pick_condition_free(pick_condition *condition);

#endif
