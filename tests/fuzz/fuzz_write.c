/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a trace, exported and read back: JSON lines keep all of a trace that came whole, as
 * a second time around shows; a table is read without a loss. */
#include "fuzz.h"

/* Read, export as JSON, and read that: what the second export says is what the first one said. */
static void check_json(const shot_text *json) {
    shot_text trace = {0}, again = {0}, third = {0};
    if (fuzz_chain("read", json->bytes, json->length, json->length + 1, &trace) == SHOT_OK &&
        fuzz_chain("write --format json", trace.bytes, trace.length, 7, &again) == SHOT_OK &&
        fuzz_chain("read | write --format json", again.bytes, again.length, 5, &third) == SHOT_OK)
        FUZZ_CHECK(third.length >= again.length); /* a line of history more */
    shot_text_free(&trace);
    shot_text_free(&again);
    shot_text_free(&third);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const char *const calls[] = {"write", "write --format tsv --titles plain",
                                        "write --unit pressure=psi"};
    const char *bytes = (const char *)data;
    shot_text json = {0}, whole = {0}, parts = {0};
    if (fuzz_chain("write --format json", bytes, size, size + 1, &json) == SHOT_OK)
        check_json(&json);
    const char *call = calls[size > 0 ? data[size / 2] % 3 : 0];
    shot_status status = fuzz_chain(call, bytes, size, size + 1, &whole);
    const shot_status of_parts =
        fuzz_chain(call, bytes, size, size > 0 ? data[size / 2] % 13 + 1 : 1, &parts);
    /* where reader and writer both fail, which of them says so first may differ */
    FUZZ_CHECK((of_parts == SHOT_OK) == (status == SHOT_OK));
    FUZZ_CHECK(whole.length == parts.length);
    FUZZ_CHECK(memcmp(whole.bytes, parts.bytes, whole.length) == 0);
    shot_text_free(&json);
    shot_text_free(&whole);
    shot_text_free(&parts);
    return 0;
}
