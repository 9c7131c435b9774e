/* SPDX-License-Identifier: MIT */
/**
 * @file solve.h
 * From an influence matrix to the best masses, with the proof that no masses
 * do better.
 *
 * Reading of row i with total correction masses x (z = x - base):
 *     r_i(x) = y_i + sum_j A_ij z_j
 * Everything is in the caller's own consistent units and one frame.
 */
#ifndef COUNTERMASS_SOLVE_H
#define COUNTERMASS_SOLVE_H

#include "countermass/session.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What is minimised (CM_CONFIDENCE: made as large as can be). */
typedef enum cm_objective {
    CM_LEAST_SQUARES, /**< sqrt(sum W_i² |r_i|²) */
    CM_MIN_MAX,       /**< max W_i |r_i| (pairs: weight_p (|F| + |B|)) */
    CM_LEAST_MASS,    /**< sum_j |x_j| subject to |r_i| ≤ limit_i on counted rows */
    CM_LEAST_CHANGE,  /**< sum_j |x_j - now_j|, likewise */
    CM_WORST_CASE,    /**< |W r| + rho |diag(c) z| */
    CM_EXPECTED,      /**< sqrt(E sum W_i² |r_i|²) */
    /** largest kappa with |r_i| + kappa sd_i ≤ limit_i (pairs: the spreads of the parts add) */
    CM_CONFIDENCE
} cm_objective;

/** A disc |x_plane - centre| ≤ radius that the total mass of a plane must stay in. */
typedef struct cm_disc {
    int plane;         /**< index of the plane */
    cm_complex centre; /**< centre of the disc */
    double radius;     /**< ≥ 0; INFINITY: no cap */
} cm_disc;

/** Two rows f and b (b < 0: none) judged together: weight·size, and limit on the size. Its parts are the two rows
 *  themselves, or combinations of them such as the forward and backward circles of an orbit:
 *      size = sum over parts |part|,    part k = mix[2k]·r_f + mix[2k+1]·r_b. */
typedef struct cm_pair {
    int forward;   /**< first row */
    int backward;  /**< second row */
    double weight; /**< 0: predicted, not counted */
    double limit;  /**< INFINITY: none */
    int parts; /**< 0: the rows themselves, `mix` is not used; else 1 or 2 (then both rows must be there) */
    cm_complex mix[4]; /**< how the two rows are made of the readings of the two probes */
    /** a block of (planes+1)×(planes+1) per part: covariance factor of the part's reading in the base
     *  state and its coefficients, for CM_CONFIDENCE (cm_determine fills it); NULL: none */
    const cm_complex *spread;
} cm_pair;

/** What is asked. Input; must live as long as the answer is used. `size` may end anywhere after `mass_zero`: what the caller
 *  does not know is taken as zero. */
typedef struct cm_problem {
    size_t size;                  /**< sizeof(cm_problem) */
    cm_objective objective;       /**< what is minimised */
    int rows;                     /**< number of rows */
    int planes;                   /**< number of planes */
    int blocks;                   /**< number of blocks (speeds) */
    const int *block;             /**< rows: number of the speed (0 … blocks-1) */
    const cm_complex *y;          /**< rows: reading in the base state */
    const cm_complex *a;          /**< rows × planes, column-major */
    const double *weight;         /**< rows: W_i ≥ 0; 0: predicted, not counted */
    const double *limit;          /**< rows: > 0, INFINITY: none; NULL: no row has one */
    const cm_complex *base;       /**< planes: masses b in the base state */
    const cm_complex *now;        /**< planes: masses n on the rotor now */
    const unsigned char *held;    /**< planes: 1: x_j = held_value_j; NULL: none is */
    const cm_complex *held_value; /**< planes: finite where held */
    int disc_count;               /**< number of discs */
    const cm_disc *discs;         /**< several may bind one plane; those of held planes bind nothing */
    int tie_count;                /**< number of ties */
    const cm_complex *ties;       /**< ties × planes: T x = tie_value */
    const cm_complex *tie_value;  /**< ties: right-hand sides */
    int pair_count;               /**< number of pairs */
    const cm_pair *pairs;         /**< pair_count of them */
    int within_limits;            /**< 1: also |r_i| ≤ limit_i on counted rows, and the same for pairs */
    double influence_error;       /**< rho ≥ 0 of CM_WORST_CASE */
    /** rows blocks of (planes+1)×(planes+1): covariance factor of (y_i, a_i1 …) for CM_EXPECTED and
     *  CM_CONFIDENCE; NULL otherwise */
    const cm_complex *spread;
    /** rows: 0: the runs do not tell this row over the allowed masses; NULL: all told */
    const unsigned char *determined;
    double mass_unit; /**< one unit of mass as the user counts it (scale of the zero test) */
    double mass_zero; /**< masses below this are zero */
    /** rows × planes: 0: the runs do not tell this coefficient by itself (its combinations may be told);
     *  NULL: all told. cm_determine fills it. */
    const unsigned char *coefficient_determined;
    int column_count; /**< directions in use, when they are not the planes that are not held */
    /** planes × column_count: masses of one unit of each; NULL: the planes themselves */
    const cm_complex *columns;
    /** rows × column_count: 0: the runs do not tell what a unit of it does; NULL: all told. cm_determine
     *  fills it. */
    const unsigned char *column_determined;
    /** rows: slow roll that is in `y`, because the row is judged as read; NULL: none */
    const cm_complex *offset;
    /** rows: 1: the limit given is one for the overall level, and `limit` is what that leaves for the
     *  once-per-turn part; 2: it leaves nothing, and `limit` only weighs that part; NULL: none */
    const unsigned char *overall;
    const cm_complex *run_out; /**< rows: slow roll of the reference run; NULL where `rest` is */
    /** rows: level that is not once per turn, as the runs read it; NaN: not read; NULL: nowhere */
    const double *rest;
    /** 1: the objective `kept` must also stay at `keep_at` or better (CM_CONFIDENCE: at least that kappa) */
    int keeps;
    cm_objective kept; /**< the objective that is kept */
    double keep_at;    /**< the value it is kept at */
    /** planes: masses that keep it, to search from; NULL: the search begins where it likes. Answers do not depend on it. */
    const cm_complex *begin;
    /** 1: of all masses whose value is within the share `within` of the best, those that are best by
     *  `second`. Limits of CM_LEAST_MASS and CM_LEAST_CHANGE as second do not bind by themselves. */
    int then;
    cm_objective second; /**< not `objective` */
    double within;       /**< > 0; of the largest kappa: at least (1 - within) of it */
    /** column_count: which plane a column is, or planes + number of its set; NULL where `columns` is */
    const int *column_of;
} cm_problem;

/** How a problem came out; none is a failure. */
typedef enum cm_outcome {
    CM_OPTIMAL,     /**< masses that no others can better */
    CM_INFEASIBLE,  /**< no masses keep caps, ties and limits */
    CM_UNDETERMINED /**< the runs do not tell a counted row over the allowed masses */
} cm_outcome;

/** The dual point behind a bound or a contradiction, so that others can evaluate it: docs/theory/proof.md. All phasors are
 *  to be divided by `norm`. With
 *      constant = Re Σ conj(v_i) y_i + Re Σ conj(w_d)(b_j - centre_d) + Re Σ conj(q_j)(b_j - o_j) + Re Σ conj(l_k)(T_k b - t_k)
 *                 - Σ limit_i |v_i| (limit parts) - Σ radius_d |w_d|
 *  the bound is constant/norm plus what held planes add; contradiction: the same without objective parts is > 0. Arrays are
 *  never NULL; those that a problem has no use for are empty. Result. */
typedef struct cm_proof {
    size_t size;                        /**< sizeof the struct; later versions append members */
    int contradiction;                  /**< 1: no masses meet the constraints; no objective parts */
    double norm;                        /**< > 0 */
    double kappa;                       /**< CM_CONFIDENCE: the factor that is proven to be out of reach */
    const cm_complex *row_objective;    /**< rows */
    const cm_complex *row_limit;        /**< rows */
    const cm_complex *pair_objective;   /**< 2 × pairs: forward, backward */
    const cm_complex *pair_limit;       /**< 2 × pairs */
    const cm_complex *mass;             /**< planes: of |x_j - o_j|, or of c_j |z_j| of CM_WORST_CASE */
    const cm_complex *spread_objective; /**< (planes+1) × rows */
    const cm_complex *spread_limit;     /**< (planes+1) × rows */
    const cm_complex *disc;             /**< discs */
    const cm_complex *spread_pair;      /**< (planes+1) × 2 × pairs: of parts of pairs, in limits */
    const cm_complex *tie;              /**< ties */
} cm_proof;

/** The answer with its proof. Result. Arrays are NULL unless the outcome is optimal or said otherwise. */
typedef struct cm_answer {
    size_t size;         /**< sizeof the struct; later versions append members */
    cm_outcome outcome;  /**< what came out; not a failure */
    double value;        /**< objective at x */
    double bound;        /**< proven bound, evaluated from a dual point by the recheck */
    double gap;          /**< relative, as the documentation defines it */
    const cm_complex *x; /**< planes: total masses */
    const cm_complex *r; /**< rows: predicted readings (also rows of weight 0; 0 where undetermined) */
    const unsigned char *at_cap; /**< planes: on the edge of a disc */
    /** planes: 1 when the plane takes part in an exact dependence among the planes in use */
    const unsigned char *dependent;
    int rank;             /**< of W A Z */
    int unknowns;         /**< columns of Z */
    double largest_ratio; /**< max |r_i| / limit_i over counted rows with limits; NaN without */
    /** infeasible: least common factor on the limits that allows an answer; NaN: caps, held planes and
     *  ties exclude each other */
    double limits_factor;
    const unsigned char *conflict_rows;   /**< rows (infeasible): takes part in the proof */
    const unsigned char *conflict_planes; /**< planes (infeasible) */
    /** rows: what the value gains (CM_CONFIDENCE: rises, else falls) per unit of ln limit_i, by the dual point; 0
     *  where it does not hold the answer up; NULL: none */
    const double *row_multiplier;
    const double *disc_multiplier;       /**< discs: the same per unit of radius; NULL: none */
    int iterations;                      /**< of the solver */
    const unsigned char *conflict_pairs; /**< pairs (infeasible): takes part in the proof; NULL: none does */
    const double *pair_multiplier;       /**< pairs: as row_multiplier */
    const cm_proof *proof;               /**< optimal or infeasible; NULL: none */
    /** with problem->then: value of the second objective at x, its proven bound and gap; NaN: none */
    double then_value;
    double then_bound;    /**< proven bound of the second objective */
    double then_gap;      /**< its relative gap */
    double then_best;     /**< best value of the first objective, before the second was asked, and its gap */
    double then_best_gap; /**< relative gap of that best value */
} cm_answer;

/** Finds the masses that minimise the objective, with the proof that no masses do better; shapes: cm_problem
 *  (in) and cm_answer (out); units: the caller's own. Every answer has been rechecked by code that shares
 *  nothing with the solver before it is returned. Infeasible and undetermined are outcomes, not errors.
 *  Errors: CM_BAD_INPUT (a count, index, number or array that cannot be, named with its place; ties and held planes that
 *  contradict each other, by name), CM_NUMERICS (no
 *  answer passed the recheck), CM_NO_MEMORY, CM_STOPPED. Methods: least squares by QR, a primal-dual Newton
 *  method for caps, a primal-dual interior-point method for second-order cones; sources in
 *  docs/theory/optimiser.md and docs/theory/proof.md. */
CM_API cm_status cm_solve(cm_session *session, const cm_problem *problem, const cm_answer **answer);

/** Condition of diag(W)·A over the planes that are not held, columns scaled to unit norm. Infinite values are INFINITY. */
typedef struct cm_condition {
    size_t size;            /**< sizeof the struct; later versions append members */
    double overall;         /**< over all counted rows */
    int blocks;             /**< number of blocks (speeds) */
    const double *by_block; /**< blocks: of each speed alone */
    /** planes: unit mass combination (in scaled columns) that the rows see least */
    const cm_complex *weakest;
    const double *column_norm; /**< planes: 2-norm of the weighted column; 0 for held planes */
} cm_condition;

/** Condition numbers (overall and per block) over counted rows. INFINITY: a zero column, fewer rows than
 *  columns, a ratio above 1e15, no counted rows or columns, or a coefficient among them that is undetermined
 *  by itself. Errors: CM_BAD_INPUT (as cm_solve), CM_NO_MEMORY, CM_NUMERICS. Method: singular values of the weighted matrix with columns
 *  of unit norm, docs/theory/influence.md. */
CM_API cm_status cm_condition_of(cm_session *session, const cm_problem *problem,
                                 const cm_condition **condition);

#ifdef __cplusplus
}
#endif
#endif
