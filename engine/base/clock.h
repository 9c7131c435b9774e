/* SPDX-License-Identifier: MIT */
/** @file clock.h Time that only goes forward, for searches that must end. */
#ifndef BASE_CLOCK_H
#define BASE_CLOCK_H

#include "base/session.h"

/** Seconds from some fixed moment on. */
double cm_clock_seconds(void);

/** True when the host asks to stop; does not leave the public call. */
bool cm_stop_wanted(const cm_session *session);

/** True when the clock is past `deadline` or the host asks to stop. */
bool cm_is_over(const cm_session *session, double deadline);

#endif
