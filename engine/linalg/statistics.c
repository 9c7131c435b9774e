/* SPDX-License-Identifier: MIT */
/* P(|r + e| ≤ L) without series: seen from the centre of the distribution, the circle of radius ρ lies within the limit
 * over the share θ(ρ)/π of its length,
 *
 *     cos θ = (ρ² + r² - L²) / (2 ρ r)      for |L - r| < ρ < L + r,
 *
 * so that   P = [L > r] P(|e| < L - r) + ∫ θ/π dP   from |L - r| to L + r.
 * The integral is taken over the tail probability q of |e|, in which known and estimated scatter differ by one closed
 * formula only, by the double exponential rule, which does not mind the roots at both ends (Takahasi and Mori 1974).
 */
#include "linalg/statistics.h"
#include "base/constants.h"

#include <math.h>
#include <stdbool.h>

#undef I

double cm_tail(double k, double dof)
{
    return isinf(dof) ? exp(-k * k) : exp(-dof * log1p(k * k / dof));
}

double cm_radius_factor(double tail, double dof)
{
    return sqrt(isinf(dof) ? -log(tail) : dof * expm1(-log(tail) / dof));
}

/* Term k over term k - 1 is x/k, or p (dof + k - 1)/k with p = x/(x + dof); logarithms, for the first one underflows. */
double cm_sum_tail(int n, double chi2, double dof)
{
    if (!(chi2 > 0))
        return 1;
    bool known = isinf(dof);
    double term = known ? -chi2 : -dof * log1p(chi2 / dof), sum = exp(term);
    for (int k = 1; k < n; k++) {
        term += known ? log(chi2 / k) : log(chi2 / (chi2 + dof) * (dof + k - 1) / k);
        sum += exp(term);
    }
    return fmin(1, sum);
}

/* Half the angle, over π, of the circle of radius rho around e = 0 that lies within the limit. */
static double share_within(double rho, double r, double limit)
{
    double cosine = ((rho - limit) * (rho + limit) + r * r) / (2 * rho * r);
    return acos(fmin(1, fmax(-1, cosine))) / CM_PI;
}

/* ∫ share dq over the tail probabilities low … high. */
static double integrate_tail(double r, double s, double limit, double dof, double low, double high)
{
    enum { POINTS = 40 };
    const double step = 3.2 / POINTS;
    double sum = 0;
    for (int k = -POINTS; k <= POINTS; k++) {
        double t = step * k;
        double x = 0.5 * CM_PI * sinh(t);
        double weight = 0.5 * CM_PI * cosh(t) / (2 * cosh(x) * cosh(x));
        double part = 1 / (1 + exp(-2 * x));
        double q = low + (high - low) * part;
        if (q > 0 && weight > 0)
            sum += weight * share_within(s * cm_radius_factor(q, dof), r, limit);
    }
    return sum * step * (high - low);
}

double cm_within(double distance, double s, double limit, double dof)
{
    if (s <= 0)
        return distance <= limit;
    if (distance <= 1e-12 * limit || distance <= 1e-12 * s)
        return 1 - cm_tail(limit / s, dof);
    double near = fabs(limit - distance) / s;
    double far = (limit + distance) / s;
    double high = cm_tail(near, dof);
    if (high < 1e-16) /* the integral is no more than this */
        return limit > distance;
    double inside = limit > distance ? 1 - high : 0;
    double value = inside + integrate_tail(distance, s, limit, dof, cm_tail(far, dof), high);
    return fmin(1, fmax(0, value));
}

/* ---- random numbers ---- */

static uint64_t rotate(uint64_t x, int k)
{
    return (x << k) | (x >> (64 - k));
}

/* splitmix64 spreads the seed over the state. */
cm_random cm_seed(uint64_t seed)
{
    cm_random random;
    for (int k = 0; k < 4; k++) {
        seed += 0x9e3779b97f4a7c15u;
        uint64_t z = seed;
        z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
        z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
        random.state[k] = z ^ (z >> 31);
    }
    return random;
}

static uint64_t next(cm_random *random)
{
    uint64_t *s = random->state;
    uint64_t result = rotate(s[1] * 5, 7) * 9;
    uint64_t t = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotate(s[3], 45);
    return result;
}

double cm_uniform(cm_random *random)
{
    return ((double)(next(random) >> 12) + 0.5) * 0x1p-52;
}

double complex cm_normal(cm_random *random)
{
    union {
        double parts[2];
        double complex z;
    } u;
    double x, y, square;
    do {
        x = 2 * cm_uniform(random) - 1;
        y = 2 * cm_uniform(random) - 1;
        square = x * x + y * y;
    } while (square >= 1 || square <= 0);
    double times = sqrt(-log(square) / square);
    u.parts[0] = x * times;
    u.parts[1] = y * times;
    return u.z;
}

/* Gamma(n) by Marsaglia and Tsang (2000), from memory; n below 1 by way of n + 1. */
double cm_mean_square(cm_random *random, double n)
{
    double shape = n < 1 ? n + 1 : n;
    double d = shape - 1.0 / 3, c = 1 / sqrt(9 * d);
    double value = 0;
    for (;;) {
        double x = sqrt(2) * creal(cm_normal(random));
        double v = 1 + c * x;
        if (v <= 0)
            continue;
        v = v * v * v;
        if (log(cm_uniform(random)) < 0.5 * x * x + d - d * v + d * log(v)) {
            value = d * v;
            break;
        }
    }
    if (n < 1)
        value *= pow(cm_uniform(random), 1 / n);
    return value / n;
}
