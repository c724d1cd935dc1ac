/* SPDX-License-Identifier: GPL-3.0-or-later */
/* libsndfile, loaded when the first recording comes. */
#include "recording/sndfile_library.h"

#include <dlfcn.h>
#include <stdbool.h>
#include <string.h>

/* The name that its binary interface has kept since version 1.0. */
static const char soname[] = "libsndfile.so.1";

/* A pointer to a function from one to data, as POSIX.1-2008, dlsym, shows it. */
static bool fetch(void *handle, const char *name, void *place) {
    void *found = dlsym(handle, name);
    memcpy(place, &found, sizeof found);
    return found != NULL;
}

static bool fetch_all(shot_sndfile *l) {
    return fetch(l->handle, "sf_open_virtual", &l->open_virtual) &&
           fetch(l->handle, "sf_close", &l->close) &&
           fetch(l->handle, "sf_readf_double", &l->readf_double) &&
           fetch(l->handle, "sf_writef_double", &l->writef_double) &&
           fetch(l->handle, "sf_writef_int", &l->writef_int) &&
           fetch(l->handle, "sf_strerror", &l->strerror) &&
           fetch(l->handle, "sf_command", &l->command) &&
           fetch(l->handle, "sf_format_check", &l->format_check) &&
           fetch(l->handle, "sf_get_string", &l->get_string) &&
           fetch(l->handle, "sf_set_string", &l->set_string);
}

shot_status shot_sndfile_load(shot_sndfile *out, shot_error *error) {
    *out = (shot_sndfile){.handle = dlopen(soname, RTLD_NOW | RTLD_LOCAL)};
    if (out->handle != NULL && fetch_all(out))
        return SHOT_OK;
    shot_sndfile_unload(out);
    return shot_fail(error, SHOT_ERR_DATA,
                     "recordings need libsndfile (%s), which cannot be loaded; install it "
                     "(Debian: libsndfile1)",
                     soname);
}

void shot_sndfile_unload(shot_sndfile *library) {
    if (library->handle != NULL)
        dlclose(library->handle);
    *library = (shot_sndfile){0};
}
