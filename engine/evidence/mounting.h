/* SPDX-License-Identifier: MIT */
/**
 * @file mounting.h
 * What was really mounted: a run against its prediction, and the mistakes that would explain the difference.
 */
#ifndef EVIDENCE_MOUNTING_H
#define EVIDENCE_MOUNTING_H

#include "base/session.h"
#include "countermass/evidence.h"
#include "model/case.h"

#include <complex.h>
#undef I

/** C as a diagonal, or as its lower Cholesky factor (weigh.c). */
typedef struct cm_whitener {
    int n;
    const double *deviation;     /* square roots of the diagonal */
    const double complex *lower; /* n × n; NULL: C is diagonal */
    double log_det;
} cm_whitener;

/** A piece that the run before did not have. */
typedef struct cm_piece_added {
    int plane;
    double complex mass;
} cm_piece_added;

/** A run as the runs before it see it. */
typedef struct cm_view {
    cm_session *session;
    const cm_job *job;
    int run;
    const cm_influence *fit; /* of the runs before; base state: the stated masses of this run */
    int planes, lines;       /* lines = planes + 1 */
    int count;
    int *row;                  /* count: rows read in this run and told */
    double complex *expected;  /* count */
    double complex *measured;  /* count */
    double complex *slow_roll; /* count: what was subtracted from the reading, turned back with it */
    double complex turn;       /* what turned the phases of the run back; 1: its reference did not move */
    double *usual;             /* count: typical size of readings at that speed, of that unit */
    double dof;                /* effective degrees of freedom of the scatter */
    cm_whitener *plain;        /* of the run as stated; NULL until cm_weigh_stated() */
    double complex *stated;    /* planes */
    double complex *added;     /* planes: pieces that the run before did not have */
    double complex *removed;   /* planes: pieces that are no longer said to be there */
    int piece_count, piece_room;
    cm_piece_added *pieces; /* what `added` is made of */
} cm_view;

/** What the runs before tell about run k; count 0: nothing. */
cm_view cm_view_run(cm_session *session, const cm_job *job, int k);

/** How the readings differ from the truth. */
typedef enum cm_twist {
    CM_TWIST_NONE,
    CM_TWIST_CONJUGATE,
    CM_TWIST_SWAP,
    CM_TWIST_SHIFT,
    CM_TWIST_SCALE,
    CM_TWIST_RADIUS,
    CM_TWIST_CHANGED
} cm_twist;

/** One hypothesis. Guesses with equal mistakes are variants of one explanation. */
typedef struct cm_guess {
    cm_mistake mistake, second;
    bool has_second;
    cm_twist twist;
    double prior;          /* weight before the readings are seen */
    double complex *extra; /* planes: what is on the rotor beyond what was stated; NULL: nothing */
    double complex *lever; /* planes, for CM_TWIST_RADIUS: extra is (radius ratio - 1) times this */
    double above;          /* rad/s: `extra` holds at higher speeds only; 0: at all */
    double scale;          /* CM_TWIST_SCALE: a known one, else 0 = any */
    double changed;        /* CM_TWIST_CHANGED: size of the change, shares of the usual size */
    double log_likelihood, value, left; /* results */
} cm_guess;

typedef struct cm_guesses {
    int count, room;
    cm_guess *items;
} cm_guesses;

/** All hypotheses about a run: single mistakes, then likely pairs. */
cm_guesses cm_guess_all(const cm_view *view);

/** Chi² of the run as stated with the log of its likelihood, and how likely each guess makes its readings. */
double cm_weigh_stated(cm_view *view, double *std, double *log_likelihood);
void cm_weigh_guess(const cm_view *view, cm_guess *guess);

/** Change of expected reading `i` of the view by extra masses. */
double complex cm_effect_of(const cm_view *view, int i, const double complex *extra);

/** What the pieces added to a plane leave beyond what was stated when they are one position on (way 1), one back (-1), or
 *  counted the other way round from the first (0); false: the plane has no numbered positions. */
bool cm_site_miscount(const cm_view *view, int plane, int way, double complex *extra);

#endif
