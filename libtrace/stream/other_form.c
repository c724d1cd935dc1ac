/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that are no log. */
#include "stream/other_form.h"

#include <string.h>

/* The first bytes that their specifications set: ISO/IEC 21320-1 (ZIP, in which spreadsheets of
 * ISO/IEC 29500 and ISO/IEC 26300 come), ISO 32000-2, ISO/IEC 15948 (PNG); the others from memory.
 */
static const struct {
    const char *bytes;
    size_t count;
    const char *words;
} forms[] = {
    {"PK\x03\x04", 4,
     "a ZIP archive, as the files of spreadsheets are; take the log out of it, or save the sheet "
     "as CSV"},
    {"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", 8,
     "a document of a spreadsheet or word processor; save it as CSV"},
    {"%PDF-", 5, "a PDF document; the log itself is needed, as CSV"},
    {"\x89PNG", 4, "a picture; the log itself is needed, as CSV"},
    {"SQLite format 3", 15, "a database; export the table as CSV"},
    {"BZh", 3, "packed with bzip2; unpack it before (bzip2 -dc FILE | shot-read)"},
    {"\xfd"
     "7zXZ",
     5, "packed with xz; unpack it before (xz -dc FILE | shot-read)"},
    {"7z\xbc\xaf", 4, "a 7z archive; take the log out of it"},
};

const char *shot_other_form(const char *bytes, size_t count, bool *perhaps) {
    *perhaps = false;
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        const size_t shown = count < forms[i].count ? count : forms[i].count;
        if (memcmp(bytes, forms[i].bytes, shown) != 0)
            continue;
        if (shown == forms[i].count)
            return forms[i].words;
        *perhaps = true;
    }
    return NULL;
}
