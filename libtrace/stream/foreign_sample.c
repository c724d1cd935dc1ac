/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The beginning of a delimited text: how much of it, and what options say of its dialect. */
#include "stream/foreign_sample.h"

#include <string.h>

#include "ascii.h"

/* The sample: so many lines, doubled while they hold few rows, up to so many bytes; more bytes, up
 * to those of the longest line, while there is no row at all and so few lines that they must be
 * long. */
enum { SAMPLE_LINES = 16, SAMPLE_ROWS = 8, SAMPLE_BYTES = 64 * 1024, LONG_LINES = 1000 };

void shot_foreign_sample_start(shot_foreign_sample *self, size_t longest) {
    *self = (shot_foreign_sample){
        .longest = longest, .wanted_lines = SAMPLE_LINES, .wanted_bytes = SAMPLE_BYTES};
}

/* How many of the bytes complete the sample; `count` if all of them do not. */
static size_t sample_end(shot_foreign_sample *self, const char *bytes, size_t count) {
    for (size_t i = 0; i < count; i++) {
        self->lines += bytes[i] == '\n' || (self->after_cr && bytes[i] != '\n');
        self->after_cr = bytes[i] == '\r';
        if (self->lines >= self->wanted_lines || self->text.length + i + 1 >= self->wanted_bytes)
            return i + 1;
    }
    return count;
}

shot_status shot_foreign_sample_take(shot_foreign_sample *self, const char **bytes, size_t *count,
                                     bool *full) {
    const size_t used = sample_end(self, *bytes, *count);
    SHOT_TRY(shot_text_add_bytes(&self->text, *bytes, used));
    *bytes += used;
    *count -= used;
    *full = self->lines >= self->wanted_lines || self->text.length >= self->wanted_bytes;
    return SHOT_OK;
}

bool shot_foreign_sample_is_enough(const shot_foreign_sample *self, size_t rows) {
    if (rows >= SAMPLE_ROWS || self->text.length >= self->longest)
        return true;
    return self->text.length >= SAMPLE_BYTES && (rows > 0 || self->lines >= LONG_LINES);
}

void shot_foreign_sample_want_more(shot_foreign_sample *self) {
    if (self->lines >= self->wanted_lines)
        self->wanted_lines *= 2;
    if (self->text.length >= self->wanted_bytes)
        self->wanted_bytes *= 2;
}

/* "<log>", "<?xml ..." */
static bool is_marked_up(const shot_text *text) {
    size_t i = 0;
    while (i < text->length && strchr(" \t\r\n", text->bytes[i]) != NULL)
        i++;
    return i + 1 < text->length && text->bytes[i] == '<' &&
           (strchr("?!", text->bytes[i + 1]) != NULL || ascii_is_letter(text->bytes[i + 1]));
}

shot_status shot_foreign_sample_no_rows(const shot_foreign_sample *self, bool all,
                                        shot_error *error) {
    if (all)
        return shot_fail(error, SHOT_ERR_SYNTAX, "no rows of numbers were found in the text%s",
                         is_marked_up(&self->text)
                             ? ": it looks like XML or HTML; export the log as CSV or JSON"
                             : "");
    if (self->lines == 0)
        return shot_fail(error, SHOT_ERR_DATA,
                         "the first line is longer than %zu MiB; if it is one line of a table, say "
                         "--longest-line MIB",
                         self->longest >> 20);
    return shot_fail(error, SHOT_ERR_SYNTAX,
                     "no rows of numbers were found in the first %zu lines (%zu KiB)",
                     self->lines + 1, self->text.length / 1024);
}

/* "comma", "tab" ... or the sign itself. */
static char delimiter_named(const char *name) {
    static const struct {
        const char *name;
        char sign;
    } names[] = {{"comma", ','}, {"semicolon", ';'}, {"tab", '\t'}, {"\\t", '\t'},
                 {"bar", '|'},   {"blank", ' '},     {"space", ' '}};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (strcmp(names[i].name, name) == 0)
            return names[i].sign;
    return strlen(name) == 1 ? name[0] : '\0';
}

shot_status shot_dialect_said(const struct shot_read_settings *settings, shot_dialect *dialect,
                              shot_error *error) {
    static const char decimals[] = {'\0', '.', ','};
    static const shot_header_choice headers[] = {SHOT_HEADER_GUESS, SHOT_HEADER_ROW,
                                                 SHOT_HEADER_NONE};
    *dialect =
        (shot_dialect){.decimal = decimals[settings->decimal], .header = headers[settings->header]};
    if (settings->delimiter != NULL &&
        (dialect->delimiter = delimiter_named(settings->delimiter)) == '\0')
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--delimiter: '%s' is none; give one sign, or comma, semicolon, tab, bar "
                         "or blank",
                         settings->delimiter);
    if (settings->comment != NULL)
        dialect->comment = settings->comment[0] != '\0' ? settings->comment[0] : '\n';
    if (settings->skip >= 0) {
        dialect->skipped = (size_t)settings->skip;
        dialect->skipped_chosen = true;
    }
    if (dialect->decimal != '\0' && dialect->decimal == dialect->delimiter)
        return shot_fail(error, SHOT_ERR_USAGE, "--delimiter and --decimal: '%c' cannot be both",
                         dialect->decimal);
    return SHOT_OK;
}
