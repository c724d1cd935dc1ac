/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Compressed bytes become plain ones as they arrive: gzip (RFC 1952) and Zstandard (RFC 8878),
 * told by their first bytes; all others pass as they are. */
#ifndef SHOT_STREAM_UNPACK_H
#define SHOT_STREAM_UNPACK_H

#include "stream/text_encoding.h"

typedef struct shot_unpacker shot_unpacker;

/*   ratio  the most plain bytes that a compressed one may become, beyond the first MiB: what
 *          becomes more is taken for an attack, SHOT_ERR_DATA
 * *out is freed with shot_unpacker_free. */
shot_status shot_unpacker_new(double ratio, shot_bytes_take take, void *user, shot_unpacker **out);
shot_status shot_unpacker_push(shot_unpacker *unpacker, const char *bytes, size_t count,
                               shot_error *error);
/* SHOT_ERR_DATA if the compressed bytes end too early; what came was handed on. */
shot_status shot_unpacker_finish(shot_unpacker *unpacker, shot_error *error);
/* "gzip", "zstd" or NULL. */
const char *shot_unpacker_form(const shot_unpacker *unpacker);
void shot_unpacker_free(shot_unpacker *unpacker);

#endif
