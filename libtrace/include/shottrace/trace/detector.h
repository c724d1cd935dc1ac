/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all detectors share: rows pass on unchanged and at once, and the shot is kept beside them;
 * at its end the detector looks at the whole and adds its marks before the end goes on.
 *
 *     static shot_status find(const shot_table *shot, const void *settings, shot_findings *found,
 *                             shot_error *error);
 *     static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
 *         return shot_detector_new(making, find, out, error);
 *     }
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
} shot_findings;

SHOT_API shot_status shot_findings_add(shot_findings *found, const shot_mark *mark);
/* A line `# note: shot-NAME: ...`: a reason in words for what cannot be known.  Pass the name of
 * the filter. */
SHOT_API shot_status shot_findings_note(shot_findings *found, const char *filter,
                                        const char *format, ...) SHOT_PRINTF(3, 4);
SHOT_API void shot_findings_free(shot_findings *found);

/* The function that looks at a whole shot.  Marks that it adds without an id get one: the first
 * letters of the kind's words and the first free number (k1, s2, fd1); times are rounded to a
 * microsecond and figures to six digits. */
typedef shot_status (*shot_detect)(const shot_table *shot, const void *settings,
                                   shot_findings *found, shot_error *error);

SHOT_API shot_status shot_detector_new(const shot_making *making, shot_detect detect,
                                       shot_sink **out, shot_error *error);

/* The latency of any such detector, for its description. */
SHOT_API void shot_detector_latency(const void *settings, char *out, size_t room);

#ifdef __cplusplus
}
#endif
#endif
