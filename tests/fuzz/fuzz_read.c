/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a foreign log. */
#include "fuzz.h"

static const char *const calls[] = {
    "read",
    "read --explain --rate 10 --names a,b,c --header no",
    "read --name-column b --value-column c",
    "read --by b --decimal comma --delimiter ;",
    "read --clock ms --wrap 1000 --skip 1 --missing x",
    "read --map time=a --map pressure=b --unit pressure=psi --strict",
};

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    fuzz_foreign(calls, sizeof calls / sizeof *calls, data, size);
    return 0;
}
