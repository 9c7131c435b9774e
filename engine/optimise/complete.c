/* SPDX-License-Identifier: MIT */
/* From masses and a dual point to an answer: everything that follows from the two is evaluated by the recheck. */
#include "optimise/complete.h"

#include "optimise/feasible.h"
#include "optimise/pairs.h"
#include "optimise/proof.h"

#include <math.h>

/* A plane this close to the edge of a disc is at its cap. */
#define AT_CAP 1e-6

double cm_value_scale(const cm_problem *p)
{
    double sum = 0;
    if (cm_is_about_masses(p->objective)) {
        for (int d = 0; d < p->disc_count; d++)
            sum += isinf(p->discs[d].radius) ? 0 : p->discs[d].radius;
        return sum > 0 ? sum : p->mass_unit;
    }
    for (int i = 0; i < p->rows; i++)
        if (p->weight[i] > 0)
            sum = hypot(sum, p->weight[i] * cabs(p->y[i]));
    for (int k = 0; p->objective == CM_MIN_MAX && k < p->pair_count; k++)
        if (p->pairs[k].weight > 0)
            sum = hypot(sum, p->pairs[k].weight * cm_pair_size_at(&p->pairs[k], p->y));
    return sum;
}

bool cm_counts_as_zero(const cm_problem *p, double value)
{
    return value <= CM_VALUE_ZERO * cm_value_scale(p);
}

static double gap_of(const cm_problem *p, double value, double bound)
{
    if (p->objective ==
        CM_CONFIDENCE) /* nothing spreads: the value itself is infinite, and no other could be more */
        return isinf(value) ? 0 : isnan(bound) ? INFINITY : fmax(0, bound - value) / fmax(value, 1e-6);
    if (cm_counts_as_zero(p, value))
        return 0;
    return fmax(0, value - bound) / value;
}

const unsigned char *cm_at_caps(cm_session *session, const cm_problem *p, const double complex *x)
{
    unsigned char *at_cap = CM_NEW(session, p->planes, unsigned char);
    for (int d = 0; d < p->disc_count; d++) {
        const cm_disc *disc = &p->discs[d];
        bool can_move = !p->held || !p->held[disc->plane];
        if (can_move && cabs(x[disc->plane] - disc->centre) >= disc->radius * (1 - AT_CAP))
            at_cap[disc->plane] = 1;
    }
    return at_cap;
}

/* Everything about an optimal answer that follows from x and the certificate. */
void cm_complete(cm_session *session, const cm_presolved *pre, const cm_certificate *certificate,
                 const double complex *x, cm_answer *answer)
{
    const cm_problem *p = pre->given;
    double complex *r = CM_NEW(session, p->rows, double complex);
    cm_recheck_readings(p, x, r);
    answer->outcome = CM_OPTIMAL;
    answer->x = x;
    answer->r = r;
    answer->value = cm_recheck_value(p, x);
    if (p->objective != CM_CONFIDENCE)
        answer->bound = cm_recheck_bound(session, p, certificate, x);
    answer->gap = gap_of(p, answer->value, answer->bound);
    answer->largest_ratio = cm_recheck_ratio(p, x);
    answer->proof = cm_proof_of(session, p, certificate);
    answer->at_cap = cm_at_caps(session, pre->given, answer->x);
    cm_sensitivities(session, p, certificate, answer);
}
