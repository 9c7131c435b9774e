/* SPDX-License-Identifier: MIT */
/**
 * @file influence.h
 * From runs to an influence matrix with its spread.
 *
 * A row is one sensor at one speed. Arrays are column-major, phasors are in
 * one frame (mass m at angle t counted with rotation: m·exp(it); reading of
 * amplitude a and phase lead p: a·exp(ip)) and in units of the caller's own;
 * masses are totals counted from the as-found rotor, reduced to the radius of
 * their plane.
 */
#ifndef COUNTERMASS_INFLUENCE_H
#define COUNTERMASS_INFLUENCE_H

#include "countermass/session.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Where the scatter of a row's readings comes from, best first. */
typedef enum cm_scatter_source {
    CM_SCATTER_DECLARED, /**< repeatability of the sensor */
    CM_SCATTER_FIT,      /**< residuals of the fit, pooled, with degrees of freedom */
    CM_SCATTER_REPEATS,  /**< repeated readings inside runs: a lower bound */
    CM_SCATTER_ASSUMED   /**< the rule 3 % of the mean amplitude + a floor */
} cm_scatter_source;

/** What is known about one coefficient without this case's runs. */
typedef struct cm_known {
    int row;            /**< index of the row */
    int plane;          /**< index of the plane */
    cm_complex value;   /**< change of the reading per unit mass */
    double uncertainty; /**< sqrt(E|e|²) > 0; 0: exact, its plane leaves the fit of that row */
    /** share of the variance of e/A that all rows of this plane and block have together, 0..1 */
    double common;
    int record; /**< number of the earlier record it comes from, from 1; 0: none, then given once only */
    /** n > 0: known of set n-1 of the runs, which stands in coordinate `plane` of the row's basis; 0: of
     *  the plane */
    int set;
} cm_known;

/** Runs and earlier knowledge as arrays. Input; copied nowhere, must live as long as the result is used. `size` may end
 *  anywhere after `mass_zero`: what the caller does not know is taken as zero. */
typedef struct cm_runs {
    size_t size; /**< sizeof(cm_runs) */
    int rows;    /**< number of rows */
    int planes;  /**< number of planes */
    int runs;    /**< number of runs */
    /** rows: number of the speed a row belongs to (priors in common, conditions per speed) */
    const int *block;
    const int *pool;            /**< rows: rows with the same number share one scatter (same unit and kind) */
    const cm_complex *masses;   /**< runs × planes: mass state of each run */
    const cm_complex *readings; /**< rows × runs: complex mean of the readings of that row in that run */
    const int *repeats;         /**< rows × runs: number of readings behind the mean; 0: not read */
    /** rows × runs: sum |reading - mean|² over the repeats; NULL: none repeated */
    const double *repeat_spread;
    const double
        *repeatability; /**< rows: declared sqrt(E|e|²) of one reading; 0: not declared; NULL: none */
    const double *assumed_floor; /**< rows: the floor added to 3 % by the assumption */
    int known_count;             /**< number of known coefficients */
    const cm_known *known;       /**< values of several records for one row and plane are pooled */
    const cm_complex *base;      /**< planes: base state b */
    double mass_zero;            /**< masses below this are zero, states nearer than this are equal */
    /** rows: first row (itself or an earlier one) that has the same coefficients, each row its own
     *  reading; NULL: every row has its own coefficients */
    const int *shares;
    const int *shared_block;  /**< rows: block that the coefficients belong to; NULL: `block` */
    int levels;               /**< unknowns per row, beside the planes, that shift the readings of runs */
    const double *level;      /**< runs × levels: how strongly each shifts them, of size 1 */
    const double *base_level; /**< levels: the same in the base state */
    /** runs: by how much the phases of a run read too high (rad, lead), taken out of `readings` already;
     *  NAN: not known, nothing tells it; for pages; NULL: no run was shifted */
    const double *phase_shift;
    /** planes: positions (equal steps of a full turn) in which the part at the plane can be refitted; 0:
     *  it cannot; NULL: none can */
    const int *positions;
    /** runs × planes: steps with rotation from as-found that the part was turned by in that run; NULL: in
     *  no run */
    const int *turned;
    /** rows × runs: readings behind the mean in runs in which a part was turned; their `repeats` are 0,
     *  for the fit knows nothing of parts; NULL: no such run */
    const int *turned_repeats;
    /** rows × runs: what a reading counts as, its variance is the row's divided by it; > 0 where read;
     *  NULL: all 1 */
    const double *reading_weight;
    int moved;           /**< runs whose phases were turned back by an angle found from readings */
    const int *moved_of; /**< runs: number among those, or -1; NULL when `moved` is 0, as the next two */
    /** rows × runs: readings of those runs, turned back, run-out included */
    const cm_complex *moved_reading;
    /** rows × runs × moved: L, the angle is wrong by sum Im(conj(L)·error of reading) */
    const cm_complex *moved_gain;
    int set_count; /**< number of sets */
    /** planes × set_count: the mass on each plane that one unit of a set is; NULL: no sets */
    const cm_complex *sets;
    /** rows: number of the row's basis, -1: its planes; NULL: all -1. A known coefficient of a set takes
     *  the place of a plane: a = T·a', T: the basis */
    const int *basis_of;
    const cm_complex *bases; /**< blocks planes × planes: T, regular */
    /** runs: where each stands, from -1 farthest back to 0 at the last one, by time or in their order;
     *  NULL: fewer than three runs */
    const double *drift_level;
    int drift_fitted; /**< 1: the last level is that drift */
} cm_runs;

/** Influence matrix with its spread. Result. */
typedef struct cm_influence {
    size_t size; /**< sizeof the struct; later versions append members */
    int rows;    /**< number of rows */
    int planes;  /**< number of planes */
    /** rows × planes; where undetermined by itself, the shortest solution: 0 for a plane never tried,
     *  meaningful in combinations the runs tell otherwise */
    const cm_complex *a;
    const unsigned char *determined; /**< rows × planes: 1 when the coefficient is determined by itself */
    /** rows × planes: sqrt(E|e|²), assumed scatter where nothing else; 0 exact; NaN where undetermined by
     *  itself */
    const double *std;
    const cm_complex *y;   /**< rows: reading expected in the base state */
    const int *base_runs;  /**< rows: runs in the base state that read the row; 0: y is fitted */
    const double *scatter; /**< rows: sqrt(E|e|²) of one reading, in use */
    const cm_scatter_source *scatter_source; /**< rows */
    /** rows: (complex) degrees of freedom behind `scatter`; INFINITY when declared, 0 when assumed */
    const double *dof;
    /** rows × planes: 0 when `std` rests on the assumed scatter only ("not available") */
    const unsigned char *std_known;
    /** rows blocks of (planes+1)×(planes+1), column-major: covariance of (y, a_1 … a_M) of the row is
     *  F·F^H */
    const cm_complex *factor;
    /** rows blocks of (planes+1)×(planes+1): orthonormal basis of what the runs do not tell about
     *  (as-found reading, a_1·scale_1 … a_M·scale_M); NULL when every count is 0 */
    const cm_complex *null_space;
    const int *null_count;      /**< rows: columns in use of that basis */
    const double *column_scale; /**< planes+1: the scales of the basis */
    int common_count; /**< number of latent errors that rows share: priors with `common`, angles of phases */
    /** rows blocks of (planes+1)×common_count: covariance between rows i and k is G_i·G_k^H - H_i·H_k^H, H
     *  = base_factor (already contained in F·F^H); NULL when common_count is 0 */
    const cm_complex *common_factor;
    /** rows: radius that holds 90 % of a coefficient's error divided by its `std`: 1.517, more where the
     *  scatter itself rests on few degrees of freedom */
    const double *radius_factor;
    const cm_complex *residual; /**< rows × runs: reading minus fitted value; 0 where not read */
    /** like common_factor, what the noise of the row's own readings has to do with the latent errors */
    const cm_complex *base_factor;
    /** rows × planes: share of the variance of e/A that the rows of this plane and block have together, as
     *  a later prior takes it; 0..1 */
    const double *common;
    /** the last of the latent errors in common are real numbers, as angles are: pseudo- covariance E
     *  e_i·e_k^T between rows G_i·G_k^T - H_i·H_k^T, of a row with itself too; all other errors are
     *  circular */
    int real_count;
    int own_width;     /**< columns of own_factor; 0: no rows share coefficients */
    const int *family; /**< rows: rows with the same number share coefficients, and the noise behind them */
    /** rows blocks of (planes+1)×own_width: covariance between rows i and k of one family is E_i·E_k^H
     *  beside the part in common (contained in F·F^H) */
    const cm_complex *own_factor;
    /** runs: standard deviation (rad) of the angle that its phases were turned back by, under the scatter
     *  in use; 0 where none was estimated; NULL: nowhere */
    const double *phase_shift_std;
    int set_count;                       /**< of the runs */
    const cm_complex *set_a;             /**< rows × sets: change of the reading per unit of each set */
    const unsigned char *set_determined; /**< rows × sets */
    const double *set_std;               /**< rows × sets: as `std` */
    const unsigned char *set_std_known;  /**< rows × sets */
} cm_influence;

/** Weighted least-squares fit of every row on its runs and priors; shapes: cm_runs (in) and cm_influence
 *  (out); units: those of the caller's readings and masses. Errors: CM_BAD_INPUT (a count, index, number or
 *  array that cannot be, said with its name), CM_NO_MEMORY, CM_NUMERICS (a factorisation failed). Method: complex least squares by QR with
 *  column pivoting and Gaussian priors, docs/theory/influence.md. */
CM_API cm_status cm_fit(cm_session *session, const cm_runs *runs, const cm_influence **influence);

#ifdef __cplusplus
}
#endif
#endif
