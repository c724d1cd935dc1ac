/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where recordings of shots go. */
#include "stream/recording_file.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

/* File systems end names at 255 bytes (POSIX, NAME_MAX of the usual ones); this leaves room for
 * what stands around the name in a pattern. */
enum { LONGEST = 200 };

static bool many(const shot_recording_files *files) {
    return files->pattern != NULL && strchr(files->pattern, SHOT_NAME_PLACE) != NULL;
}

shot_status shot_recording_files_check(const shot_recording_files *files, const char *shot,
                                       shot_error *error) {
    if (files->count == 0 || many(files))
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_DATA,
                     "a recording holds one shot, and '%.80s' is another; --output NAME%c.wav "
                     "writes a file a shot, with its name in the place of the %c",
                     shot, SHOT_NAME_PLACE, SHOT_NAME_PLACE);
}

/* Letters and digits, also those beyond ASCII, and what no program takes for something else. */
static bool is_safe(char c, bool first) {
    const unsigned char byte = (unsigned char)c;
    bool letter = (byte >= 'a' && byte <= 'z') || (byte >= 'A' && byte <= 'Z') ||
                  (byte >= '0' && byte <= '9') || byte >= 0x80;
    return letter || c == '_' || (!first && (c == '-' || c == '.' || c == '+'));
}

static shot_status add_safe(shot_text *text, const char *name) {
    size_t length = strlen(name);
    if (length > LONGEST)
        for (length = LONGEST; length > 0 && ((unsigned char)name[length] & 0xc0) == 0x80;)
            length--; /* no character is cut in two */
    for (size_t i = 0; i < length; i++)
        SHOT_TRY(shot_text_add_bytes(text, is_safe(name[i], i == 0) ? name + i : "_", 1));
    return SHOT_OK;
}

static shot_status make_path(shot_recording_files *files, const char *shot, shot_text *path) {
    const char *place = strchr(files->pattern, SHOT_NAME_PLACE);
    if (place == NULL)
        return shot_text_add(path, files->pattern);
    shot_text safe = {0}, name = {0};
    shot_status status = add_safe(&safe, shot);
    if (status == SHOT_OK)
        status = shot_names_take(&files->taken, safe.length > 0 ? safe.bytes : "shot", &name);
    if (status == SHOT_OK)
        status = shot_text_add_format(path, "%.*s%s%s", (int)(place - files->pattern),
                                      files->pattern, name.bytes, place + 1);
    shot_text_free(&safe);
    shot_text_free(&name);
    return status;
}

static shot_status write_file(const char *path, const shot_text *bytes, shot_error *error) {
    FILE *file = fopen(path, "wb");
    if (file == NULL)
        return shot_fail(error, SHOT_ERR_WRITE, "cannot write '%.200s': %s", path, strerror(errno));
    bool fine = fwrite(bytes->bytes, 1, bytes->length, file) == bytes->length;
    int reason = errno;
    if (fclose(file) != 0 && fine) {
        fine = false;
        reason = errno;
    }
    return fine ? SHOT_OK
                : shot_fail(error, SHOT_ERR_WRITE, "cannot write '%.200s': %s", path,
                            strerror(reason));
}

shot_status shot_recording_files_write(shot_recording_files *files, const char *shot,
                                       const shot_text *bytes, shot_error *error) {
    shot_text path = {0};
    files->count++;
    if (files->pattern == NULL)
        return files->output->write(files->output->user, bytes->bytes, bytes->length, error);
    shot_status status = make_path(files, shot, &path);
    status = status == SHOT_OK ? write_file(path.bytes, bytes, error)
                               : shot_fail(error, status, "out of memory for a file's name");
    shot_text_free(&path);
    return status;
}

void shot_recording_files_free(shot_recording_files *files) {
    shot_names_free(&files->taken);
}
