/* SPDX-License-Identifier: MIT */
#include "base/clock.h"

#include <time.h>

double cm_clock_seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

bool cm_stop_wanted(const cm_session *session)
{
    return session->host.stop && session->host.stop(session->host.context);
}

bool cm_is_over(const cm_session *session, double deadline)
{
    return cm_stop_wanted(session) || cm_clock_seconds() > deadline;
}
