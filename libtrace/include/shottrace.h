/* SPDX-License-Identifier: GPL-3.0-or-later */
/* libtrace: facts from the logged trace of an espresso shot.
 *
 * Most programs need chain.h alone: a chain of filters from a string, bytes in, marks or bytes out
 * (see docs/embedding.md).  The layers below it can be used by themselves.
 */
#ifndef SHOTTRACE_H
#define SHOTTRACE_H

#include <shottrace/chain.h>
#include <shottrace/detect.h>
#include <shottrace/filter.h>
#include <shottrace/judge.h>
#include <shottrace/puck.h>
#include <shottrace/signal.h>
#include <shottrace/status.h>
#include <shottrace/stream.h>
#include <shottrace/trace.h>

#endif
