/* SPDX-License-Identifier: MIT */
/* Second-order cones: J = diag(1, -1, …), a·J·a = (t - |v|)(t + |v|), never as a difference of squares.
 *
 * Scaling (Nesterov & Todd 1997; Andersen, Dahl, Vandenberghe; formulas from memory, checked in the tests by W z = W⁻¹ s):
 *     s̄ = s/√(sJs), z̄ = z/√(zJz), γ = √((1 + s̄·z̄)/2), w = (s̄ + J z̄)/(2γ), η = (sJs/zJz)^(1/4).
 */
#include "optimise/scaling.h"

#include <math.h>

static double norm_of(int n, const double *v)
{
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += v[i] * v[i];
    return sqrt(sum);
}

static double dot(int n, const double *a, const double *b)
{
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += a[i] * b[i];
    return sum;
}

double cm_cone_depth(int n, const double *a)
{
    return a[0] - norm_of(n - 1, a + 1);
}

static double j_square(int n, const double *a)
{
    double v = norm_of(n - 1, a + 1);
    return (a[0] - v) * (a[0] + v);
}

bool cm_scaling_make(int n, const double *s, const double *z, cm_scaling *scaling)
{
    double sj = j_square(n, s);
    double zj = j_square(n, z);
    if (!(sj > 0) || !(zj > 0) || !(s[0] > 0) || !(z[0] > 0))
        return false;
    double sn = 1 / sqrt(sj);
    double zn = 1 / sqrt(zj);
    double gamma = sqrt((1 + dot(n, s, z) * sn * zn) / 2);
    scaling->eta = sqrt(sqrt(sj / zj));
    double square = 0;
    for (int i = 1; i < n; i++) {
        scaling->w[i] = (s[i] * sn - z[i] * zn) / (2 * gamma);
        square += scaling->w[i] * scaling->w[i];
    }
    scaling->w[0] = sqrt(1 + square);
    scaling->inverse = 1 / scaling->eta;
    scaling->share = 1 / (1 + scaling->w[0]);
    return isfinite(scaling->eta) && isfinite(square);
}

void cm_scaling_apply(int n, const cm_scaling *scaling, const double *x, double *y)
{
    const double *w = scaling->w;
    double inner = dot(n - 1, w + 1, x + 1);
    double x0 = x[0];
    double along = x0 + inner * scaling->share;
    y[0] = scaling->eta * (w[0] * x0 + inner);
    for (int i = 1; i < n; i++)
        y[i] = scaling->eta * (x[i] + along * w[i]);
}

void cm_scaling_undo(int n, const cm_scaling *scaling, const double *x, double *y)
{
    const double *w = scaling->w;
    double inner = dot(n - 1, w + 1, x + 1);
    double x0 = x[0];
    double along = inner * scaling->share - x0;
    y[0] = (w[0] * x0 - inner) * scaling->inverse;
    for (int i = 1; i < n; i++)
        y[i] = (x[i] + along * w[i]) * scaling->inverse;
}

void cm_cone_product(int n, const double *a, const double *b, double *y)
{
    double a0 = a[0];
    double b0 = b[0];
    double head = dot(n, a, b);
    for (int i = 1; i < n; i++)
        y[i] = a0 * b[i] + b0 * a[i];
    y[0] = head;
}

void cm_cone_divide(int n, const double *a, const double *b, double *y)
{
    double inner = dot(n - 1, a + 1, b + 1);
    double head = (a[0] * b[0] - inner) / j_square(n, a);
    for (int i = 1; i < n; i++)
        y[i] = (b[i] - head * a[i]) / a[0];
    y[0] = head;
}

double cm_cone_inverse_step(int n, const double *a, const double *d)
{
    double size = sqrt(j_square(n, a));
    double inner = (a[0] * d[0] - dot(n - 1, a + 1, d + 1)) / size;
    double along = (inner + d[0]) / (a[0] / size + 1) / size;
    double square = 0;
    for (int i = 1; i < n; i++) {
        double part = d[i] - along * a[i];
        square += part * part;
    }
    return (sqrt(square) - inner) / size;
}
