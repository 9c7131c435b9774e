/* SPDX-License-Identifier: MIT */
/**
 * @file place.h
 * From masses to real pieces at real positions: which holes, which pieces, with proof.
 *
 * Masses in kg, radii and depths in m, angles as phasors of size 1 in the frame (from the reference mark, with
 * rotation). "Reduced" masses count at the radius of their plane, as everywhere else. NaN: not available.
 */
#ifndef COUNTERMASS_PLACE_H
#define COUNTERMASS_PLACE_H

#include "countermass/job.h"

#ifdef __cplusplus
extern "C" {
#endif

/** A kind of piece that a plane takes. */
typedef struct cm_shop_piece {
    double mass;     /**< of the piece */
    double screw;    /**< of the screw that comes with each */
    double replaces; /**< of what comes out for it (a plug, a washer); 0: nothing */
    int stock;       /**< INT_MAX: any number */
} cm_shop_piece;

/** A position. */
typedef struct cm_shop_site {
    int number;           /**< as it is stamped on the rotor */
    cm_complex direction; /**< of size 1 */
    int blocked;          /**< 1: takes nothing */
    int taken;            /**< 1: carries something already */
} cm_shop_site;

/** A piece that can be taken away. */
typedef struct cm_shop_installed {
    int site;    /**< index of the position */
    double mass; /**< kg */
} cm_shop_installed;

/** What may be done at a plane. */
typedef enum cm_shop_action {
    CM_ACTION_ADD,    /**< pieces are put on */
    CM_ACTION_REMOVE, /**< pieces are taken out, or holes drilled */
    CM_ACTION_EITHER  /**< both */
} cm_shop_action;

/** A free arc of a groove: angles grow with rotation from `from`, over `width`. */
typedef struct cm_shop_arc {
    double from;  /**< where it begins, rad */
    double width; /**< rad, frame */
} cm_shop_arc;

/** What one plane offers. */
typedef struct cm_shop_plane {
    int used;                           /**< 1: pieces may be placed here */
    double radius;                      /**< of the positions */
    double reduce;                      /**< radius over the plane's own radius: reduced mass per mass */
    cm_shop_action action;              /**< add, remove or either */
    int per_site;                       /**< pieces that one position takes */
    int most;                           /**< pieces that the plane takes in one go; INT_MAX: as many as fit */
    double site_screw;                  /**< screw that comes with every position that is filled */
    int site_count;                     /**< number of positions */
    const cm_shop_site *sites;          /**< site_count of them */
    int piece_count;                    /**< kinds of pieces */
    const cm_shop_piece *pieces;        /**< piece_count of them */
    int installed_count;                /**< pieces there already */
    const cm_shop_installed *installed; /**< installed_count of them */
    double drill_diameter;              /**< 0: nothing is drilled */
    double drill_density;               /**< kg/m3 */
    double drill_deepest;               /**< greatest depth, m */
    double drill_point;                 /**< full angle of the point, rad; depths count to the tip */
    double drill_step;                  /**< depths come in these steps, m */
    int arc_count;                      /**< free arcs of a groove; 0: no groove */
    const cm_shop_arc *arcs;            /**< arc_count of them: where pieces may sit */
    double piece_angle;                 /**< rad that one piece takes in the groove */
    const char *name;                   /**< of the plane, for messages; NULL: none */
} cm_shop_plane;

/** Everything a fitter has. Input. */
typedef struct cm_shop {
    size_t size;                /**< sizeof the struct; later versions append members */
    int planes;                 /**< number of planes */
    const cm_shop_plane *plane; /**< planes: what each offers */
} cm_shop;

/** 1 when pieces can be placed for this problem: cm_case_shop would find positions, and nothing that pieces
 *  cannot keep. Does not fail. */
CM_API int cm_case_has_shop(const cm_case *c, const cm_problem *problem);

/** What the case offers for its planes (the problem tells which may be used). CM_BAD_INPUT: nothing can be
 *  placed anywhere, or an objective, set or tie that pieces cannot keep. Masses in kg, lengths in m, angles
 *  in rad. Also CM_NO_MEMORY. */
CM_API cm_status cm_case_shop(cm_session *session, const cm_case *c, const cm_problem *problem,
                              const cm_shop **out);

/** What is asked. Input. Members left zero take the default. */
typedef struct cm_place_question {
    size_t size;         /**< sizeof the struct; later versions append members */
    const cm_shop *shop; /**< what is offered */
    double seconds;      /**< greatest time for the proof; 0: 10 s */
    int offers;          /**< best placements that are listed; 0: 5 */
    void *context;       /**< handed to `progress` */
    void (*progress)(void *context, double looked_at, double value, double bound); /**< NULL: not told */
} cm_place_question;

/** Kinds of entries of a fit list. */
typedef enum cm_fit_kind {
    CM_FIT_ADD,      /**< pieces are put on */
    CM_FIT_TAKE_OUT, /**< a piece that is there is taken out */
    CM_FIT_EXCHANGE, /**< pieces take the place of what is there */
    CM_FIT_DRILL     /**< a hole is drilled */
} cm_fit_kind;

/** Pieces of one kind at one position. */
typedef struct cm_fit_piece {
    int kind;        /**< of the plane's pieces; -1: an installed one */
    double mass;     /**< of one piece, kg */
    double screw;    /**< mass of its own screw, kg */
    double replaces; /**< mass of what it takes the place of, kg */
    int count;       /**< how many of it */
} cm_fit_piece;

/** One line of the fit list. */
typedef struct cm_fit_entry {
    cm_fit_kind kind;     /**< which */
    int plane;            /**< index of the plane */
    int site;             /**< index of the position; -1: any angle of a groove */
    int number;           /**< of the position */
    cm_complex direction; /**< of size 1 */
    double mass; /**< what is added, screws included and what comes out taken off; negative: taken away */
    cm_complex reduced;         /**< what it adds to the plane's total */
    cm_complex running;         /**< total of the plane with this entry and all before it, from as-found */
    double screw;               /**< all screws that come with it */
    double radius;              /**< where the pieces sit, m */
    double piece_force;         /**< greatest force that one piece with its screws pulls with at overspeed */
    double force;               /**< of everything added at this position */
    double rim_speed;           /**< at overspeed, m/s */
    double depth;               /**< of a hole, m */
    double full_depth;          /**< drilled: to the tip, and at full diameter; else NaN */
    int piece_count;            /**< number of pieces */
    const cm_fit_piece *pieces; /**< piece_count of them */
} cm_fit_entry;

/** One whole placement. */
typedef struct cm_fitting {
    double value;                /**< of the objective */
    double largest_ratio;        /**< NaN without limits */
    int pieces;                  /**< handled: put on, taken out, drilled */
    const cm_complex *x;         /**< planes: total masses */
    int entry_count;             /**< number of entries */
    const cm_fit_entry *entries; /**< plane by plane, in order of position */
} cm_fitting;

/** What a mistake in fitting does. */
typedef enum cm_slip_kind {
    CM_SLIP_POSITION, /**< one position off */
    CM_SLIP_ANGLE,    /**< 2 degrees off */
    CM_SLIP_MASS,     /**< 2 % too heavy or too light */
    CM_SLIP_COUNT     /**< number of kinds */
} cm_slip_kind;

/** What one mistake in fitting costs: the worst that it makes of the largest ratio to limit. */
typedef struct cm_slip {
    cm_slip_kind kind; /**< what went wrong */
    int plane;         /**< worst single plane; -1: nothing was placed that could slip */
    int sign;          /**< +1: with rotation, or too heavy */
    double ratio;      /**< largest ratio then (limits count as 1 where nothing has one) */
    double all;        /**< all planes at once, each to its worst side; NaN: too many planes */
} cm_slip;

/** How a placement came out. */
typedef enum cm_place_outcome {
    CM_PLACED,            /**< there is a placement; see `proven` */
    CM_NOTHING_FITS,      /**< no piece can be moved anywhere */
    CM_NOT_WITHIN,        /**< proven: no placement keeps caps and limits */
    CM_NOT_FOUND,         /**< time ran out before one was found that keeps caps and limits */
    CM_PLACE_UNDETERMINED /**< the runs do not tell a counted row */
} cm_place_outcome;

/** Result. */
typedef struct cm_placement {
    size_t size;              /**< sizeof the struct; later versions append members */
    cm_place_outcome outcome; /**< what came out; not a failure */
    const cm_shop *shop;      /**< what is offered */
    int proven;               /**< 1: no placement has a lower value */
    int timed_out;            /**< 1: the time allowed was over */
    int stopped;              /**< 1: the host asked to stop */
    double value;             /**< of the objective at the best placement; NaN: none */
    double bound;             /**< proven bound on it */
    double gap;               /**< as in cm_answer; the bound holds whether proven or not */
    double continuous; /**< value with masses of any size at any angle within the same caps; NaN: none */
    const cm_complex *continuous_x; /**< planes: best masses of any size and place */
    double before;                  /**< value as the rotor stands now */
    double before_ratio;            /**< largest ratio to limit before */
    double looked_at;               /**< partial placements the search looked at */
    const double *sums; /**< planes: different total masses that its positions and pieces can make */
    /** planes: 1: only sums near the continuous optimum were listed, the rest is excluded by proof */
    const unsigned char *windowed;
    /** planes: 1: angles or sums were sampled: the bound takes any mass within reach */
    const unsigned char *partial;
    cm_fitting best;          /**< the best placement found */
    int offer_count;          /**< number of offers */
    const cm_fitting *offers; /**< best first, `best` among them */
    int offers_proven;        /**< 1: no others are better than those listed */
    /** with fewer pieces than the best and a value at most 2 % above; x NULL: none found */
    cm_fitting fewer;
    const cm_slip *slips;  /**< CM_SLIP_COUNT of them; NULL: nothing placed */
    double overspeed;      /**< rad/s */
    int overspeed_assumed; /**< 1: the case does not state it */
} cm_placement;

/** Finds pieces and positions for all planes at once (job: given, problem) and leaves the placement in the
 *  job, and as the job's answer the placed masses. Method: docs/theory/place.md. Masses in kg. Errors:
 *  CM_BAD_INPUT (as cm_case_shop; a member of the job is missing), CM_NO_MEMORY, CM_NUMERICS; a stop by the host ends the search with what is
 *  proven, and the session does not ask again: what is made of the answer is not broken off. */
CM_API cm_status cm_place_pieces(cm_session *session, cm_job *job, const cm_place_question *question);

/** Why a mass cannot be split. */
typedef enum cm_split_reason {
    CM_SPLIT_POSSIBLE, /**< it can be */
    CM_SPLIT_ONE_LINE, /**< the two directions lie on one line */
    CM_SPLIT_NO_FREE,  /**< no two free positions less than half a turn apart around it */
    CM_SPLIT_NO_WAY    /**< the plane takes nothing and is not drilled */
} cm_split_reason;

/** One mass split between two directions: m_1 = M sin(t_2 - t) / sin(t_2 - t_1), m_2 = M sin(t - t_1) / sin(t_2 - t_1). */
typedef struct cm_split {
    int plane;       /**< -1: of no plane in particular, angles from the reference mark */
    cm_complex mass; /**< what is split */
    /** 1: between the nearest free positions on both sides, `number`; 0: between given angles */
    int positions;
    int number[2];           /**< of the two positions, as stamped; where `positions` */
    cm_complex direction[2]; /**< of size 1 */
    double part
        [2]; /**< kg, at the radius of the positions where `positions`; negative: to be taken away there */
    int possible;           /**< 0: see `reason` */
    cm_split_reason reason; /**< why it is not possible */
    int parts;              /**< of them that are more than nothing, first in the lists; 0: not possible */
} cm_split;

/** Several masses as the one that does the same. */
typedef struct cm_merge {
    int plane;                /**< -1: of no plane in particular */
    int count;                /**< number of items */
    const cm_complex *masses; /**< masses that are made one */
    cm_complex sum;           /**< what they come to */
    int old;                  /**< 1: the masses that are on the plane now */
} cm_merge;

/** Arithmetic that a fitter does by hand. Result. */
typedef struct cm_hand_work {
    size_t size;            /**< sizeof the struct; later versions append members */
    int split_count;        /**< number of splits */
    const cm_split *splits; /**< split_count of them */
    int merge_count;        /**< number of merges */
    const cm_merge *merges; /**< merge_count of them */
} cm_hand_work;

/** Splits and merges as asked for, and on its own: the old masses of every plane with several as one, and where masses
 *  of any size are known (job: placement) the change of every plane with positions between the nearest free ones.
 *  Texts, in the case's mass unit and angles: `[PLANE: ]MASS @ ANGLE[ between ANGLE and ANGLE]` (without angles: the
 *  nearest free positions of the plane) and `[PLANE: ]MASS @ ANGLE + MASS @ ANGLE ...`. `shop` may be NULL.
 *  Leaves job->hand_work (job: given; placement where it is there), masses in kg, angles in the frame. Errors:
 *  CM_BAD_INPUT (a text that cannot be read; a member of the job is missing), CM_NO_MEMORY. Source: the law of sines for
 *  the two parts, sums of phasors for the merges; written out at cm_split. */
CM_API cm_status cm_hand_work_of(cm_session *session, cm_job *job, const cm_shop *shop, int splits,
                                 const char *const *split, int merges, const char *const *merge);

#ifdef __cplusplus
}
#endif
#endif
