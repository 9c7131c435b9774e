/* SPDX-License-Identifier: MIT */
/* Problem: min c·x with s = h - G x in K, and its dual; or a proof that there is no such x.
 *
 * Method: homogeneous embedding with Nesterov-Todd scaling and Mehrotra's corrector (Nesterov & Todd 1997;
 * Andersen, Dahl, Vandenberghe; Vandenberghe's notes on CVXOPT's conelp; from memory). With tau, kappa ≥ 0
 *     rx = Gᵀ z + c tau          = 0
 *     rz = s + G x - h tau       = 0
 *     rt = kappa + c·x + h·z     = 0
 *     s ⟂ z, kappa tau           = 0
 * always has a solution: tau > 0 gives an optimum, kappa > 0 a proof of infeasibility.
 *
 * Everything of a step happens in scaled coordinates: S = W⁻¹G, λ = W z = W⁻¹ s, d̃s = W⁻¹ds, d̃z = W dz. A direction is
 *     S dx - d̃z = (W⁻¹h) dτ - (1-σ) W⁻¹rz - λ\d,   Sᵀ d̃z = -c dτ - (1-σ) rx,   d̃s = λ\d - d̃z,
 * two least-squares problems with the same matrix SᵀS: one for dτ, one for the rest. Their second
 * equation holds to rounding by construction, the first is refined.
 *
 * Cost of an iteration for m rows of G and n variables: m n² flops for SᵀS, n³/3 for its factor, 24 m n for
 * directions and residuals. */
#include "optimise/cone.h"

#include "linalg/real.h"
#include "optimise/scaling.h"

#include <math.h>
#include <string.h>

#define NEAR_SHARE 0.97 /* of a known answer in the point to begin from */
#define STEPS_ALLOWED 80
#define STEP_SHARE 0.99 /* of the way to the edge of the cone */
#define MERIT_WANTED 2e-12
#define VALUE_SMALL 1e-3 /* values below this are measured against it: the caller scales and tries again */
#define RAY_WANTED 1e-11 /* a ray this exact proves infeasibility */
#define RAY_ALLOWED 1e-7 /* a ray this exact is offered to the recheck when nothing else was found */
#define MERIT_POOR 1e-5
#define PATIENCE 4        /* iterations without a better merit, once the end is near ... */
#define PATIENCE_EARLY 25 /* ... and before */
#define NEAR_END 1e-6

typedef struct cm_walk {
    cm_session *session;
    const cm_cone_problem *p;
    int m, n;
    bool orthogonal;
    int *start;          /* cones: first row */
    cm_scaling *scaling; /* cones */
    double *w;           /* m: behind `scaling` */
    double *x, *s, *z, tau, kappa;
    double *scaled, *factor, *column, *spare; /* S, its triangle, column norms, QR workspace */
    double *lambda, *h_scaled;
    double *rx, *rz, rt, mu;
    double *x1, *z1; /* direction per unit of dτ */
    double *dx, *ds, *dz, dtau, dkappa;
    double *target;                      /* m: λ\d */
    double *bx, *bz, *residual;          /* right-hand sides */
    double *best;                        /* x, s, z of the best iterate, already divided by τ */
    double *first_factor, *first_column; /* of GᵀG: projects on the equations of the dual */
    double *trial;
    double best_merit, best_ray;
    double *ray; /* z of the best ray, h·z = -1 */
    int idle;
} cm_walk;

static void allocate(cm_session *session, cm_walk *k)
{
    int m = k->m;
    int n = k->n;
    double **long_ones[] = {&k->w,  &k->s,  &k->z,      &k->lambda, &k->h_scaled, &k->rz,   &k->z1,
                            &k->ds, &k->dz, &k->target, &k->bz,     &k->ray,      &k->trial};
    double **short_ones[] = {&k->x,  &k->column, &k->rx,       &k->x1,
                             &k->dx, &k->bx,     &k->residual, &k->first_column};
    for (size_t i = 0; i < sizeof long_ones / sizeof *long_ones; i++)
        *long_ones[i] = CM_NEW(session, m, double);
    for (size_t i = 0; i < sizeof short_ones / sizeof *short_ones; i++)
        *short_ones[i] = CM_NEW(session, n, double);
    k->scaled = CM_NEW(session, m * n, double);
    k->factor = CM_NEW(session, n * n, double);
    k->first_factor = CM_NEW(session, n * n, double);
    k->spare = k->orthogonal ? CM_NEW(session, m * n + 65 * n, double) : NULL;
    k->best = CM_NEW(session, n + 2 * m, double);
    k->start = CM_NEW(session, k->p->cones, int);
    k->scaling = CM_NEW(session, k->p->cones, cm_scaling);
}

static void place_cones(cm_walk *k)
{
    int row = 0;
    for (int c = 0; c < k->p->cones; c++) {
        k->start[c] = row;
        k->scaling[c] = (cm_scaling){.eta = 1, .w = k->w + row, .inverse = 1, .share = 0.5};
        k->w[row] = 1;
        row += k->p->size[c];
    }
}

/* ---- one system, two right-hand sides ---- */

static void scale_matrix(cm_walk *k)
{
    for (int j = 0; j < k->n; j++)
        for (int c = 0; c < k->p->cones; c++)
            cm_scaling_undo(k->p->size[c], &k->scaling[c], k->p->g + (size_t)j * (size_t)k->m + k->start[c],
                            k->scaled + (size_t)j * (size_t)k->m + k->start[c]);
}

static void equilibrate_gram(cm_walk *k)
{
    int n = k->n;
    for (int j = 0; j < n; j++) {
        double square = k->factor[j + j * n];
        k->column[j] = square > 0 ? sqrt(square) : 1;
    }
    for (int j = 0; j < n; j++)
        for (int i = 0; i <= j; i++)
            k->factor[i + j * n] /= k->column[i] * k->column[j];
}

static bool factor_gram(cm_walk *k)
{
    cm_real_gram(k->m, k->n, k->scaled, k->m, k->factor);
    equilibrate_gram(k);
    return cm_real_cholesky(k->session, k->n, k->factor);
}

static bool factor_orthogonal(cm_walk *k)
{
    int m = k->m;
    double *copy = k->spare + 65 * k->n;
    for (int j = 0; j < k->n; j++) {
        const double *from = k->scaled + (size_t)j * (size_t)m;
        double norm = sqrt(cm_real_dot(m, from, from));
        k->column[j] = norm > 0 ? norm : 1;
        for (int i = 0; i < m; i++)
            copy[i + j * m] = from[i] / k->column[j];
    }
    return cm_real_triangle(k->session, m, k->n, copy, m, k->factor, k->spare, k->spare + k->n);
}

static bool factor(cm_walk *k)
{
    scale_matrix(k);
    return k->orthogonal && k->m >= k->n ? factor_orthogonal(k) : factor_gram(k);
}

static void solve_gram(int n, const double *triangle, const double *column, double *x)
{
    for (int j = 0; j < n; j++)
        x[j] /= column[j];
    cm_real_solve(n, triangle, x);
    for (int j = 0; j < n; j++)
        x[j] /= column[j];
}

/* S x - z = bz, Sᵀ z = bx. */
static void solve_pair(cm_walk *k, const double *bx, const double *bz, double *x, double *z)
{
    memcpy(x, bx, (size_t)k->n * sizeof *x);
    cm_real_matvec(true, k->m, k->n, 1, k->scaled, k->m, bz, 1, x);
    solve_gram(k->n, k->factor, k->column, x);
    memcpy(z, bz, (size_t)k->m * sizeof *z);
    cm_real_matvec(false, k->m, k->n, 1, k->scaled, k->m, x, -1, z);
    for (int pass = 0; pass < (k->orthogonal ? 3 : 1); pass++) {
        memcpy(k->residual, bx, (size_t)k->n * sizeof *x);
        cm_real_matvec(true, k->m, k->n, -1, k->scaled, k->m, z, 1, k->residual);
        solve_gram(k->n, k->factor, k->column, k->residual);
        for (int j = 0; j < k->n; j++)
            x[j] += k->residual[j];
        cm_real_matvec(false, k->m, k->n, 1, k->scaled, k->m, k->residual, 1, z);
    }
}

/* ---- where the walk begins ---- */

static void move_inside(const cm_walk *k, double *v)
{
    double least = INFINITY;
    for (int c = 0; c < k->p->cones; c++)
        least = fmin(least, cm_cone_depth(k->p->size[c], v + k->start[c]));
    if (least > 1e-3)
        return;
    for (int c = 0; c < k->p->cones; c++)
        v[k->start[c]] += 1 - least;
}

/* Least squares for both sides with W = 1: s ≈ h - G x as short as possible, z ≈ as short as possible. */
static bool begin(cm_walk *k)
{
    memcpy(k->scaled, k->p->g, (size_t)(k->m * k->n) * sizeof *k->scaled);
    if (!(k->orthogonal && k->m >= k->n ? factor_orthogonal(k) : factor_gram(k)))
        return false;
    memcpy(k->first_factor, k->factor, (size_t)(k->n * k->n) * sizeof *k->factor);
    memcpy(k->first_column, k->column, (size_t)k->n * sizeof *k->column);
    memset(k->bx, 0, (size_t)k->n * sizeof *k->bx);
    solve_pair(k, k->bx, k->p->h, k->x, k->s);
    for (int i = 0; i < k->m; i++)
        k->s[i] = -k->s[i];
    for (int j = 0; j < k->n; j++)
        k->bx[j] = -k->p->c[j];
    memset(k->bz, 0, (size_t)k->m * sizeof *k->bz);
    solve_pair(k, k->bx, k->bz, k->x1, k->z);
    move_inside(k, k->s);
    move_inside(k, k->z);
    k->tau = k->kappa = 1;
    return true;
}

/* ---- how good is the point ---- */

static void residuals(cm_walk *k)
{
    const cm_cone_problem *p = k->p;
    for (int j = 0; j < k->n; j++)
        k->rx[j] = k->tau * p->c[j];
    cm_real_matvec(true, k->m, k->n, 1, p->g, k->m, k->z, 1, k->rx);
    for (int i = 0; i < k->m; i++)
        k->rz[i] = k->s[i] - k->tau * p->h[i];
    cm_real_matvec(false, k->m, k->n, 1, p->g, k->m, k->x, 1, k->rz);
    k->rt = k->kappa + cm_real_dot(k->n, p->c, k->x) + cm_real_dot(k->m, p->h, k->z);
    k->mu = (cm_real_dot(k->m, k->s, k->z) + k->kappa * k->tau) / (p->cones + 1);
}

static double norm(int n, const double *v)
{
    return sqrt(cm_real_dot(n, v, v));
}

/* v := candidate if that leaves every cone about as deep inside as it was. */
static bool accept(const cm_walk *k, double *v, const double *candidate)
{
    for (int c = 0; c < k->p->cones; c++) {
        double before = cm_cone_depth(k->p->size[c], v + k->start[c]);
        double after = cm_cone_depth(k->p->size[c], candidate + k->start[c]);
        if (!(after > before / 2 && after < before * 2))
            return false;
    }
    memcpy(v, candidate, (size_t)k->m * sizeof *v);
    return true;
}

/* Rounding lets s and z drift off their equations; near the end that is what limits the accuracy. Back onto them:
 * s := h tau - G x and z := z - G (GᵀG)⁻¹ rx, unless that leaves the cones. */
static void hold_equations(cm_walk *k)
{
    for (int i = 0; i < k->m; i++)
        k->trial[i] = k->s[i] - k->rz[i];
    accept(k, k->s, k->trial);
    memcpy(k->residual, k->rx, (size_t)k->n * sizeof *k->rx);
    solve_gram(k->n, k->first_factor, k->first_column, k->residual);
    memcpy(k->trial, k->z, (size_t)k->m * sizeof *k->z);
    cm_real_matvec(false, k->m, k->n, -1, k->p->g, k->m, k->residual, 1, k->trial);
    accept(k, k->z, k->trial);
}

static double merit_of(const cm_walk *k)
{
    const cm_cone_problem *p = k->p;
    double value = fmax(fabs(cm_real_dot(k->n, p->c, k->x)), fabs(cm_real_dot(k->m, p->h, k->z))) / k->tau;
    double gap = cm_real_dot(k->m, k->s, k->z) / (k->tau * k->tau) / fmax(value, VALUE_SMALL);
    double primal = norm(k->m, k->rz) / k->tau / fmax(1, norm(k->m, p->h));
    double dual = norm(k->n, k->rx) / k->tau / fmax(1, norm(k->n, p->c));
    return fmax(gap, fmax(primal, dual));
}

static void keep_if_better(cm_walk *k)
{
    double merit = merit_of(k);
    k->idle++;
    if (!(merit < k->best_merit))
        return;
    k->idle = 0;
    k->best_merit = merit;
    for (int j = 0; j < k->n; j++)
        k->best[j] = k->x[j] / k->tau;
    for (int i = 0; i < k->m; i++) {
        k->best[k->n + i] = k->s[i] / k->tau;
        k->best[k->n + k->m + i] = k->z[i] / k->tau;
    }
}

/* |Gᵀz| for h·z = -1: zero is a proof of infeasibility. */
static void keep_ray(cm_walk *k)
{
    double along = -cm_real_dot(k->m, k->p->h, k->z);
    if (!(along > 0))
        return;
    for (int j = 0; j < k->n; j++)
        k->residual[j] = k->rx[j] - k->tau * k->p->c[j];
    double exactness = norm(k->n, k->residual) / along;
    if (!(exactness < k->best_ray))
        return;
    k->idle = 0;
    k->best_ray = exactness;
    for (int i = 0; i < k->m; i++)
        k->ray[i] = k->z[i] / along;
}

static bool is_done(cm_walk *k)
{
    residuals(k);
    hold_equations(k);
    residuals(k);
    keep_if_better(k);
    keep_ray(k);
    int patience = k->best_merit < NEAR_END ? PATIENCE : PATIENCE_EARLY;
    return k->best_merit < MERIT_WANTED || k->best_ray < RAY_WANTED || k->idle > patience || !isfinite(k->mu);
}

/* ---- one step ---- */

static bool rescale(cm_walk *k)
{
    for (int c = 0; c < k->p->cones; c++) {
        int row = k->start[c];
        int size = k->p->size[c];
        if (!cm_scaling_make(size, k->s + row, k->z + row, &k->scaling[c]))
            return false;
        cm_scaling_apply(size, &k->scaling[c], k->z + row, k->lambda + row);
        cm_scaling_undo(size, &k->scaling[c], k->p->h + row, k->h_scaled + row);
        cm_scaling_undo(size, &k->scaling[c], k->rz + row, k->rz + row);
    }
    return factor(k);
}

/* The part of the direction that multiplies dτ: S x1 - z1 = W⁻¹h, Sᵀz1 = -c. */
static void direction_of_tau(cm_walk *k)
{
    for (int j = 0; j < k->n; j++)
        k->bx[j] = -k->p->c[j];
    solve_pair(k, k->bx, k->h_scaled, k->x1, k->z1);
}

/* Direction for the complementarity targets (λ\d in `target`, `kappa_target`) and residuals reduced by `share`. */
static void direction(cm_walk *k, double share, double kappa_target)
{
    for (int j = 0; j < k->n; j++)
        k->bx[j] = -share * k->rx[j];
    for (int i = 0; i < k->m; i++)
        k->bz[i] = -share * k->rz[i] - k->target[i];
    solve_pair(k, k->bx, k->bz, k->dx, k->dz);
    double known = share * k->rt + cm_real_dot(k->n, k->p->c, k->dx) + cm_real_dot(k->m, k->h_scaled, k->dz);
    k->dtau = (kappa_target + k->tau * known) / (k->kappa + k->tau * cm_real_dot(k->m, k->z1, k->z1));
    for (int j = 0; j < k->n; j++)
        k->dx[j] += k->dtau * k->x1[j];
    for (int i = 0; i < k->m; i++) {
        k->dz[i] += k->dtau * k->z1[i];
        k->ds[i] = k->target[i] - k->dz[i];
    }
    k->dkappa = (kappa_target - k->kappa * k->dtau) / k->tau;
}

static double step_length(const cm_walk *k)
{
    double inverse = fmax(0, fmax(-k->dtau / k->tau, -k->dkappa / k->kappa));
    for (int c = 0; c < k->p->cones; c++) {
        int row = k->start[c];
        inverse = fmax(inverse, cm_cone_inverse_step(k->p->size[c], k->lambda + row, k->ds + row));
        inverse = fmax(inverse, cm_cone_inverse_step(k->p->size[c], k->lambda + row, k->dz + row));
    }
    return inverse > STEP_SHARE ? STEP_SHARE / inverse : 1;
}

static void predict(cm_walk *k)
{
    for (int i = 0; i < k->m; i++)
        k->target[i] = -k->lambda[i];
    direction(k, 1, -k->kappa * k->tau);
}

/* λ\(-λ∘λ - ds∘dz + σ mu e) with the predictor's ds, dz. */
static void correct(cm_walk *k, double sigma)
{
    for (int c = 0; c < k->p->cones; c++) {
        int row = k->start[c];
        int size = k->p->size[c];
        double *target = k->target + row;
        cm_cone_product(size, k->ds + row, k->dz + row, target);
        for (int i = 0; i < size; i++)
            target[i] = -target[i];
        target[0] += sigma * k->mu;
        cm_cone_divide(size, k->lambda + row, target, target);
        for (int i = 0; i < size; i++)
            target[i] -= k->lambda[row + i];
    }
    direction(k, 1 - sigma, -k->kappa * k->tau - k->dkappa * k->dtau + sigma * k->mu);
}

static void advance(cm_walk *k, double length)
{
    for (int c = 0; c < k->p->cones; c++) {
        int row = k->start[c];
        cm_scaling_apply(k->p->size[c], &k->scaling[c], k->ds + row, k->ds + row);
        cm_scaling_undo(k->p->size[c], &k->scaling[c], k->dz + row, k->dz + row);
    }
    for (int j = 0; j < k->n; j++)
        k->x[j] += length * k->dx[j];
    for (int i = 0; i < k->m; i++) {
        k->s[i] += length * k->ds[i];
        k->z[i] += length * k->dz[i];
    }
    k->tau += length * k->dtau;
    k->kappa += length * k->dkappa;
}

static bool take_step(cm_walk *k)
{
    if (!rescale(k))
        return false;
    direction_of_tau(k);
    predict(k);
    double left = 1 - step_length(k);
    correct(k, left * left * left);
    double length = step_length(k);
    if (!isfinite(length) || length < 1e-10)
        return false;
    advance(k, length);
    return true;
}

static cm_cone_answer report(const cm_walk *k, int iterations)
{
    cm_cone_answer a = {.merit = k->best_merit,
                        .iterations = iterations,
                        .x = k->best,
                        .s = k->best + k->n,
                        .z = k->best + k->n + k->m};
    bool is_ray = k->best_ray < RAY_WANTED || (k->best_merit > MERIT_POOR && k->best_ray < RAY_ALLOWED);
    if (is_ray && k->best_merit > RAY_ALLOWED) {
        a.outcome = CM_CONE_INFEASIBLE;
        a.z = k->ray;
    }
    return a;
}

/* Near a known answer: so much of it and the rest of the middle of the cones, which keeps the walk off the edges (warm
 * starts of homogeneous embeddings: Skajaa, Andersen and Ye 2013, from memory). */
static void begin_near(cm_walk *k, const cm_cone_answer *near)
{
    for (int j = 0; j < k->n; j++)
        k->x[j] = NEAR_SHARE * near->x[j];
    for (int i = 0; i < k->m; i++) {
        k->s[i] = NEAR_SHARE * near->s[i];
        k->z[i] = NEAR_SHARE * near->z[i];
    }
    for (int c = 0; c < k->p->cones; c++) {
        k->s[k->start[c]] += 1 - NEAR_SHARE;
        k->z[k->start[c]] += 1 - NEAR_SHARE;
    }
    k->kappa = cm_real_dot(k->m, k->s, k->z) / k->p->cones;
}

static cm_cone_answer walk_from(cm_session *session, const cm_cone_problem *problem, bool orthogonal,
                                const cm_cone_answer *near)
{
    cm_walk walk = {.session = session,
                    .p = problem,
                    .m = problem->rows,
                    .n = problem->variables,
                    .orthogonal = orthogonal,
                    .best_merit = INFINITY,
                    .best_ray = INFINITY};
    allocate(session, &walk);
    place_cones(&walk);
    int steps = 0;
    bool begun = begin(&walk);
    if (begun && near)
        begin_near(&walk, near);
    if (begun)
        for (; steps < STEPS_ALLOWED && !is_done(&walk); steps++) {
            cm_ask_stop(session);
            if (!take_step(&walk))
                break;
        }
    return report(&walk, steps);
}

cm_cone_answer cm_cone_solve(cm_session *session, const cm_cone_problem *problem, bool orthogonal)
{
    return walk_from(session, problem, orthogonal, NULL);
}

cm_cone_answer cm_cone_solve_near(cm_session *session, const cm_cone_problem *problem,
                                  const cm_cone_answer *near)
{
    return walk_from(session, problem, false, near);
}
