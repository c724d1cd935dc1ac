/* SPDX-License-Identifier: GPL-3.0-or-later */
/* First bytes of the forms that libsndfile reads from a stream, from the definitions of the
 * formats as its documentation lists them. */
#include "recording/recording_form.h"

#include <stdbool.h>
#include <string.h>

/* Bytes at the start, and perhaps others further on. */
typedef struct form {
    const char *name;
    size_t length, more_at, more_length;
    const char *start, *more;
} form;

#define START(name, bytes)                                                                         \
    { name, sizeof bytes - 1, 0, 0, bytes, "" }
#define START_AND(name, bytes, at, more)                                                           \
    { name, sizeof bytes - 1, at, sizeof more - 1, bytes, more }

static const form forms[] = {
    START_AND("WAV", "RIFF", 8, "WAVE"),
    START_AND("WAV", "RIFX", 8, "WAVE"),
    START_AND("RF64", "RF64", 8, "WAVE"),
    START("Wave64", "riff\x2e\x91\xcf\x11"),
    START_AND("AIFF", "FORM", 8, "AIF"),
    START_AND("8SVX", "FORM", 8, "8SVX"),
    START_AND("16SV", "FORM", 8, "16SV"),
    START("CAF", "caff\0\1"),
    START("FLAC", "fLaC"),
    START("Ogg", "OggS\0"),
    START_AND("AU", ".snd", 4, "\0"),
    START_AND("AU", "dns.", 7, "\0"),
    START("MAT-file 5", "MATLAB 5.0 MAT-file"),
    START_AND("MAT-file 4", "\0\0\0\0\1\0\0\0\1\0\0\0", 20, "samp"),
    START_AND("MAT-file 4", "\0\0\x3\xe8\0\0\0\1\0\0\0\1", 20, "samp"),
    START("NIST SPHERE", "NIST_1A\n   1024\n"),
    START("VOC", "Creative Voice File\x1a"),
    START("AVR", "2BIT\0"),
    START("PVF", "PVF1\n"),
    START("IRCAM", "\x64\xa3\1\0"),
    START("IRCAM", "\x64\xa3\2\0"),
    START("IRCAM", "\x64\xa3\3\0"),
    START("IRCAM", "\x64\xa3\4\0"),
    START("PAF", " paf\0\0\0\0"),
    START("PAF", "fap \0\0\0\0"),
    START("WVE", "ALawSoundFile**\0"),
    START(SHOT_RECORDING_LOSSY, "ID3"),
    START(SHOT_RECORDING_LOSSY, "\xff\xfb"),
    START(SHOT_RECORDING_LOSSY, "\xff\xfa"),
    START(SHOT_RECORDING_LOSSY, "\xff\xf3"),
    START(SHOT_RECORDING_LOSSY, "\xff\xf2"),
};

/* Whether `length` bytes at `at` are `wanted`, as far as there are bytes. */
static bool agrees(const char *bytes, size_t count, const char *wanted, size_t at, size_t length) {
    if (count <= at)
        return true;
    return memcmp(bytes + at, wanted, count - at < length ? count - at : length) == 0;
}

shot_recording_match shot_recording_form(const char *bytes, size_t count, const char **name) {
    shot_recording_match best = SHOT_RECORDING_NO;
    *name = NULL;
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        const form *f = &forms[i];
        if (!agrees(bytes, count, f->start, 0, f->length) ||
            !agrees(bytes, count, f->more, f->more_at, f->more_length))
            continue;
        best = SHOT_RECORDING_PERHAPS;
        if (count >= f->length && count >= f->more_at + f->more_length) {
            *name = f->name;
            return SHOT_RECORDING_YES;
        }
    }
    return best;
}
