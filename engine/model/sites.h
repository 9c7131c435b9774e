/* SPDX-License-Identifier: MIT */
/** @file sites.h Angles of the numbered positions of a plane. */
#ifndef MODEL_SITES_H
#define MODEL_SITES_H

#include "model/case.h"

/** Position `index` of a plane, by the plane's own angles in the user's degrees. */
double cm_site_degrees(const cm_case *c, const cm_sites *sites, int index);

#endif
