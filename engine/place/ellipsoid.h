/* SPDX-License-Identifier: MIT */
/** @file ellipsoid.h The smallest sum of squares around everything that beats a known largest reading. */
#ifndef PLACE_ELLIPSOID_H
#define PLACE_ELLIPSOID_H

#include "place/board.h"

/** For a largest reading: shares l_i of the readings (rows, in: where to begin, sum 1) and multipliers mu_k of the discs
 *  (n, in and out) that make the set {sum l_i |w_i r_i|² + sum mu_k (|x_k - o_k|² - rho_k²) ≤ beat2} about as small as
 *  can be. `weight` (rows): w_i. */
void cm_shrink_ellipsoid(cm_session *session, const cm_board *board, const double *weight, double beat2,
                         double *share, double *mu);

#endif
