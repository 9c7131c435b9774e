/* SPDX-License-Identifier: MIT */
/* Problem: two rows r_f, r_b judged by sum_k |part_k|, part_k = mix[2k] r_f + mix[2k+1] r_b; or by the rows themselves.
 * Every part is affine in the masses, so the sum is convex; its spread is the sum of the parts' spreads. */
#include "optimise/pairs.h"

#include "optimise/build.h"

#include <math.h>

double cm_pair_spread(const cm_problem *p, const cm_pair *pair, const double complex *x)
{
    size_t block = (size_t)(p->planes + 1) * (size_t)(p->planes + 1);
    double sum = 0;
    for (int k = 0; k < cm_pair_part_count(pair); k++)
        sum += cm_factor_size(p, pair->spread + (size_t)k * block, x);
    return sum;
}

/* Coefficient of a part on a plane. */
static double complex coefficient(const cm_problem *p, const cm_pair *pair, int part, int plane)
{
    const double complex *column = p->a + (size_t)plane * (size_t)p->rows;
    return cm_pair_part_at(pair, part, column);
}

double complex cm_presolved_part(const cm_presolved *pre, const cm_pair *pair, int part, double scale,
                                 double complex *out, int stride)
{
    const cm_problem *p = pre->given;
    double complex constant = cm_pair_part_at(pair, part, p->y);
    for (int j = 0; j < p->planes; j++)
        if (pre->z0[j] != 0)
            constant += coefficient(p, pair, part, j) * pre->z0[j];
    for (int k = 0; k < pre->n; k++) {
        double complex sum = pre->plane ? coefficient(p, pair, part, pre->plane[k]) : 0;
        for (int j = 0; j < p->planes && !pre->plane; j++)
            sum += coefficient(p, pair, part, j) * pre->basis[j + k * p->planes];
        out[(size_t)k * (size_t)stride] = scale * sum;
    }
    return scale * constant;
}
