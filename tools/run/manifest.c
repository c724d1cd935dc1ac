/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a run read and how that went. */
#include "run/manifest.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

#include <shottrace/trace/quoting.h>
#include <shottrace/trace/text.h>

#include "common/io.h"

typedef struct entry {
    char *name, *message; /* the failure, or the first warning; NULL if there is none; owned */
    unsigned long long bytes;
    unsigned long crc; /* of the bytes, as gzip has it (RFC 1952) */
    size_t warnings;
    const char *status;
    bool cut; /* the filters of one of its shots failed, and what came of it was closed as cut */
    size_t shots;
    shot_text names; /* of these, a ';' between two */
} entry;

/* A process is one tool, and makes one run. */
static struct {
    FILE *file;
    const char *path, *chain;
    entry *entries;
    size_t count, room;
    bool open;      /* the last of them is being read */
    bool exhausted; /* an allocation failed: the table would lack something */
} manifest;

static shot_status cannot_write(shot_error *error) {
    return shot_fail(error, SHOT_ERR_WRITE, "cannot write '%s': %s", manifest.path,
                     strerror(errno));
}

/* ---- what is heard ---- */

static bool grow(void) {
    if (manifest.count < manifest.room)
        return true;
    const size_t room = manifest.room > 0 ? 2 * manifest.room : 64;
    entry *entries = realloc(manifest.entries, room * sizeof *entries);
    if (entries == NULL)
        return false;
    manifest.entries = entries;
    manifest.room = room;
    return true;
}

static void opens(const char *name) {
    char *copy = grow() ? shot_text_copy(name) : NULL;
    manifest.open = copy != NULL;
    manifest.exhausted = manifest.exhausted || copy == NULL;
    if (copy != NULL)
        manifest.entries[manifest.count++] =
            (entry){.name = copy, .crc = crc32(0, NULL, 0), .status = "not read"};
}

static void takes(const char *bytes, size_t count) {
    if (!manifest.open)
        return;
    entry *last = &manifest.entries[manifest.count - 1];
    last->bytes += count;
    last->crc = crc32_z(last->crc, (const unsigned char *)bytes, count);
}

void shot_manifest_named(const char *shot) {
    if (!manifest.open)
        return;
    entry *last = &manifest.entries[manifest.count - 1];
    if (shot_text_add_format(&last->names, "%s%s", last->shots++ > 0 ? ";" : "", shot) != SHOT_OK)
        manifest.exhausted = true;
}

/* A message that begins with the number of a line says so. */
static void keep_message(entry *one, const char *text) {
    shot_text words = {0};
    if (one->message != NULL)
        return;
    const bool placed = *text >= '0' && *text <= '9';
    if (shot_text_add_format(&words, "%s%s", placed ? "line " : "", text) == SHOT_OK)
        one->message = words.bytes;
    manifest.exhausted = manifest.exhausted || one->message == NULL;
}

static void shuts(const shot_error *failure) {
    if (!manifest.open)
        return;
    entry *last = &manifest.entries[manifest.count - 1];
    manifest.open = false;
    last->status = failure == NULL ? "read" : "failed";
    if (failure == NULL)
        return;
    char text[sizeof failure->what + 32];
    if (failure->line > 0)
        snprintf(text, sizeof text, "%zu: %s", failure->line, failure->what);
    else
        snprintf(text, sizeof text, "%s", failure->what);
    free(last->message); /* what ended it goes before a warning */
    last->message = NULL;
    keep_message(last, text);
}

/* True if one of the names is that of `length` bytes. */
static bool has_shot(const entry *one, const char *name, size_t length) {
    const char *at = one->names.bytes;
    while (at != NULL) {
        const char *end = strchr(at, ';');
        if ((end != NULL ? (size_t)(end - at) : strlen(at)) == length &&
            memcmp(at, name, length) == 0)
            return true;
        at = end != NULL ? end + 1 : NULL;
    }
    return false;
}

/* What comes after "NAME:" of the file; all of a message on one of its shots; NULL if it is of
 * another file. */
static const char *words_on(const entry *one, const char *message) {
    static const char shot[] = "shot '";
    const size_t length = strlen(one->name);
    if (strncmp(message, one->name, length) == 0 && message[length] == ':')
        return message + length + 1 + strspn(message + length + 1, " ");
    const char *name = message + sizeof shot - 1;
    const char *end = strncmp(message, shot, sizeof shot - 1) == 0 ? strchr(name, '\'') : NULL;
    return end != NULL && has_shot(one, name, (size_t)(end - name)) ? message : NULL;
}

/* "N more rows could not be read" stands for N. */
static size_t weight_of(const char *words) {
    char *end;
    const unsigned long count = strtoul(words, &end, 10);
    return end != words && strncmp(end, " more ", 6) == 0 ? count : 1;
}

/* Filters in threads may speak of a file after the next one has begun. */
void shot_manifest_heard(const char *message, bool failed) {
    for (size_t i = manifest.count; i-- > 0;) {
        const char *words = words_on(&manifest.entries[i], message);
        if (words == NULL)
            continue;
        manifest.entries[i].warnings += weight_of(words);
        manifest.entries[i].cut = manifest.entries[i].cut || failed;
        keep_message(&manifest.entries[i], words);
        return;
    }
}

/* ---- the table ---- */

static bool is_whole(const entry *one) {
    return strcmp(one->status, "read") == 0;
}

static shot_status add_entry(shot_text *text, const entry *one) {
    SHOT_TRY(shot_text_add_csv(text, one->name));
    SHOT_TRY(shot_text_add_format(text, ",%llu,", one->bytes));
    if (is_whole(one)) /* of a part it would be no sum of the file */
        SHOT_TRY(shot_text_add_format(text, "%08lx", one->crc));
    const char *status = is_whole(one) && one->cut ? "cut" : one->status;
    SHOT_TRY(shot_text_add_format(text, ",%s,%zu,", status, one->warnings));
    SHOT_TRY(shot_text_add_csv(text, one->message));
    SHOT_TRY(shot_text_add_format(text, ",%zu,", one->shots));
    SHOT_TRY(shot_text_add_csv(text, one->names.bytes));
    return shot_text_add(text, "\n");
}

static shot_status add_all(shot_text *text) {
    SHOT_TRY(shot_text_add_format(text, "# program: shottrace %s\n# chain: ", shot_version()));
    for (const char *at = manifest.chain; *at != '\0'; at++) /* may be written on several lines */
        SHOT_TRY(shot_text_add_bytes(text, *at == '\n' ? " " : at, 1));
    SHOT_TRY(shot_text_add(text, "\nfile,bytes,crc32,status,warnings,message,shots,names\n"));
    for (size_t i = 0; i < manifest.count; i++)
        SHOT_TRY(add_entry(text, &manifest.entries[i]));
    return manifest.exhausted ? SHOT_ERR_MEMORY : SHOT_OK;
}

static void forget_entries(void) {
    for (size_t i = 0; i < manifest.count; i++) {
        free(manifest.entries[i].name);
        free(manifest.entries[i].message);
        shot_text_free(&manifest.entries[i].names);
    }
    free(manifest.entries);
    manifest.entries = NULL;
    manifest.count = manifest.room = 0;
}

shot_status shot_manifest_end(shot_error *error) {
    shot_text text = {0};
    if (manifest.file == NULL)
        return SHOT_OK;
    shot_status status = add_all(&text);
    if (status != SHOT_OK)
        shot_fail(error, status, "out of memory for the manifest");
    else if (fwrite(text.bytes, 1, text.length, manifest.file) != text.length)
        status = cannot_write(error);
    if (fclose(manifest.file) != 0 && status == SHOT_OK)
        status = cannot_write(error);
    manifest.file = NULL;
    shot_text_free(&text);
    forget_entries();
    return status;
}

/* ---- the whole ---- */

static void leaves(const char *name) {
    opens(name);
    manifest.open = false;
}

static const shot_tool_listener listener = {opens, takes, shuts, leaves};

shot_status shot_manifest_begin(const char *path, const char *chain, shot_error *error) {
    manifest.path = path;
    manifest.chain = chain;
    manifest.file = fopen(path, "w"); /* now: a long run is not to end without it */
    if (manifest.file == NULL)
        return cannot_write(error);
    shot_tool_listen(&listener);
    return SHOT_OK;
}
