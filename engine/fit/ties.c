/* SPDX-License-Identifier: MIT */
/* Ties that no masses can meet are a mistake in the case: said where the tie stands. */
#include "fit/determine.h"
#include "linalg/dense.h"
#include "model/case.h"

#undef I

void cm_refuse_ties(cm_session *session, const cm_job *job)
{
    const cm_problem *p = job->problem;
    cm_mark mark = cm_mark_of(session);
    int tie =
        cm_affine_set(session, p->planes, p->tie_count, p->ties, p->tie_value, p->held, p->held_value, NULL)
            .contradiction;
    cm_release_to(session, mark);
    if (tie < 0 || !job->given || tie >= job->given->goal.tie_count)
        return; /* without a case the solver refuses it */
    cm_report(session, CM_ERROR, &job->given->goal.ties[tie].place,
              "objective.ties: this tie cannot be met: it contradicts other ties, objective.fixed or planes "
              "outside objective.use_planes");
    cm_fail_on_errors(session);
}
