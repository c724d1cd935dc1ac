/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a foreign log: a trace or a message, the same in any blocks; and what is written is
 * a trace that the reader of traces takes without a change. */
#include "fuzz.h"

static const char *const calls[] = {
    "read",
    "read --explain --rate 10 --names a,b,c --header no",
    "read --name-column b --value-column c",
    "read --by b --decimal comma --delimiter ;",
    "read --clock ms --wrap 1000 --skip 1 --missing x",
    "read --map time=a --map pressure=b --unit pressure=psi --strict",
};

/* Small inputs go byte by byte or nearly so.  Each block ends in a pause, at which the reader may
 * look again at all that it holds back to guess from, so larger ones go in a few parts. */
static size_t block_of(size_t size, size_t kind) {
    return size <= 128 ? kind % 13 + 1 : size / (kind % 13 + 3) + 1;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    const char *bytes = (const char *)data;
    size_t kind = size > 0 ? data[size / 2] : 0; /* a third of the inputs try other options */
    const char *call = calls[kind % 3 == 0 ? kind / 3 % (sizeof calls / sizeof *calls) : 0];
    shot_text whole = {0}, parts = {0};
    shot_status status = fuzz_chain(call, bytes, size, size + 1, &whole);
    FUZZ_CHECK(fuzz_chain(call, bytes, size, block_of(size, kind), &parts) == status);
    FUZZ_CHECK(whole.length == parts.length);
    FUZZ_CHECK(memcmp(whole.bytes, parts.bytes, whole.length) == 0);
    if (status == SHOT_OK)
        fuzz_check_trace(&whole);
    shot_text_free(&whole);
    shot_text_free(&parts);
    return 0;
}
