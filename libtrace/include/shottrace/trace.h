/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The vocabulary: numbers and text, units, channels, blocks of rows, marks, shots, sinks, and the
 * description of a filter. */
#ifndef SHOTTRACE_TRACE_H
#define SHOTTRACE_TRACE_H

#include <shottrace/trace/block.h>
#include <shottrace/trace/channel.h>
#include <shottrace/trace/csv_line.h>
#include <shottrace/trace/decimal.h>
#include <shottrace/trace/description.h>
#include <shottrace/trace/detector.h>
#include <shottrace/trace/head_key.h>
#include <shottrace/trace/log_time.h>
#include <shottrace/trace/mark.h>
#include <shottrace/trace/mark_table.h>
#include <shottrace/trace/name_list.h>
#include <shottrace/trace/noise_line.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/option.h>
#include <shottrace/trace/plain_text.h>
#include <shottrace/trace/quantity.h>
#include <shottrace/trace/quoting.h>
#include <shottrace/trace/shot.h>
#include <shottrace/trace/sink.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/table.h>
#include <shottrace/trace/table_list.h>
#include <shottrace/trace/text.h>
#include <shottrace/trace/unit.h>
#include <shottrace/trace/wrap.h>

#endif
