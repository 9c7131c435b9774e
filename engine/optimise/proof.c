/* SPDX-License-Identifier: MIT */
/* Dual points for the world outside.
 *
 * The least factor f on limits is min t with |r_i| ≤ t limit_i. Its dual point has Σ limit_i |v_i| ≤ norm and a constant above
 * norm when f > 1. Read as limit parts, the same phasors give constant - Σ limit_i |v_i| > 0: a contradiction. */
#include "optimise/proof.h"

static cm_proof *copy_of(cm_session *session, const cm_proof *proof)
{
    cm_proof *copy = CM_NEW(session, 1, cm_proof);
    *copy = *proof;
    return copy;
}

const cm_proof *cm_proof_of(cm_session *session, const cm_problem *p, const cm_certificate *c)
{
    double norm = c->infeasibility ? 1 : cm_recheck_dual_norm(p, c);
    if (!(norm > 0))
        return NULL;
    const cm_proof proof = {
        .size = sizeof proof,
        .contradiction = c->infeasibility,
        .norm = norm,
        .kappa = c->kappa,
        .row_objective = c->row_objective,
        .row_limit = c->row_limit,
        .pair_objective = c->pair_objective,
        .pair_limit = c->pair_limit,
        .mass = c->mass,
        .spread_objective = c->spread_objective,
        .spread_limit = c->spread_limit,
        .spread_pair = c->spread_pair,
        .disc = c->disc,
        .tie = c->tie,
    };
    return copy_of(session, &proof);
}

const cm_proof *cm_proof_of_factor(cm_session *session, const cm_proof *factor)
{
    cm_proof *proof = copy_of(session, factor);
    proof->contradiction = 1;
    proof->row_objective = factor->row_limit;
    proof->row_limit = factor->row_objective;
    proof->pair_objective = factor->pair_limit;
    proof->pair_limit = factor->pair_objective;
    return proof;
}
