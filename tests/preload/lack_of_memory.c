/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An allocator whose FAIL_AT-th call fails, for LD_PRELOAD; with COUNT_TO it writes to that file
 * how many calls there were.  Those that libraries make count too: which is which cannot be told.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#pragma GCC visibility push(default) /* or nothing of it takes the place of the system's */

static void *(*next_malloc)(size_t), *(*next_calloc)(size_t, size_t),
    *(*next_realloc)(void *, size_t);
static long calls, fail_at = -1;
static int counting;

/* dlsym itself may ask for memory before the next calloc is known. */
static char early[4096];
static size_t early_used;

static void *next_of(const char *name) {
    return dlsym(RTLD_NEXT, name);
}

__attribute__((constructor)) static void begin(void) {
    const char *at = getenv("FAIL_AT");
    *(void **)&next_malloc = next_of("malloc");
    *(void **)&next_calloc = next_of("calloc");
    *(void **)&next_realloc = next_of("realloc");
    fail_at = at != NULL ? atol(at) : -1;
    counting = 1;
}

__attribute__((destructor)) static void end(void) {
    const char *to = getenv("COUNT_TO");
    FILE *file = to != NULL ? fopen(to, "w") : NULL;
    if (file == NULL)
        return;
    fprintf(file, "%ld\n", calls);
    fclose(file);
}

static int fails(void) {
    if (!counting || __atomic_add_fetch(&calls, 1, __ATOMIC_RELAXED) != fail_at)
        return 0;
    errno = ENOMEM;
    return 1;
}

void *malloc(size_t size) {
    if (next_malloc == NULL)
        *(void **)&next_malloc = next_of("malloc");
    return fails() ? NULL : next_malloc(size);
}

void *calloc(size_t count, size_t size) {
    static int looking;
    if (next_calloc == NULL && !looking) { /* libraries begin before us */
        looking = 1;
        *(void **)&next_calloc = next_of("calloc");
    }
    if (next_calloc != NULL)
        return fails() ? NULL : next_calloc(count, size);
    void *block = early + early_used;
    early_used += (count * size + 15) / 16 * 16;
    return early_used <= sizeof early ? block : NULL;
}

void *realloc(void *block, size_t size) {
    if (next_realloc == NULL)
        *(void **)&next_realloc = next_of("realloc");
    return fails() ? NULL : next_realloc(block, size);
}

void free(void *block) {
    static void (*next_free)(void *);
    if (next_free == NULL)
        *(void **)&next_free = next_of("free");
    if ((uintptr_t)block < (uintptr_t)early || (uintptr_t)block >= (uintptr_t)early + sizeof early)
        next_free(block);
}
