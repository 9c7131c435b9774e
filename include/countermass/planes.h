/* SPDX-License-Identifier: MIT */
/**
 * @file planes.h
 * Which correction planes: sets of planes compared by what they can reach.
 *
 * Sets are drawn from the planes that the problem does not hold; a set of the case that is in use is drawn as one. Planes outside a set stay at what is on the rotor now;
 * planes that the problem holds keep their value in every set.
 */
#ifndef COUNTERMASS_PLANES_H
#define COUNTERMASS_PLANES_H

#include "countermass/job.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What is asked. Input. Members left zero take the default. */
typedef struct cm_plane_question {
    size_t size;                /**< sizeof(cm_plane_question) */
    int at_most;                /**< most planes in a set; 0: all there are */
    int best;                   /**< sets listed of each size when there are more than 4096; 0: 20 */
    const unsigned char *must;  /**< planes, then sets of the case: 1: in every set; NULL: none */
    const unsigned char *never; /**< planes, then sets of the case: 1: in no set; NULL: none */
    void *context;              /**< handed to `progress` */
    void (*progress)(void *context, double solved, double total); /**< sets solved so far; NULL: not told */
} cm_plane_question;

/** One set and what it can reach. NaN: not available. */
typedef struct cm_plane_set {
    const unsigned char *in; /**< planes, then sets of the case: 1: in the set */
    int count;               /**< planes in the set */
    cm_outcome outcome;      /**< what came out; not a failure */
    double value;            /**< of the objective; NaN unless optimal */
    double bound;            /**< proven bound on it */
    double largest_ratio;    /**< max |r_i|/limit_i over counted rows */
    double total_mass;       /**< sum |x_j| over all planes */
    double condition;        /**< overall; INFINITY as in cm_condition */
    double expected; /**< sqrt(E sum W_i² |r_i|²) at these masses; NaN when nothing tells the scatter */
    int starts;      /**< further starts that would tell all counted rows; -1: no runs given */
    int pareto;      /**< 1: no listed set is as good in value, mass and number of planes and better in one */
    int proven;      /**< 1: no set that is not listed can stand before it among those of its size */
    const cm_complex *x; /**< planes: total masses; NULL unless optimal */
    int failed;          /**< 1: no answer passed the recheck; its place is not known */
} cm_plane_set;

/** How far other planes do the same as one. */
typedef struct cm_plane_share {
    int plane;  /**< index of the plane */
    double own; /**< share of its weighted effect that all other planes together cannot make; NaN: not told */
    /** planes: the fewest others (at most three) that make nine tenths of it; NULL: none do */
    const unsigned char *like;
    double like_own; /**< share that these leave */
} cm_plane_share;

/** What happens without one sensor or one speed: the masses are found without its rows and judged on all rows. */
typedef struct cm_left_out {
    int sensor;           /**< index of the sensor; -1: none */
    int speed;            /**< one of them; the other is -1 */
    cm_outcome outcome;   /**< what came out; not a failure */
    double value;         /**< of all rows at those masses */
    double largest_ratio; /**< of counted readings to their limits */
    double condition;     /**< overall condition number */
} cm_left_out;

/** A part that can be refitted in steps: its unknown unbalance, told by runs in which it was turned. */
typedef struct cm_turned_part {
    int plane;                   /**< index of the plane */
    int positions;               /**< positions in which it can be refitted */
    int told;                    /**< 1: `unbalance` is known */
    const char *why_not;         /**< what is wanting; NULL when told */
    const cm_complex *unbalance; /**< one: mass at the plane's radius, as the part stood when found */
} cm_turned_part;

/** All parts in one position each, the continuous planes solved again. */
typedef struct cm_turned_position {
    const int *steps;    /**< parts: steps with rotation from as-found */
    cm_plane_set answer; /**< with all planes that may be used */
} cm_turned_position;

/** Result; sets are ordered best first, by value, then number of planes, then order of the planes. */
typedef struct cm_plane_comparison {
    size_t size;                  /**< sizeof the struct; later versions append members */
    int planes;                   /**< number of planes */
    double total;                 /**< sets there are */
    int listed;                   /**< sets listed */
    const cm_plane_set *sets;     /**< `listed` of them, best first */
    int all;                      /**< 1: every set is listed; 0: the `best` of each size */
    int best;                     /**< sets listed of each size */
    int stopped;                  /**< 1: the host's stop hook ended the search; see `proven` */
    double looked_at;             /**< sets the search looked at */
    double solved;                /**< sets solved from scratch */
    double value_all;             /**< value with all planes that may be used; NaN: none */
    int share_count;              /**< number of shares */
    const cm_plane_share *shares; /**< how far other planes do the same */
    int left_out_count;           /**< number of sensors and speeds left out in turn */
    const cm_left_out *left_out;  /**< what happens without each */
    int part_count;               /**< parts that can be refitted in steps */
    const cm_turned_part *parts;  /**< part_count of them */
    int turned_readings;          /**< readings that told of them */
    /** share of those readings' change that turning does not explain, each over its scatter; NaN: none
     *  told */
    double turned_misfit;
    int position_count; /**< best first; 0 when no part is told */
    /** by value, then by total mass; parts that are not told stay as found */
    const cm_turned_position *positions;
} cm_plane_comparison;

/** Compares sets of planes (job: problem; influence and given where they are there) and puts the result into
 *  the job; values, ratios and masses in the units of the problem. Errors: CM_BAD_INPUT (a plane both asked
 *  for and excluded, or asked for and held; at_most above the planes there are; more than 64 planes to choose
 *  from; too many sets for an objective that least squares does not bound), CM_NO_MEMORY, CM_NUMERICS; a stop
 *  by the host ends the search with what is proven. Methods: branch and bound over least-squares bounds,
 *  docs/theory/planes.md. */
CM_API cm_status cm_compare_planes(cm_session *session, cm_job *job, const cm_plane_question *question);

/** Marks (planes: 1 or 0, owned by the session) of the planes with these `count` ids. Errors: CM_BAD_INPUT
 *  names an id that does not exist and the nearest one, CM_NO_MEMORY. */
CM_API cm_status cm_plane_marks(cm_session *session, const cm_case *c, int count, const char *const *ids,
                                const unsigned char **marks);

#ifdef __cplusplus
}
#endif
#endif
