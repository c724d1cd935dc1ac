/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Marks: findings that travel with the trace, tied to its time.
 *
 * Numbers that are absent are NaN, texts that are absent are NULL.  `to` absent means that the
 * finding is still open (provisional); a later mark with `refines` set to its id replaces it.  A
 * mark of kind `note` that refines one of another kind withdraws it: there was no such event.
 * `from_low .. from_high` and its kin are the interval of an estimate at `level` (0.95).
 */
#ifndef SHOTTRACE_TRACE_MARK_H
#define SHOTTRACE_TRACE_MARK_H

#include <shottrace/status.h>
#include <shottrace/trace/shot.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_mark {
    char *kind, *id;
    double from, to;                             /* s */
    double from_low, from_high, to_low, to_high; /* s */
    double value, value_low, value_high;         /* in `unit` */
    double level;                                /* 0..1 */
    char *channel, *unit, *refines, *note;
    shot_line *extras; /* key=value pairs that the library does not know, carried along */
    size_t extra_count;
} shot_mark;

/* A mark whose numbers and texts are all absent. */
SHOT_API shot_mark shot_mark_none(void);
/* Deep copy; SHOT_ERR_MEMORY leaves `out` empty. */
SHOT_API shot_status shot_mark_copy(const shot_mark *mark, shot_mark *out);
SHOT_API shot_status shot_mark_add_extra(shot_mark *mark, const char *key, const char *value);
SHOT_API void shot_mark_free(shot_mark *mark);

/* A growing list of marks, which it owns.  A zeroed list is empty. */
typedef struct shot_mark_list {
    shot_mark *marks;
    size_t count, room;
} shot_mark_list;

/* Append a copy of `mark`. */
SHOT_API shot_status shot_mark_list_add(shot_mark_list *list, const shot_mark *mark);
SHOT_API void shot_mark_list_clear(shot_mark_list *list);
SHOT_API void shot_mark_list_free(shot_mark_list *list);

/* True if mark `index` is the last word on its finding: it withdraws none, and no later mark of the
 * list refines or withdraws it. */
SHOT_API int shot_mark_list_stands(const shot_mark_list *list, size_t index);

/* Leave out all marks that do not stand, in n log n.  SHOT_ERR_MEMORY, and the list as it was. */
SHOT_API shot_status shot_mark_list_keep_standing(shot_mark_list *list);

/* The last standing mark of that kind, or NULL. */
SHOT_API const shot_mark *shot_mark_list_last(const shot_mark_list *list, const char *kind);

/* The first id PREFIX1, PREFIX2, ... that no mark of the list bears; owned by the caller. */
SHOT_API shot_status shot_mark_list_new_id(const shot_mark_list *list, const char *prefix,
                                           char **out);

/* The next id for a mark of that kind: the first letters of its words and the first free number
 * (knee: k1, first-drip: fd1; m1 where they are no letters of ASCII); owned by the caller. */
SHOT_API shot_status shot_mark_list_id_for(const shot_mark_list *list, const char *kind,
                                           char **out);

/* Is `id` one that a provisional mark of that kind bears, the whole kind and numbers (surge-1)? */
SHOT_API int shot_mark_id_is_provisional(const char *id, const char *kind);

#ifdef __cplusplus
}
#endif
#endif
