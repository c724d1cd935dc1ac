/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything of the layer stream: text in and out. */
#ifndef SHOTTRACE_STREAM_H
#define SHOTTRACE_STREAM_H

#include <shottrace/stream/mark_text.h>
#include <shottrace/stream/read.h>
#include <shottrace/stream/reader.h>
#include <shottrace/stream/write.h>
#include <shottrace/stream/writer.h>

#endif
