/* SPDX-License-Identifier: MIT */
/*
 * From the values of two bearings to those of n correction planes.
 *
 *     maximise sum_j log u_j   subject to   sum_j c_kj u_j <= U_k,  k = A, B
 *
 * c_kj is the size of bearing k's reaction to a unit force on plane j, so the
 * constraint holds whatever the angles. The largest product favours no plane
 * and does not depend on units. Dual: u_j = 1 / (p c_Aj + q c_Bj) with
 * p U_A + q U_B = n (complementary slackness summed), and p is where
 *     d(p) = -sum_j log(p c_Aj + q(p) c_Bj)
 * is least on [0, n/U_A]. d is convex, so its derivative is bisected. The
 * derivative is  -sum_j (c_Aj - c_Bj U_A/U_B) u_j : the slack of A traded
 * against that of B.
 */
#include "standards/permissible.h"

static double other_price(int n, const double u[2], double p)
{
    double q = (n - p * u[0]) / u[1];
    return q > 0 ? q : 0;
}

/* Derivative of d at p; a plane that neither price touches makes d infinite there: step inwards. */
static double slope(int n, const double *lever, const double u[2], double p)
{
    double q = other_price(n, u, p), sum = 0;
    for (int j = 0; j < n; j++)
        sum -= (lever[2 * j] - lever[2 * j + 1] * u[0] / u[1]) / (p * lever[2 * j] + q * lever[2 * j + 1]);
    return sum;
}

void cm_share_to_planes(int n, const double *lever, const double at_bearing[2], double *value)
{
    double low = 0, high = n / at_bearing[0];
    for (int i = 0; i < 200 && low < high; i++) {
        double p = 0.5 * (low + high);
        if (slope(n, lever, at_bearing, p) < 0)
            low = p;
        else
            high = p;
    }
    double p = 0.5 * (low + high), q = other_price(n, at_bearing, p);
    for (int j = 0; j < n; j++)
        value[j] = 1 / (p * lever[2 * j] + q * lever[2 * j + 1]);
}
