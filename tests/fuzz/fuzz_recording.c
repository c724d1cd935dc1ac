/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a recording: a header that lies about rate, tracks or length costs no more than the
 * bytes that are there.  What begins as no recording is taken for raw samples. */
#include "fuzz.h"

static const char *const calls[] = {
    "read",
    "read --trace-rate 10",
    "read --scale pressure=0.5V:0bar,4.5V:16bar --full-scale 5V",
    "read --names pressure --scale pressure=0.1FS:0bar,0.9FS:16bar --explain",
};
static const char *const raw[] = {
    "read --raw s16le:100:2",
    "read --raw s24be:50:3 --trace-rate 10",
    "read --raw f64le:100:1",
    "read --raw u8:8000:1 --trace-rate 100",
};

static bool begins(const uint8_t *data, size_t size) {
    static const char *const magic[] = {"RIFF", "RF64", "FORM", "caff", "fLaC", ".snd",
                                        "MATL", "riff", "OggS", "Crea", "2BIT", "\x64\xa3"};
    for (size_t i = 0; i < sizeof magic / sizeof *magic; i++)
        if (size >= strlen(magic[i]) && memcmp(data, magic[i], strlen(magic[i])) == 0)
            return true;
    return false;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (begins(data, size))
        fuzz_foreign(calls, sizeof calls / sizeof *calls, data, size);
    else
        fuzz_foreign(raw, sizeof raw / sizeof *raw, data, size);
    return 0;
}
