/* SPDX-License-Identifier: MIT */
/**
 * @file evidence.h
 * Runs and priors as the fit uses them: cleaned, and sorted into groups of rows that share a design.
 */
#ifndef FIT_EVIDENCE_H
#define FIT_EVIDENCE_H

#include "base/session.h"
#include "countermass/influence.h"

#include <complex.h>
#undef I

/** The runs with masses that are zero, and states that are equal, made so exactly. */
typedef struct cm_evidence {
    const cm_runs *given;
    int rows, planes, runs;
    double complex *masses;  /* runs × planes */
    double complex *base;    /* planes */
    double complex **turned; /* bases: masses in the coordinates of each, runs × planes; NULL: none */
    double *root;            /* rows × runs: square roots of the weights of readings; NULL: all 1 */
    unsigned char *at_base;  /* runs: in the base state */
    int *known;              /* rows × planes: index into given->known, -1: nothing known */
    double *scale; /* 1 + planes: typical size of a column: 1, then the largest mass tried on the plane */
} cm_evidence;

/** Rows read by the same runs with the same kind of knowledge per plane: they share design, rank and null space.
 *  Column 0 of the design is the as-found reading (plane -1); planes with an exact coefficient have no column. */
typedef struct cm_group {
    int rows;
    int *row;
    int runs;
    int *run;
    int columns;
    int *plane;           /* columns */
    unsigned char *prior; /* columns: 1: the coefficient has a Gaussian prior */
    int priors;
    const double complex *masses; /* runs × planes of the evidence, in the coordinates of the group */
    const double complex *basis;  /* planes × planes: T of the coordinates; NULL: they are the planes */
    int null_count;               /* dimension of what runs and priors together do not tell */
    double complex *null; /* columns × null_count: orthonormal in coordinates (reading, a_j·scale_j) */
} cm_group;

typedef struct cm_groups {
    int count;
    cm_group *items;
} cm_groups;

/** Checks the arrays (CM_BAD_INPUT) and cleans them. */
cm_evidence cm_clean_runs(cm_session *session, const cm_runs *runs);

/** Sorts the rows; finds rank and null space of every group. */
cm_groups cm_group_rows(cm_session *session, const cm_evidence *evidence);

/** True when run `run` read row `row`. */
static inline bool cm_was_read(const cm_evidence *evidence, int row, int run)
{
    return evidence->given->repeats[row + run * evidence->rows] > 0;
}

/** What is known about a coefficient beforehand, or NULL. */
static inline const cm_known *cm_known_of(const cm_evidence *evidence, int row, int plane)
{
    int index = evidence->known[row + plane * evidence->rows];
    return index < 0 ? NULL : &evidence->given->known[index];
}

/** Number of the basis of a row, -1: its planes. */
static inline int cm_basis_of(const cm_evidence *evidence, int row)
{
    return evidence->given->basis_of ? evidence->given->basis_of[row] : -1;
}

/** Masses (runs × planes) in the coordinates of a row. */
static inline const double complex *cm_masses_of(const cm_evidence *evidence, int row)
{
    int basis = cm_basis_of(evidence, row);
    return basis < 0 ? evidence->masses : evidence->turned[basis];
}

/** Mass of a run in a column of the design: 1 for the as-found reading. */
static inline double complex cm_design(const cm_group *group, int runs, int run, int plane)
{
    return plane < 0 ? 1 : group->masses[run + plane * runs];
}

/** Which latent error of a block a known coefficient belongs to: one per plane, then one per set. */
static inline int cm_latent_key(const cm_evidence *evidence, const cm_known *known)
{
    return known->set > 0 ? evidence->planes + known->set - 1 : known->plane;
}

/** Square root of the weight of a reading. */
static inline double cm_root_of(const cm_evidence *evidence, int row, int run)
{
    return evidence->root ? evidence->root[row + run * evidence->rows] : 1;
}

/** Reading of a row in a run less what its exact coefficients account for. */
double complex cm_reading_left(const cm_evidence *evidence, int row, int run);

#endif
