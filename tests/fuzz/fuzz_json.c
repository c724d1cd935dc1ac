/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as JSON: what does not begin as JSON is put into a list, so that the fuzzer's time goes
 * where the JSON reader is. */
#include "fuzz.h"

static const char *const calls[] = {
    "read",
    "read --rate 10",
    "read --name-column b --value-column c",
    "read --by shot --explain",
    "read --clock ms --missing x",
    "read --map time=a --map pressure=b --unit pressure=psi --strict",
};

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (size > 0 && (data[0] == '{' || data[0] == '[')) {
        fuzz_foreign(calls, sizeof calls / sizeof *calls, data, size);
        return 0;
    }
    uint8_t *list = malloc(size + 1);
    if (list == NULL)
        return 0;
    list[0] = '[';
    if (size > 0)
        memcpy(list + 1, data, size);
    fuzz_foreign(calls, sizeof calls / sizeof *calls, list, size + 1);
    free(list);
    return 0;
}
