/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A file of settings. */
#include "chain/settings_file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Cut white space off both ends, in place. */
static char *trim(char *text) {
    static const char white[] = " \t\r\n";
    text += strspn(text, white);
    size_t length = strlen(text);
    while (length > 0 && strchr(white, text[length - 1]) != NULL)
        text[--length] = '\0';
    return text;
}

static shot_status set_line(char *line, shot_settings_setter set, void *user, shot_error *error) {
    char *name = trim(line);
    if (*name == '\0' || *name == '#')
        return SHOT_OK;
    char *equals = strchr(name, '=');
    if (equals == NULL)
        return shot_fail(error, SHOT_ERR_USAGE, "'%s' is not a setting; write 'name = value'",
                         name);
    *equals = '\0';
    return set(user, trim(name), trim(equals + 1), error);
}

static shot_status read_lines(FILE *file, shot_settings_setter set, void *user, size_t *number,
                              shot_error *error) {
    char *line = NULL;
    size_t room = 0;
    shot_status status = SHOT_OK;
    while (status == SHOT_OK && getline(&line, &room, file) >= 0) {
        ++*number;
        status = set_line(line, set, user, error);
    }
    free(line);
    if (status == SHOT_OK && !feof(file))
        return shot_fail(error, SHOT_ERR_READ, "cannot read: %s", strerror(errno));
    return status;
}

shot_status shot_settings_file_read(const char *path, shot_settings_setter set, void *user,
                                    shot_error *error) {
    FILE *file = fopen(path, "r");
    if (file == NULL)
        return shot_fail(error, SHOT_ERR_READ, "cannot open '%s': %s", path, strerror(errno));
    size_t number = 0;
    const shot_status status = read_lines(file, set, user, &number, error);
    fclose(file);
    if (status != SHOT_OK && error != NULL) {
        snprintf(error->source, sizeof error->source, "%s", path);
        error->line = number;
    }
    return status;
}
