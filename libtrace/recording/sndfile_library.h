/* SPDX-License-Identifier: GPL-3.0-or-later */
/* libsndfile, loaded when the first recording comes.
 *
 * It stands on half a dozen libraries of audio codecs.  A program that reads logs of text must not
 * load them at each start, nor need them installed, so nothing is linked: the calls are looked up
 * at run time, and only their types come from its header. */
#ifndef SHOT_RECORDING_SNDFILE_LIBRARY_H
#define SHOT_RECORDING_SNDFILE_LIBRARY_H

#include <sndfile.h>

#include <shottrace/status.h>

typedef struct shot_sndfile {
    void *handle;
    SNDFILE *(*open_virtual)(SF_VIRTUAL_IO *, int, SF_INFO *, void *);
    int (*close)(SNDFILE *);
    sf_count_t (*readf_double)(SNDFILE *, double *, sf_count_t);
    sf_count_t (*writef_double)(SNDFILE *, const double *, sf_count_t);
    sf_count_t (*writef_int)(SNDFILE *, const int *, sf_count_t);
    const char *(*strerror)(SNDFILE *);
    int (*command)(SNDFILE *, int, void *, int);
    int (*format_check)(const SF_INFO *);
    const char *(*get_string)(SNDFILE *, int);
    int (*set_string)(SNDFILE *, int, const char *);
} shot_sndfile;

/* SHOT_ERR_DATA, with the name of what to install, if it is not there. */
shot_status shot_sndfile_load(shot_sndfile *out, shot_error *error);
/* Calls fetched before must not be used any more.  A zeroed one is fine. */
void shot_sndfile_unload(shot_sndfile *library);

#endif
