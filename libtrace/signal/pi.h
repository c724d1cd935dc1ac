/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one constant that strict C11 does not give. */
#ifndef SHOT_SIGNAL_PI_H
#define SHOT_SIGNAL_PI_H

#define SHOT_PI 3.14159265358979323846

#endif
