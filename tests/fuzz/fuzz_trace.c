/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a trace: handed on or refused with a message, the same in any blocks; and what was
 * handed on is handed on again without a change. */
#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    const char *bytes = (const char *)data;
    shot_text whole = {0}, parts = {0};
    shot_status status = fuzz_trace(bytes, size, size + 1, &whole);
    FUZZ_CHECK(fuzz_trace(bytes, size, size > 0 ? data[size / 2] % 13 + 1 : 1, &parts) == status);
    FUZZ_CHECK(whole.length == parts.length);
    FUZZ_CHECK(memcmp(whole.bytes, parts.bytes, whole.length) == 0);
    if (status == SHOT_OK)
        fuzz_check_trace(&whole);
    shot_text_free(&whole);
    shot_text_free(&parts);
    return 0;
}
