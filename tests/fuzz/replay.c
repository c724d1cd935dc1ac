/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs a fuzz target on saved inputs, so that they are ordinary tests: every file named, and every
 * file in every folder named. */
#include "fuzz.h"

#include <dirent.h>
#include <sys/stat.h>

static size_t count;

static void run_file(const char *path) {
    shot_text bytes = {0};
    char piece[4096];
    FILE *file = fopen(path, "rb");
    FUZZ_CHECK(file != NULL);
    for (size_t n; (n = fread(piece, 1, sizeof piece, file)) > 0;)
        FUZZ_CHECK(shot_text_add_bytes(&bytes, piece, n) == SHOT_OK);
    fclose(file);
    char *exact = malloc(bytes.length > 0 ? bytes.length : 1); /* the sanitizer watches its end */
    FUZZ_CHECK(exact != NULL);
    if (bytes.length > 0)
        memcpy(exact, bytes.bytes, bytes.length);
    LLVMFuzzerTestOneInput((const uint8_t *)exact, bytes.length);
    free(exact);
    shot_text_free(&bytes);
    count++;
}

static void run_path(const char *path) {
    struct stat about;
    FUZZ_CHECK(stat(path, &about) == 0);
    if (!S_ISDIR(about.st_mode)) {
        run_file(path);
        return;
    }
    DIR *folder = opendir(path);
    FUZZ_CHECK(folder != NULL);
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        char inside[4096];
        snprintf(inside, sizeof inside, "%s/%s", path, entry->d_name);
        if (entry->d_name[0] != '.')
            run_path(inside);
    }
    closedir(folder);
}

int main(int argc, char **argv) {
    for (int i = 1; i < argc; i++)
        run_path(argv[i]);
    printf("%zu inputs\n", count);
    return count == 0;
}
