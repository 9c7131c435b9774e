/* SPDX-License-Identifier: MIT */
/** @file phrases.h Numbers, names and directions as people read them. */
#ifndef PAGE_PHRASES_H
#define PAGE_PHRASES_H

#include "page/values.h"

/** "82.35", "0.0123": significant digits; "-" for NAN. */
const char *cm_digits(cm_session *session, double value, int digits);

/** Fixed decimals; "-" for NAN. */
const char *cm_decimal(cm_session *session, double value, int decimals);

/** A probability in whole percent; never "0" or "100", which would be certainty. "-" for NAN. */
const char *cm_percent(cm_session *session, double probability);

/** Decimals that show `largest` with `digits` significant digits: for columns. */
int cm_decimals(double largest, int digits);

/** Degrees in [0, 360): what rounds to 360 is 0. */
const char *cm_degrees(cm_session *session, double degrees, int decimals);

/** "82.3 @ 143", the phase padded so that columns of phasors align. */
const char *cm_phasor(cm_session *session, cm_size_angle value, int decimals);

/** An id short enough for a sentence. */
const char *cm_short_name(cm_session *session, const char *id);

/** Ids of all planes and of all sensors in at most `most` columns, each different from the others. */
const char **cm_plane_labels(cm_session *session, const cm_case *c, int most);
const char **cm_sensor_labels(cm_session *session, const cm_case *c, int most);

/** "DE-x at service". */
const char *cm_reading_name(cm_session *session, const cm_job *job, int row);

/** "against rotation" or "with rotation". */
const char *cm_sense(const cm_case *c);

/** "143.0 degrees against rotation from the reference mark" (or from the plane's own zero). */
const char *cm_direction(cm_session *session, const cm_case *c, int plane,
                         double degrees); /* plane -1: a set */

/** "P1", "P1 and P2", "P1, P2 and P3" of the planes with a mark; the marks stand `stride` apart. */
const char *cm_planes_words(cm_session *session, const cm_case *c, const unsigned char *marked, int stride);

/** Id of a plane, or of set `part` - plane_count. */
const char *cm_part_id(const cm_case *c, int part);

/** "static and P3": planes and sets of the case that are marked (planes, then sets). */
const char *cm_parts_words(cm_session *session, const cm_case *c, const unsigned char *marked);

/** Why there is no verdict on the run on its way up: "the runs before do not tell it". */
const char *cm_why_untold(cm_session *session, const cm_job *job);

/** "1 run", "3 runs". */
const char *cm_count_of(cm_session *session, int count, const char *one, const char *many);

#endif
