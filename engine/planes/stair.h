/* SPDX-License-Identifier: MIT */
/**
 * @file stair.h
 * The small triangle of a least-squares problem, kept exact while columns leave it.
 *
 * `columns` columns and the right-hand side, reduced by unitary operations to stair form: column t either has a pivot
 * (real, positive, in row pivot[t], the next row after the pivots before it) or depends on the columns before it and
 * has none (pivot[t] = -1). What the columns cannot reach at all is summed up in `rest`.
 *
 *     least |c - B x|² over the first t columns = rest + sum |c_r|² over the rows r that belong to later pivots
 */
#ifndef PLANES_STAIR_H
#define PLANES_STAIR_H

#include "base/session.h"

#include <complex.h>
#undef I

/** A column whose part outside the columns before it is below this share of its norm has no pivot. Far below the rank rule
 *  of the house: a column in between counts as independent here, so that sums of squares are never too large. */
#define CM_STAIR_TOLERANCE 1e-13

typedef struct cm_stair {
    int columns;
    int rows;   /* pivots */
    int stride; /* from one row to the next; the right-hand side is in column `columns` */
    double rest;
    int *pivot; /* columns */
    double *re, *im;
} cm_stair;

/** Room for a stair of at most `columns` columns and `rows` rows. */
cm_stair cm_stair_new(cm_session *session, int rows, int columns);

/** Reduces `dense` (rows × (columns+1), column-major, right-hand side last; overwritten). `norm`: columns, the norms
 *  that the tolerance refers to. */
void cm_stair_build(cm_stair *out, int rows, int columns, double complex *dense, const double *norm,
                    double rest);

/** out := `from` without the columns 0 … p: the columns before p are kept in every set to come and have done their work,
 *  column p leaves and the later ones are brought to stair form again. `norm` belongs to the columns of `from`. */
void cm_stair_drop(cm_stair *out, const cm_stair *from, int p, const double *norm);

/** out := `from` with its first p columns kept in every set to come: they and what they reach leave the stair. */
void cm_stair_keep(cm_stair *out, const cm_stair *from, int p);

/** Sum of squares without any of the columns. */
double cm_stair_all(const cm_stair *stair);

/** least[t] := max(least[t], least sum of squares over the columns 0 … t). */
void cm_stair_least(const cm_stair *stair, double *least);

#endif
