/* SPDX-License-Identifier: MIT */
/**
 * @file presolve.h
 * What is left of a problem once everything that is certain has been used: rows that do not count are dropped, held
 * planes and ties are solved, planes with a cap of zero are put in their place.
 */
#ifndef OPTIMISE_PRESOLVE_H
#define OPTIMISE_PRESOLVE_H

#include "optimise/certificate.h"

/** Allowed masses: x = base + z0 + basis·u. */
typedef struct cm_presolved {
    const cm_problem *given;
    int n;                       /* unknowns u */
    double complex *z0;          /* planes; perpendicular to the basis */
    const int *plane;            /* n: the plane each unknown is, when there are no ties; else NULL */
    const double complex *basis; /* planes × n, orthonormal columns, when there are ties; else NULL */
    unsigned char *still;        /* planes: held, or shut in by a disc of radius 0 */
    int row_count;               /* counted rows: weight > 0 */
    const int *row;
    int disc_count; /* discs that bind a plane that can move */
    const int *disc;
    /* planes that cannot be where ties, held planes and caps of zero want them; NULL: fine */
    const unsigned char *shut_out;
} cm_presolved;

/** Contradicting ties and held planes leave with CM_BAD_INPUT and a message naming the tie or plane. */
cm_presolved cm_presolve(cm_session *session, const cm_problem *problem);

/** True when answers must stay within limits. */
bool cm_limits_bind(const cm_problem *problem);

/** coefficients (every `stride`-th of `out`, n of them) := scale·(row of A)·basis; returns scale·(y + A z0). */
double complex cm_presolved_row(const cm_presolved *pre, int row, double scale, double complex *out,
                                int stride);

/** The same for the mass on a plane, counted from `origin`: scale·(x_j - origin). */
double complex cm_presolved_plane(const cm_presolved *pre, int plane, double complex origin, double scale,
                                  double complex *out, int stride);

/** x := base + z0 + basis·u, exact on planes that stand still. */
void cm_presolved_masses(const cm_presolved *pre, const double complex *u, double complex *x);

/** gradient (planes) of everything in the certificate. */
void cm_presolved_gradient(const cm_presolved *pre, const cm_certificate *certificate,
                           double complex *gradient);

/** Fills in the multipliers of the ties, so that the gradient of the certificate vanishes on planes that can move. */
void cm_presolved_ties(cm_session *session, const cm_presolved *pre, cm_certificate *certificate);

/** For planes shut out: fills in the contradiction of ties, held planes and caps of zero. */
void cm_presolved_contradiction(cm_session *session, const cm_presolved *pre, cm_certificate *certificate);

#endif
