/* SPDX-License-Identifier: MIT */
/*
 * How far the positions of a plane reach. In direction u a position gives at most the largest of mass · cos(angle to u)
 * over its loads, and no more positions than pieces are filled:
 *
 *   h(u) = sum of the largest of these.
 *
 * No sum is farther from zero than max h(u). Of the directions a ring of DIRECTIONS is tried; a sum z lies within
 * pi/DIRECTIONS of one of them, which sees at least |z| cos(pi/DIRECTIONS).
 */
#include "base/constants.h"
#include "place/loads.h"

#include <math.h>
#include <stdlib.h>

enum { DIRECTIONS = 720 };

/* Greatest and least mass of a position's loads, nothing among them. */
typedef struct cm_span {
    double least, most;
    double complex unit;
} cm_span;

static cm_span span_of(const cm_loads *loads, int site)
{
    cm_span span = {0, 0, loads->shop->sites[site].direction * loads->shop->reduce};
    for (int l = loads->first[site]; l < loads->first[site] + loads->count[site]; l++) {
        span.least = fmin(span.least, loads->load[l].mass);
        span.most = fmax(span.most, loads->load[l].mass);
    }
    return span;
}

static int from_largest(const void *a, const void *b)
{
    double first = *(const double *)a, second = *(const double *)b;
    return (first < second) - (first > second);
}

double cm_loads_reach(cm_session *session, const cm_loads *loads)
{
    int sites = loads->shop->site_count, filled = sites < loads->shop->most ? sites : loads->shop->most;
    cm_span *span = CM_NEW(session, sites, cm_span);
    double *given = CM_NEW(session, sites, double), reach = 0;
    for (int s = 0; s < sites; s++)
        span[s] = span_of(loads, s);
    for (int d = 0; d < DIRECTIONS; d++) {
        double complex toward = cexp(2 * CM_PI * d / DIRECTIONS * _Complex_I);
        double sum = 0;
        for (int s = 0; s < sites; s++) {
            double share = creal(conj(toward) * span[s].unit);
            given[s] = share > 0 ? span[s].most * share : span[s].least * share;
        }
        if (filled < sites)
            qsort(given, (size_t)sites, sizeof *given, from_largest);
        for (int s = 0; s < filled; s++)
            sum += given[s];
        reach = fmax(reach, sum);
    }
    return reach / cos(CM_PI / DIRECTIONS);
}
