/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Recordings cut into frames, as their bytes arrive. */
#include "recording/recording_reader.h"

#include <pthread.h>
#include <semaphore.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

#include "recording/recording_window.h"
#include "recording/sndfile_library.h"

enum {
    SAMPLES = 32 * 1024, /* handed on at once, */
    LATENCY_RATE = 5,    /* but so many times a second at least */
    FASTEST = 100000000  /* Hz; no recorder of gauges comes near (common practice, no source) */
};

/* What the thread has come to when it gives the turn back. */
typedef enum event { WANTS_BYTES, ABOUT, FRAMES, ENDED } event;

struct shot_recording {
    shot_sndfile library;
    shot_recording_calls calls;
    shot_recording_raw raw;
    int raw_format;
    shot_window window;

    pthread_t thread;
    sem_t thread_turn, owner_turn; /* whose turn it is */
    bool running;                  /* there is a thread */
    bool abandoned;                /* the thread is to come to an end */

    event event;
    shot_recording_about about;
    double *frames; /* [SAMPLES], at least one frame */
    size_t count;   /* frames in it */
    double promised, came;
    shot_status status; /* how the thread ended */
    shot_error error;
};

/* ------------------------------------------------------------------------------------ turns -- */

static void wait_for(sem_t *turn) {
    while (sem_wait(turn) != 0) /* a signal came */
        ;
}

/* The owner lets the thread work until it has come to something. */
static void resume(shot_recording *self) {
    sem_post(&self->thread_turn);
    wait_for(&self->owner_turn);
}

/* The thread has come to something and waits for its next turn. */
static void yield(shot_recording *self, event what) {
    self->event = what;
    sem_post(&self->owner_turn);
    if (what != ENDED)
        wait_for(&self->thread_turn);
}

/* ------------------------------------------------------------------- bytes for libsndfile ----- */

/* The length is not known; this says that it is longer than any file. */
static sf_count_t get_length(void *user) {
    return (sf_count_t)1 << 50;
}

static sf_count_t seek(sf_count_t offset, int whence, void *user) {
    shot_window *window = &((shot_recording *)user)->window;
    sf_count_t base = whence == SEEK_SET   ? 0
                      : whence == SEEK_CUR ? window->place
                                           : get_length(user);
    if (offset < -base || offset > ((sf_count_t)1 << 60))
        return -1;
    window->place = base + offset;
    return window->place;
}

static sf_count_t read_bytes(void *out, sf_count_t count, void *user) {
    shot_recording *self = user;
    if (count <= 0)
        return 0;
    while (!self->abandoned && shot_window_lacks(&self->window, (size_t)count) > 0)
        yield(self, WANTS_BYTES);
    return self->abandoned ? 0 : (sf_count_t)shot_window_read(&self->window, out, (size_t)count);
}

static sf_count_t write_bytes(const void *bytes, sf_count_t count, void *user) {
    return 0;
}

static sf_count_t tell(void *user) {
    return ((shot_recording *)user)->window.place;
}

/* ----------------------------------------------------------------------------- the thread ----- */

/* True if samples of that encoding are stored as numbers of their own, not as fractions. */
static bool stores_values(int format) {
    int encoding = format & SF_FORMAT_SUBMASK, form = format & SF_FORMAT_TYPEMASK;
    return (encoding == SF_FORMAT_FLOAT || encoding == SF_FORMAT_DOUBLE) && form != SF_FORMAT_OGG;
}

static double bytes_of_sample(int format) {
    switch (format & SF_FORMAT_SUBMASK) {
    case SF_FORMAT_PCM_16:
        return 2;
    case SF_FORMAT_PCM_24:
        return 3;
    case SF_FORMAT_PCM_32:
    case SF_FORMAT_FLOAT:
        return 4;
    case SF_FORMAT_DOUBLE:
        return 8;
    default:
        return 1;
    }
}

/* How many frames the header promises, 0 if it does not know.  Programs that write into a pipe
 * leave the largest length that the field holds, of 31 or 32 bits, or one a header short of it;
 * where there is no length, libsndfile takes it from the stream, which seems endless. */
static double promise(const SF_INFO *info) {
    double bytes = (double)info->frames * info->channels * bytes_of_sample(info->format);
    bool unknown = (bytes >= 0x7fff0000 && bytes < 0x80000000) ||
                   (bytes >= 0xffff0000 && bytes <= 0xffffffff) || bytes >= 0x1p48;
    return unknown ? 0 : (double)info->frames;
}

static shot_status check_about(shot_recording *self, const SF_INFO *info) {
    if (info->samplerate <= 0 || info->samplerate > FASTEST)
        return shot_fail(&self->error, SHOT_ERR_DATA, "the recording gives its rate as %d Hz",
                         info->samplerate);
    if (info->channels <= 0)
        return shot_fail(&self->error, SHOT_ERR_DATA, "the recording has no track");
    return SHOT_OK;
}

static shot_status tell_about(shot_recording *self, SNDFILE *file, const SF_INFO *info) {
    SHOT_TRY(check_about(self, info));
    size_t tracks = (size_t)info->channels, room = SAMPLES > tracks ? SAMPLES : tracks;
    self->frames = malloc(room * sizeof *self->frames);
    if (self->frames == NULL)
        return shot_fail(&self->error, SHOT_ERR_MEMORY, "out of memory for a recording");
    self->promised = promise(info);
    self->about =
        (shot_recording_about){.rate = self->raw.form != NULL ? self->raw.rate : info->samplerate,
                               .tracks = tracks,
                               .fractions = !stores_values(info->format),
                               .comment = self->library.get_string(file, SF_STR_COMMENT)};
    yield(self, ABOUT);
    return SHOT_OK;
}

/* Frames to read at once: as many as the bytes at hand hold, within bounds.  Packed ones hold more
 * than is reckoned here; then there is merely another read. */
static size_t frames_at_once(const shot_recording *self, double frame_bytes, size_t few,
                             size_t most) {
    const shot_window *window = &self->window;
    double bytes = (double)(window->start + (int64_t)window->held.length - window->place);
    double frames = bytes / frame_bytes;
    return frames > (double)most ? most : frames > (double)few ? (size_t)frames : few;
}

static void hand_on_frames(shot_recording *self, SNDFILE *file, const SF_INFO *info) {
    const size_t tracks = self->about.tracks, most = SAMPLES > tracks ? SAMPLES / tracks : 1;
    const double frame_bytes = bytes_of_sample(info->format) * (double)tracks;
    size_t few = most; /* a live one must not wait for more */
    if (self->about.rate < LATENCY_RATE * (double)most)
        few = (size_t)(self->about.rate / LATENCY_RATE) + 1;
    while (!self->abandoned) {
        sf_count_t count = self->library.readf_double(
            file, self->frames, (sf_count_t)frames_at_once(self, frame_bytes, few, most));
        if (count <= 0 || self->abandoned)
            return;
        self->count = (size_t)count;
        self->came += (double)count;
        yield(self, FRAMES);
    }
}

static SNDFILE *open_file(shot_recording *self, SF_INFO *info) {
    SF_VIRTUAL_IO io = {get_length, seek, read_bytes, write_bytes, tell};
    *info = (SF_INFO){0};
    if (self->raw.form != NULL)
        *info = (SF_INFO){
            .samplerate = 1, .channels = (int)self->raw.tracks, .format = self->raw_format};
    return self->library.open_virtual(&io, SFM_READ, info, self);
}

/* The one sentence of libsndfile that tells a person nothing. */
static shot_status cannot_open(shot_recording *self) {
    const char *why = self->library.strerror(NULL);
    if (strstr(why, "SF_INFO") != NULL)
        why = "its header gives no rate, or no track";
    return shot_fail(&self->error, SHOT_ERR_DATA, "the recording cannot be read: %s", why);
}

static shot_status decode(shot_recording *self) {
    SF_INFO info;
    SNDFILE *file = open_file(self, &info);
    if (file == NULL)
        return cannot_open(self);
    self->window.settled = true;
    shot_status status = tell_about(self, file, &info);
    if (status == SHOT_OK)
        hand_on_frames(self, file, &info);
    self->library.close(file);
    return status;
}

static void *run(void *user) {
    shot_recording *self = user;
    wait_for(&self->thread_turn);
    if (!self->abandoned)
        self->status = decode(self);
    yield(self, ENDED);
    return NULL;
}

/* ------------------------------------------------------------------------------- the owner ---- */

static const struct {
    const char *name;
    int format;
} raw_forms[] = {
    {"s8", SF_FORMAT_PCM_S8},
    {"u8", SF_FORMAT_PCM_U8},
    {"s16le", SF_FORMAT_PCM_16 | SF_ENDIAN_LITTLE},
    {"s16be", SF_FORMAT_PCM_16 | SF_ENDIAN_BIG},
    {"s24le", SF_FORMAT_PCM_24 | SF_ENDIAN_LITTLE},
    {"s24be", SF_FORMAT_PCM_24 | SF_ENDIAN_BIG},
    {"s32le", SF_FORMAT_PCM_32 | SF_ENDIAN_LITTLE},
    {"s32be", SF_FORMAT_PCM_32 | SF_ENDIAN_BIG},
    {"f32le", SF_FORMAT_FLOAT | SF_ENDIAN_LITTLE},
    {"f32be", SF_FORMAT_FLOAT | SF_ENDIAN_BIG},
    {"f64le", SF_FORMAT_DOUBLE | SF_ENDIAN_LITTLE},
    {"f64be", SF_FORMAT_DOUBLE | SF_ENDIAN_BIG},
};

enum { MOST_TRACKS = 1024 }; /* of libsndfile */

static shot_status set_raw(shot_recording *self, const shot_recording_raw *raw, shot_error *error) {
    self->raw = *raw;
    if (raw->form == NULL)
        return SHOT_OK;
    for (size_t i = 0; i < sizeof raw_forms / sizeof *raw_forms; i++)
        if (strcmp(raw->form, raw_forms[i].name) == 0) {
            self->raw.form = raw_forms[i].name;
            self->raw_format = SF_FORMAT_RAW | raw_forms[i].format;
        }
    if (self->raw_format == 0)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "'%.40s' is no form of raw samples; one is s16le, others are s8, u8, s24, "
                         "s32, f32, f64 with le or be",
                         raw->form);
    if (!(raw->rate > 0))
        return shot_fail(error, SHOT_ERR_USAGE, "raw samples need their rate; say --rate 48000");
    if (raw->tracks < 1 || raw->tracks > MOST_TRACKS)
        return shot_fail(error, SHOT_ERR_USAGE, "a recording has 1 to %d tracks, not %zu",
                         MOST_TRACKS, raw->tracks);
    return SHOT_OK;
}

/* A thread that takes no signal: they belong to the program. */
static bool start_thread(shot_recording *self) {
    sigset_t all, before;
    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    self->running = pthread_create(&self->thread, NULL, run, self) == 0;
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return self->running;
}

shot_status shot_recording_new(const shot_recording_raw *raw, const shot_recording_calls *calls,
                               shot_recording **out, shot_error *error) {
    *out = NULL;
    shot_recording *self = calloc(1, sizeof *self);
    if (self == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for a recording");
    self->calls = *calls;
    self->event = WANTS_BYTES;
    sem_init(&self->thread_turn, 0, 0);
    sem_init(&self->owner_turn, 0, 0);
    shot_status status = set_raw(self, raw, error);
    if (status == SHOT_OK)
        status = shot_sndfile_load(&self->library, error);
    if (status == SHOT_OK && !start_thread(self))
        status = shot_fail(error, SHOT_ERR_MEMORY, "no thread can be made for a recording");
    if (status != SHOT_OK) {
        shot_recording_free(self);
        return status;
    }
    *out = self;
    return SHOT_OK;
}

static shot_status hand_on(shot_recording *self, shot_error *error) {
    if (self->event == ABOUT)
        return self->calls.about(self->calls.user, &self->about, error);
    return self->calls.frames(self->calls.user, self->frames, self->count, error);
}

/* Let the thread work until it wants bytes or has ended. */
static shot_status work(shot_recording *self, shot_error *error) {
    do {
        resume(self);
        if (self->event == ABOUT || self->event == FRAMES)
            SHOT_TRY(hand_on(self, error));
    } while (self->event == ABOUT || self->event == FRAMES);
    if (self->event == ENDED && self->status != SHOT_OK)
        return shot_fail(error, self->status, "%s", self->error.what);
    return SHOT_OK;
}

shot_status shot_recording_push(shot_recording *self, const char *bytes, size_t count,
                                shot_error *error) {
    if (self->event == ENDED || count == 0)
        return SHOT_OK;
    if (shot_window_add(&self->window, bytes, count) != SHOT_OK)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for a recording");
    return work(self, error);
}

shot_status shot_recording_finish(shot_recording *self, shot_error *error) {
    self->window.complete = true;
    return self->event != ENDED ? work(self, error) : SHOT_OK;
}

shot_status shot_recording_shortfall(const shot_recording *self, shot_error *error) {
    if (self->came >= self->promised)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_DATA,
                     "the recording ends after %.0f of %.0f frames; what came was handed on",
                     self->came, self->promised);
}

void shot_recording_free(shot_recording *self) {
    if (self == NULL)
        return;
    if (self->running) {
        self->abandoned = true;
        while (self->event != ENDED)
            resume(self);
        pthread_join(self->thread, NULL);
    }
    sem_destroy(&self->thread_turn);
    sem_destroy(&self->owner_turn);
    shot_sndfile_unload(&self->library);
    shot_window_free(&self->window);
    free(self->frames);
    free(self);
}
