/* SPDX-License-Identifier: MIT */
/**
 * @file proof.h
 * A dual point as the caller receives it.
 */
#ifndef OPTIMISE_PROOF_H
#define OPTIMISE_PROOF_H

#include "optimise/certificate.h"

/** The certificate as a proof; NULL when it has no size. It points into the certificate's arrays. */
const cm_proof *cm_proof_of(cm_session *session, const cm_problem *problem,
                            const cm_certificate *certificate);

/** A proof that the least factor on the limits is over 1, read as a contradiction of the limits of `problem`. */
const cm_proof *cm_proof_of_factor(cm_session *session, const cm_proof *factor);

#endif
