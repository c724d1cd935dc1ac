/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tracks become the bytes of a recording. */
#include "recording/recording_writer.h"

#include <limits.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/sndfile_library.h"

typedef struct container {
    const char *name;
    int format;
    const char *finest; /* the samples that are taken where none are said */
    bool small;         /* its lengths have 32 bits */
    size_t words;       /* bytes of them that it has a place for */
} container;

/* More than these libsndfile 1.2 writes and leaves out when it reads, or reads the file no more
 * (measured: 2,034 bytes of a comment in WAV, 8,178 in AIFF, 16,355 in CAF come back; a block
 * of FLAC has 24 bits for its length, RFC 9639, 8.1). */
enum { WAV_WORDS = 2000, AIFF_WORDS = 8000, CAF_WORDS = 16000, FLAC_WORDS = 16000000 };

static const container containers[] = {
    {"wav", SF_FORMAT_WAV, "f64", true, WAV_WORDS},
    {"w64", SF_FORMAT_W64, "f64", false, 0},
    {"rf64", SF_FORMAT_RF64, "f64", false, WAV_WORDS},
    {"flac", SF_FORMAT_FLAC, "s24", false, FLAC_WORDS},
    {"aiff", SF_FORMAT_AIFF, "f64", true, AIFF_WORDS},
    {"caf", SF_FORMAT_CAF, "f64", false, CAF_WORDS},
    {"au", SF_FORMAT_AU, "f64", true, 0},
    {"mat5", SF_FORMAT_MAT5, "f64", true, 0},
    {"mat4", SF_FORMAT_MAT4, "f64", true, 0},
    {"raw", SF_FORMAT_RAW | SF_ENDIAN_LITTLE, "f64", false, 0},
};

static const struct sample_form {
    const char *name;
    int format, bits; /* 0: floating point */
    size_t bytes;
} sample_forms[] = {
    {"f64", SF_FORMAT_DOUBLE, 0, 8},  {"f32", SF_FORMAT_FLOAT, 0, 4},
    {"s32", SF_FORMAT_PCM_32, 32, 4}, {"s24", SF_FORMAT_PCM_24, 24, 3},
    {"s16", SF_FORMAT_PCM_16, 16, 2},
};

enum { SAMPLE_FORMS = sizeof sample_forms / sizeof *sample_forms, AT_ONCE = 4096 };

/* Room for a header, where lengths have 32 bits. */
static const double MOST_SMALL_BYTES = 4e9;

static const container *container_of(const char *name) {
    for (size_t i = 0; i < sizeof containers / sizeof *containers; i++)
        if (strcmp(containers[i].name, name) == 0)
            return &containers[i];
    return NULL;
}

static const struct sample_form *samples_of(const shot_recording_plan *plan) {
    const char *name =
        plan->samples != NULL ? plan->samples : container_of(plan->container)->finest;
    for (size_t i = 0; i < SAMPLE_FORMS; i++)
        if (strcmp(sample_forms[i].name, name) == 0)
            return &sample_forms[i];
    return NULL;
}

size_t shot_recording_words(const char *name) {
    return container_of(name)->words;
}

int shot_recording_bits(const shot_recording_plan *plan) {
    const struct sample_form *samples = samples_of(plan);
    return samples != NULL ? samples->bits : 0;
}

/* ------------------------------------------------------------------- bytes of libsndfile ------ */

/* A file in memory. */
typedef struct memory {
    shot_text *text;
    size_t start; /* where it begins in the text */
    sf_count_t place;
    bool full; /* an allocation failed */
} memory;

static sf_count_t get_length(void *user) {
    const memory *file = user;
    return (sf_count_t)(file->text->length - file->start);
}

static sf_count_t seek(sf_count_t offset, int whence, void *user) {
    memory *file = user;
    sf_count_t base = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? file->place : get_length(user);
    if (base + offset < 0)
        return -1;
    return file->place = base + offset;
}

static sf_count_t tell(void *user) {
    return ((memory *)user)->place;
}

static sf_count_t read_bytes(void *out, sf_count_t count, void *user) {
    memory *file = user;
    sf_count_t rest = get_length(user) - file->place;
    count = count < rest ? count : rest;
    if (count <= 0)
        return 0;
    memcpy(out, file->text->bytes + file->start + file->place, (size_t)count);
    file->place += count;
    return count;
}

/* Make the file reach that far, with zeros. */
static bool reach(memory *file, sf_count_t end) {
    sf_count_t more = end - get_length(file);
    if (more <= 0)
        return true;
    if (shot_text_reserve(file->text, (size_t)more) != SHOT_OK) {
        file->full = true;
        return false;
    }
    memset(file->text->bytes + file->text->length, 0, (size_t)more + 1);
    file->text->length += (size_t)more;
    return true;
}

static sf_count_t write_bytes(const void *bytes, sf_count_t count, void *user) {
    memory *file = user;
    if (count <= 0 || !reach(file, file->place + count))
        return 0;
    memcpy(file->text->bytes + file->start + file->place, bytes, (size_t)count);
    file->place += count;
    return count;
}

/* ------------------------------------------------------------------- what cannot be held ------ */

static SF_INFO info_of(const shot_recording_plan *plan, const struct sample_form *samples) {
    return (SF_INFO){.samplerate = plan->rate,
                     .channels = plan->tracks < INT_MAX ? (int)plan->tracks : INT_MAX,
                     .format = container_of(plan->container)->format | samples->format};
}

/* Name the samples that the container holds. */
static shot_status wrong_samples(const shot_sndfile *library, const shot_recording_plan *plan,
                                 shot_error *error) {
    char held[8 * SAMPLE_FORMS] = "";
    for (size_t i = 0; i < SAMPLE_FORMS; i++) {
        SF_INFO info = info_of(plan, &sample_forms[i]);
        if (!library->format_check(&info))
            continue;
        strcat(held, held[0] != '\0' ? ", " : "");
        strcat(held, sample_forms[i].name);
    }
    if (held[0] == '\0')
        return shot_fail(error, SHOT_ERR_USAGE, "%s cannot hold %zu tracks at %d Hz",
                         plan->container, plan->tracks, plan->rate);
    return shot_fail(error, SHOT_ERR_USAGE, "%s holds no samples of the form %s, but %s",
                     plan->container, samples_of(plan)->name, held);
}

static shot_status check(const shot_sndfile *library, const shot_recording_plan *plan,
                         shot_error *error) {
    const struct sample_form *samples = samples_of(plan);
    SF_INFO info = info_of(plan, samples);
    if (!library->format_check(&info))
        return wrong_samples(library, plan, error);
    double bytes = (double)samples->bytes * (double)plan->tracks * (double)plan->frames;
    if (container_of(plan->container)->small && bytes > MOST_SMALL_BYTES)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "%s holds no more than 4 GB, and this would be %.1f; w64, rf64 and caf do",
                         plan->container, bytes / 1e9);
    return SHOT_OK;
}

/* --------------------------------------------------------------------------- the samples ------ */

/* A whole number of `bits`, in the upper bits of an int, as libsndfile takes it. */
static int whole_number(double sample, int bits) {
    double full = ldexp(1, bits - 1), value = rint(sample * full);
    value = fmin(fmax(value, -full), full - 1);
    return (int)(value * ldexp(1, 32 - bits));
}

typedef struct pieces {
    double *values; /* [AT_ONCE][tracks] */
    int *wholes;
} pieces;

static void lay_out(const shot_recording_plan *plan, const double *const *track, size_t at,
                    size_t count, int bits, pieces *out) {
    for (size_t c = 0; c < plan->tracks; c++)
        for (size_t i = 0; i < count; i++) {
            const double value = track[c][at + i];
            out->values[i * plan->tracks + c] = value;
            if (bits > 0)
                out->wholes[i * plan->tracks + c] = whole_number(value, bits);
        }
}

static bool write_frames(const shot_sndfile *library, SNDFILE *file,
                         const shot_recording_plan *plan, const double *const *track,
                         pieces *room) {
    const int bits = shot_recording_bits(plan);
    for (size_t at = 0; at < plan->frames; at += AT_ONCE) {
        size_t count = plan->frames - at < AT_ONCE ? plan->frames - at : AT_ONCE;
        lay_out(plan, track, at, count, bits, room);
        sf_count_t written = bits > 0
                                 ? library->writef_int(file, room->wholes, (sf_count_t)count)
                                 : library->writef_double(file, room->values, (sf_count_t)count);
        if (written != (sf_count_t)count)
            return false;
    }
    return true;
}

/* ----------------------------------------------------------------------------- the whole ------ */

/* libsndfile writes the time of day into the text that opens a MAT-file 5.  The title stands there
 * instead, so that the same samples give the same bytes. */
static void set_opening(const shot_recording_plan *plan, char *bytes, size_t count) {
    enum { ROOM = 116 };
    char text[ROOM];
    if (strcmp(plan->container, "mat5") != 0 || count < ROOM)
        return;
    snprintf(text, sizeof text, "MATLAB 5.0 MAT-file, %s", plan->title);
    memset(bytes, ' ', ROOM);
    memcpy(bytes, text, strlen(text) + 1); /* libsndfile needs its NUL */
}

/* What fails though there is a place for words is the memory for them. */
static bool set_words(const shot_sndfile *library, SNDFILE *file, const shot_recording_plan *plan) {
    return library->set_string(file, SF_STR_TITLE, plan->title) == 0 &&
           (plan->comment == NULL || library->set_string(file, SF_STR_COMMENT, plan->comment) == 0);
}

static shot_status cannot_write(const shot_sndfile *library, SNDFILE *file,
                                const shot_recording_plan *plan, const memory *bytes,
                                shot_error *error) {
    if (bytes->full)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for a recording");
    return shot_fail(error, SHOT_ERR_USAGE, "%s with %zu tracks at %d Hz cannot be written: %s",
                     plan->container, plan->tracks, plan->rate, library->strerror(file));
}

static shot_status write_file(const shot_sndfile *library, const shot_recording_plan *plan,
                              const double *const *track, pieces *room, shot_text *out,
                              shot_error *error) {
    SF_VIRTUAL_IO io = {get_length, seek, read_bytes, write_bytes, tell};
    memory bytes = {out, out->length, 0, false};
    SF_INFO info = info_of(plan, samples_of(plan));
    SNDFILE *file = library->open_virtual(&io, SFM_WRITE, &info, &bytes);
    if (file == NULL)
        return cannot_write(library, NULL, plan, &bytes, error);
    /* the chunk of peaks bears the time of day */
    library->command(file, SFC_SET_ADD_PEAK_CHUNK, NULL, SF_FALSE);
    if (container_of(plan->container)->words > 0 && !set_words(library, file, plan))
        bytes.full = true;
    shot_status status = SHOT_OK;
    if (bytes.full || !write_frames(library, file, plan, track, room))
        status = cannot_write(library, file, plan, &bytes, error);
    library->close(file);
    if (status == SHOT_OK && bytes.full)
        status = cannot_write(library, NULL, plan, &bytes, error);
    if (status == SHOT_OK)
        set_opening(plan, out->bytes + bytes.start, out->length - bytes.start);
    return status;
}

shot_status shot_recording_encode(const shot_recording_plan *plan, const double *const *track,
                                  shot_text *out, shot_error *error) {
    shot_sndfile library;
    pieces room = {malloc((AT_ONCE * plan->tracks + 1) * sizeof *room.values),
                   malloc((AT_ONCE * plan->tracks + 1) * sizeof *room.wholes)};
    shot_status status = room.values == NULL || room.wholes == NULL
                             ? shot_fail(error, SHOT_ERR_MEMORY, "out of memory for a recording")
                             : shot_sndfile_load(&library, error);
    if (status == SHOT_OK) {
        status = check(&library, plan, error);
        if (status == SHOT_OK)
            status = write_file(&library, plan, track, &room, out, error);
        shot_sndfile_unload(&library);
    }
    free(room.values);
    free(room.wholes);
    return status;
}
