/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bytes in any encoding become UTF-8, as they arrive. */
#ifndef SHOT_STREAM_TEXT_ENCODING_H
#define SHOT_STREAM_TEXT_ENCODING_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

typedef shot_status (*shot_bytes_take)(void *user, const char *bytes, size_t count,
                                       shot_error *error);

/* Where no name is said: a byte order mark tells (and is dropped), or the place of the zero bytes
 * among the first four (UTF-16 and UTF-32 of a text that starts in ASCII, as RFC 4627, section 3,
 * does it).  Other text is UTF-8 up to the first byte that cannot be, and from there on
 * windows-1252, the superset of Latin-1 (WHATWG Encoding Standard, section 4.2), if no character
 * of several bytes came before; else single bad bytes become U+FFFD. */
typedef struct shot_decoder shot_decoder;

/*   encoding  a name that iconv knows, or NULL to work it out
 * SHOT_ERR_USAGE if iconv does not know it.  *out is freed with shot_decoder_free. */
shot_status shot_decoder_new(const char *encoding, shot_bytes_take take, void *user,
                             shot_decoder **out, shot_error *error);
shot_status shot_decoder_push(shot_decoder *decoder, const char *bytes, size_t count,
                              shot_error *error);
/* Bytes of an unfinished character become U+FFFD. */
shot_status shot_decoder_finish(shot_decoder *decoder, shot_error *error);
/* The encoding in words and why, once it is settled. */
const char *shot_decoder_reason(const shot_decoder *decoder);
/* How many characters could not be decoded. */
size_t shot_decoder_losses(const shot_decoder *decoder);
void shot_decoder_free(shot_decoder *decoder);

#endif
