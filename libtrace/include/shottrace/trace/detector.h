/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all detectors share: rows pass on unchanged and at once, and the shot is kept beside them;
 * at its end the detector looks at the whole and adds its marks before the end goes on.
 *
 *     static shot_status find(const shot_table *shot, const void *settings, shot_findings *found,
 *                             shot_error *error);
 *     static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
 *         return shot_detector_new(making, find, out, error);
 *     }
 *
 * A detector that can tell of an event before the shot has ended has a watch as well, which looks
 * after each row and sends provisional marks (shot_watch, below).
 */
#ifndef SHOTTRACE_TRACE_DETECTOR_H
#define SHOTTRACE_TRACE_DETECTOR_H

#include <shottrace/trace/description.h>
#include <shottrace/trace/table.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What a detector hands back; the caller owns and frees it. */
typedef struct shot_findings {
    shot_mark_list marks;
    shot_line *lines; /* `# note: ...` and the like, said before the marks */
    size_t line_count;
    shot_text told; /* for the person at the terminal, each sentence with a line end behind it */
} shot_findings;

/* Add a copy of the mark. */
SHOT_API shot_status shot_findings_add(shot_findings *found, const shot_mark *mark);
/* A line `# note: shot-NAME: ...`: a reason in words for what cannot be known.  Pass the name of
 * the filter. */
SHOT_API shot_status shot_findings_note(shot_findings *found, const char *filter,
                                        const char *format, ...) SHOT_PRINTF(3, 4);
/* What a person should hear beside the note of it: that a channel which they named is not there. */
SHOT_API shot_status shot_findings_tell_missing(shot_findings *found, const shot_head *head,
                                                const char *channel);
SHOT_API void shot_findings_free(shot_findings *found);

/* The function that looks at a whole shot.  Marks that it adds without an id get one: the first
 * letters of the kind's words and the first free number (k1, s2, fd1); times are rounded to a
 * microsecond and figures to six digits. */
typedef shot_status (*shot_detect)(const shot_table *shot, const void *settings,
                                   shot_findings *found, shot_error *error);

/* What looks while samples arrive.
 *
 * `look` is called once after each row, with the shot as it was when that row came: rows, marks
 * and lines up to there and none beyond, so that what it decides cannot depend on how rows arrive.
 * It must cost the same however long the shot is: a recursive statistic, never the whole again.
 * What it finds goes on behind that row and before the next one.
 *
 * A mark of a watch is provisional: it has no `to` or no intervals yet.  Without an id it gets one
 * of shot_provisional_id; a watch that replaces or withdraws a mark of its own before the end takes
 * ids from there itself.
 *
 * At the end of the shot `detect` looks at the whole as ever.  Each mark of the watch that still
 * stands is then refined by the nearest final mark of its kind whose `from` lies within `apart`
 * seconds, one to one; one that has none is withdrawn (a mark `note` refines it, with
 * the reason). */
typedef struct shot_watch {
    size_t size; /* of the state, zeroed at the beginning of each shot */
    shot_status (*look)(void *state, const shot_table *shot, const void *settings,
                        shot_findings *found, shot_error *error);
    void (*free)(void *state); /* what the state owns; NULL: nothing */
    double apart;              /* s */
} shot_watch;

/* The id of a provisional mark: its whole kind and the first free number (surge-1), so that it
 * takes none from final marks.  The same detector may stand in a chain again, and cannot know what
 * the one before will tell of later rows: its ids bear its turn as well (surge-2-1).  Owned by the
 * caller. */
SHOT_API shot_status shot_provisional_id(const shot_table *shot, const char *kind, char **out);

/* A detector that speaks at the end of each shot.  SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_detector_new(const shot_making *making, shot_detect detect,
                                       shot_sink **out, shot_error *error);

/* A detector that has a watch, borrowed for the life of what is made; NULL: none.  SHOT_ERR_MEMORY.
 */
SHOT_API shot_status shot_detector_new_watching(const shot_making *making, const shot_watch *watch,
                                                shot_detect detect, shot_sink **out,
                                                shot_error *error);

/* The latency of a detector without a watch, for its description. */
SHOT_API void shot_detector_latency(const void *settings, char *out, size_t room);

#ifdef __cplusplus
}
#endif
#endif
