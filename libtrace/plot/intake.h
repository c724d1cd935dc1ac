/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What comes in: traces go to the reader, tables of other filters are kept as text.  Which it is
 * shows in the first line of each file that is no comment. */
#ifndef SHOT_PLOT_INTAKE_H
#define SHOT_PLOT_INTAKE_H

#include <shottrace/trace/description.h>
#include <shottrace/trace/table_list.h>
#include <shottrace/trace/text.h>

typedef enum plot_intake_kind {
    PLOT_TRACES,
    PLOT_MEASURES,  /* of shot-report --format csv */
    PLOT_CONTRASTS, /* of shot-compare --format csv */
    PLOT_SPECTRA,   /* of shot-spectrum --table */
    PLOT_SWEEP      /* of shot-sweep --format curve */
} plot_intake_kind;

typedef struct plot_intake {
    shot_source *reader; /* drives the collector */
    shot_table_collector collector;
    plot_intake_kind kind;
    shot_text table;   /* all lines of the tables, one header first */
    shot_text waiting; /* bytes of a file whose kind has not shown yet */
    shot_text name;    /* of that file */
    bool deciding, is_table, any;
} plot_intake;

/* `done` is called once, with all shots collected or all lines in `table`; also where the stream
 * was cut, before the error of the reader is returned. */
shot_status plot_intake_init(plot_intake *intake, const shot_making *making,
                             shot_status (*done)(void *user, shot_error *error), void *user,
                             shot_error *error);
shot_status plot_intake_file(plot_intake *intake, const char *name, shot_error *error);
shot_status plot_intake_push(plot_intake *intake, const char *bytes, size_t count,
                             shot_error *error);
shot_status plot_intake_file_end(plot_intake *intake, bool lost, shot_error *error);
shot_status plot_intake_finish(plot_intake *intake, shot_error *error);
void plot_intake_free(plot_intake *intake);

#endif
