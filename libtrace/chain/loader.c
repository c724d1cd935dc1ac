/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that a stage opens itself. */
#include "chain/loader.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <shottrace/stream/reader.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

#include "ascii.h"
#include "chain/chain_parts.h"
#include "chain/gate.h"

enum { PIECE = 64 * 1024 };

/* One reader for all trace files, so that shots without a name are numbered through. */
struct load {
    const shot_intake *into;
    shot_sink *sink; /* of the shots: that of `into`, or one that prepares them for it */
    shot_sink *gate; /* before it, to tell which of reader and sink failed */
    shot_reader_settings settings;
    shot_source *reader; /* NULL until the first trace comes */
    const char *path;    /* being read */
    shot_chain_loss loss;
};

/* ---- one file ---- */

static shot_status push_trace(struct load *self, const char *path, const char *bytes, size_t count,
                              bool first, shot_error *error) {
    if (self->reader == NULL)
        SHOT_TRY(shot_reader_new(&self->settings, self->gate, &self->reader, error));
    self->path = path;
    if (first)
        SHOT_TRY(self->reader->calls->file(self->reader, path, error));
    return self->reader->calls->push(self->reader, bytes, count, error);
}

static shot_status read_trace(struct load *self, const char *path, FILE *file, char *bytes,
                              size_t count, shot_error *error) {
    SHOT_TRY(push_trace(self, path, bytes, count, true, error));
    while ((count = fread(bytes, 1, PIECE, file)) > 0)
        SHOT_TRY(push_trace(self, path, bytes, count, false, error));
    return self->reader->calls->file_end(self->reader, ferror(file) != 0, error);
}

/* True if the bytes open a quote that they do not close, or close one that was open. */
static bool turns_quote(const char *bytes, size_t length) {
    bool odd = false;
    for (size_t i = 0; i < length; i++)
        odd = odd != (bytes[i] == '"');
    return odd;
}

/* Hand on the line that has gathered, without its end and a byte order mark. */
static shot_status hand_on_line(struct load *self, shot_text *line, bool first, shot_error *error) {
    const char *bytes = line->bytes;
    size_t length = line->length;
    while (length > 0 && (bytes[length - 1] == '\n' || bytes[length - 1] == '\r'))
        length--;
    const size_t mark = first && length >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
    const shot_status status =
        memchr(bytes, '\0', length) != NULL
            ? shot_fail(error, SHOT_ERR_SYNTAX, "the line holds a NUL byte; this is no text")
            : self->into->line(self->into->user, bytes + mark, length - mark, error);
    shot_text_clear(line);
    return status;
}

/* `line` holds what was read of the first one; *number is that of the line where one began. */
static shot_status read_lines(struct load *self, FILE *file, shot_text *line, size_t *number,
                              shot_error *error) {
    char *piece = NULL;
    size_t room = 0;
    ssize_t length;
    bool open = false; /* a quote, so that the line goes on */
    shot_status status = SHOT_OK;
    for (size_t pieces = 1; status == SHOT_OK && (length = getline(&piece, &room, file)) >= 0;
         pieces++) {
        *number = open ? *number : pieces;
        open = open != turns_quote(piece, (size_t)length);
        status = shot_text_add_bytes(line, piece, (size_t)length);
        if (status == SHOT_OK && !open)
            status = hand_on_line(self, line, *number == 1, error);
    }
    free(piece);
    if (status == SHOT_OK && !feof(file) && !ferror(file)) /* getline had no room */
        status = SHOT_ERR_MEMORY;
    if (status == SHOT_OK && line->length > 0)
        status = hand_on_line(self, line, *number <= 1, error);
    return status;
}

static shot_status read_table(struct load *self, const char *path, FILE *file, const char *start,
                              size_t count, shot_error *error) {
    if (self->into->line == NULL)
        return shot_fail(error, SHOT_ERR_DATA, "'%s' is a table of measures, not a trace", path);
    size_t number = 0;
    shot_text line = {0};
    shot_status status = shot_text_add_bytes(&line, start, count);
    if (status == SHOT_OK)
        status = read_lines(self, file, &line, &number, error);
    shot_text_free(&line);
    if (status == SHOT_ERR_MEMORY)
        return shot_fail(error, status, "out of memory for a table");
    if (status != SHOT_OK && error != NULL) {
        snprintf(error->source, sizeof error->source, "%s", path);
        error->line = number;
    }
    return status;
}

/* What kind of file it is shows in its first bytes, which a pipe gives only once. */
static shot_status read_stream(struct load *self, const char *path, FILE *file, char *bytes,
                               shot_error *error) {
    const char *table = self->into->table ? self->into->table : "shot,measure,";
    size_t length = strlen(table), count = fread(bytes, 1, length, file);
    shot_status status;
    if (count == length && memcmp(bytes, table, length) == 0) {
        status = read_table(self, path, file, bytes, count, error);
    } else {
        count += fread(bytes + count, 1, PIECE - count, file);
        status = read_trace(self, path, file, bytes, count, error);
    }
    if (status == SHOT_OK && ferror(file))
        return shot_fail(error, SHOT_ERR_READ, "cannot read '%s': %s", path, strerror(errno));
    return status;
}

static shot_status open_and_read(struct load *self, const char *path, shot_error *error) {
    bool standard = strcmp(path, "-") == 0;
    FILE *file = standard ? stdin : fopen(path, "rb");
    if (file == NULL)
        return shot_fail(error, SHOT_ERR_READ, "cannot open '%s': %s", path, strerror(errno));
    char *bytes = malloc(PIECE);
    shot_status status = bytes != NULL
                             ? read_stream(self, path, file, bytes, error)
                             : shot_fail(error, SHOT_ERR_MEMORY, "out of memory for reading");
    free(bytes);
    if (!standard)
        fclose(file);
    return status;
}

static void tell(const struct load *self, const shot_error *error) {
    const shot_notice *notice = &self->settings.notice;
    if (error->source[0] != '\0' && error->line > 0)
        shot_notice_say(notice, "%s:%zu: %s", error->source, error->line, error->what);
    else if (error->source[0] != '\0')
        shot_notice_say(notice, "%s: %s", error->source, error->what);
    else
        shot_notice_say(notice, "%s", error->what);
}

/* Where the stage can go without it, a file that cannot be read is told and counted. */
static shot_status read_file(struct load *self, const char *path, shot_error *error) {
    shot_error failure = {0};
    const shot_status status = open_and_read(self, path, &failure);
    self->loss.files++;
    if (status == SHOT_OK)
        return SHOT_OK;
    if (self->settings.go_on && shot_status_of_input(status) && !shot_gate_has_failed(self->gate)) {
        self->loss.bad++;
        tell(self, &failure);
        return SHOT_OK;
    }
    if (failure.source[0] == '\0' && shot_status_of_input(status) && status != SHOT_ERR_READ)
        snprintf(failure.source, sizeof failure.source, "%s", path);
    if (error != NULL)
        *error = failure;
    return status;
}

/* ---- folders ---- */

static int not_hidden(const struct dirent *entry) {
    return entry->d_name[0] != '.';
}

/* Numbers, whatever zeros they begin with, by their size; *a and *b go behind them. */
static int by_number(const char **a, const char **b) {
    *a += strspn(*a, "0");
    *b += strspn(*b, "0");
    const size_t m = strspn(*a, "0123456789"), n = strspn(*b, "0123456789");
    const int order = m != n ? (m < n ? -1 : 1) : memcmp(*a, *b, m);
    *a += m;
    *b += n;
    return order;
}

/* A person numbers shots as they come: "shot 2" is before "shot 10". */
static int by_name(const struct dirent **first, const struct dirent **second) {
    const char *a = (*first)->d_name, *b = (*second)->d_name;
    int order = 0;
    while (order == 0 && *a != '\0' && *b != '\0') {
        if (ascii_is_digit(*a) && ascii_is_digit(*b))
            order = by_number(&a, &b);
        else
            order = (unsigned char)*a++ - (unsigned char)*b++;
    }
    if (order == 0)
        order = (*a != '\0') - (*b != '\0');
    return order != 0 ? order : strcmp((*first)->d_name, (*second)->d_name);
}

static bool is_folder(const char *path) {
    struct stat about;
    return stat(path, &about) == 0 && S_ISDIR(about.st_mode);
}

/* A folder inside the folder is not entered. */
static shot_status read_member(struct load *self, const char *folder, const char *name,
                               shot_error *error) {
    shot_text path = {0};
    const char *slash = folder[strlen(folder) - 1] == '/' ? "" : "/";
    shot_status status = shot_text_add_format(&path, "%s%s%s", folder, slash, name);
    if (status == SHOT_OK && !is_folder(path.bytes))
        status = read_file(self, path.bytes, error);
    shot_text_free(&path);
    return status;
}

static shot_status read_folder(struct load *self, const char *path, shot_error *error) {
    struct dirent **entries;
    int count = scandir(path, &entries, not_hidden, by_name);
    if (count < 0)
        return shot_fail(error, SHOT_ERR_READ, "cannot read the folder '%s': %s", path,
                         strerror(errno));
    shot_status status = SHOT_OK;
    if (count == 0)
        status = shot_fail(error, SHOT_ERR_DATA, "the folder '%s' is empty", path);
    for (int i = 0; i < count; i++) {
        if (status == SHOT_OK)
            status = read_member(self, path, entries[i]->d_name, error);
        free(entries[i]);
    }
    free(entries);
    return status;
}

static shot_status load_all(struct load *self, const shot_texts *paths, shot_error *error) {
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < paths->count && status == SHOT_OK; i++) {
        const char *path = paths->items[i];
        status = is_folder(path) ? read_folder(self, path, error) : read_file(self, path, error);
    }
    if (self->reader != NULL) {
        if (status == SHOT_OK)
            status = self->reader->calls->finish(self->reader, error);
        self->reader->calls->free(self->reader);
    }
    return status;
}

static shot_status load_through_gate(struct load *self, const shot_texts *paths,
                                     shot_error *error) {
    const shot_gate_watch watch = {.notice = &self->settings.notice, .file = &self->path};
    SHOT_TRY(shot_gate_new(&watch, self->sink, &self->gate, error));
    const shot_status status = load_all(self, paths, error);
    shot_sink_free(self->gate);
    return status;
}

shot_status shot_chain_load(void *user, const shot_texts *paths, const shot_intake *into,
                            shot_error *error) {
    shot_chain *chain = user;
    const shot_chain_ends *ends = &chain->ends;
    const bool prepares = ends->prepare != NULL && into->sink != NULL;
    struct load self = {.into = into,
                        .sink = into->sink,
                        .settings = {.notice = ends->notice, .go_on = ends->go_on && into->go_on}};
    if (prepares)
        SHOT_TRY(ends->prepare(into->sink, &ends->notice, &self.sink, error));
    const shot_status status = load_through_gate(&self, paths, error);
    if (prepares)
        shot_sink_free(self.sink);
    chain->loss.files += self.loss.files * self.settings.go_on;
    chain->loss.bad += self.loss.bad;
    return status;
}
