/* SPDX-License-Identifier: MIT */
/**
 * @file lapack.h
 * What LAPACK's `info` means to the rest of linalg/.
 */
#ifndef LINALG_LAPACK_H
#define LINALG_LAPACK_H

#include "base/session.h"

/** True when `info` is 0, false when it is positive: the numbers would not have it (not positive definite, no
 *  convergence). Negative: no memory for LAPACK's own work (codes below -1000; a refused argument would be another);
 *  nothing can make up for that, and the public call is left with CM_NO_MEMORY. */
static inline bool cm_lapack_worked(cm_session *session, int info, const char *what)
{
    if (info < 0)
        cm_fail(session, CM_NO_MEMORY, "%s did not succeed (code %d)", what, info);
    return info == 0;
}

/** Leaves with CM_NUMERICS unless `info` is 0. */
static inline void cm_lapack_demand(cm_session *session, int info, const char *what)
{
    if (!cm_lapack_worked(session, info, what))
        cm_fail(session, CM_NUMERICS, "%s did not succeed (code %d)", what, info);
}

#endif
