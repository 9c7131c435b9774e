/* SPDX-License-Identifier: MIT */
/*
 * What mistakes in fitting do to the largest ratio: everything placed on a plane one position off (each piece
 * at the next position of its own, the gaps may differ), 2 degrees off, 2 % too
 * heavy or too light. One plane at a time, both ways; and all planes at once, each either way, while these are few enough
 * to try all.
 */
#include "place/fitting.h"
#include "base/constants.h"

#include "optimise/certificate.h"

#include <math.h>
#include <string.h>

#define ANGLE_OFF (2 * CM_PI / 180)
#define MASS_OFF 0.02
#define SAME_ANGLE 1e-9

enum { MOST_AT_ONCE = 12 };

/* Largest reading over its limit, circles and ellipses of orbits included; without any limit these count as 1. */
static double ratio_at(const cm_problem *p, const double complex *x)
{
    double largest = cm_recheck_ratio(p, x);
    if (!isnan(largest))
        return largest;
    largest = 0;
    for (int i = 0; i < p->rows; i++) {
        if (!(p->weight[i] > 0))
            continue;
        double complex r = p->y[i];
        for (int j = 0; j < p->planes; j++)
            r += p->a[i + p->rows * j] * (x[j] - p->base[j]);
        largest = fmax(largest, p->weight[i] * cabs(r));
    }
    return largest;
}

/* Angle from a position on to its own next one, with rotation (sign 1) or against it (-1); 0: there is no other. */
static double step_from(const cm_shop_plane *shop, int site, int sign)
{
    double least = 2 * CM_PI;
    for (int s = 0; site >= 0 && s < shop->site_count; s++) {
        double away = sign * carg(shop->sites[s].direction / shop->sites[site].direction);
        away += away < 0 ? 2 * CM_PI : 0;
        if (s != site && away > SAME_ANGLE)
            least = fmin(least, away);
    }
    return least < 2 * CM_PI ? sign * least : 0;
}

static double complex moved(const cm_shop *shop, const cm_fit_entry *entry, cm_slip_kind kind, int sign)
{
    double turn = kind == CM_SLIP_ANGLE      ? sign * ANGLE_OFF
                  : kind == CM_SLIP_POSITION ? step_from(&shop->plane[entry->plane], entry->site, sign)
                                             : 0;
    double more = kind == CM_SLIP_MASS ? sign * MASS_OFF : 0;
    return entry->reduced * ((1 + more) * cexp(turn * _Complex_I) - 1);
}

/* Changes of the planes' masses by a slip with the sign +1; the other sign's in `minus`. */
static void slip_of(const cm_shop *shop, const cm_fitting *fitting, int planes, cm_slip_kind kind,
                    double complex *plus, double complex *minus)
{
    memset(plus, 0, (size_t)planes * sizeof *plus);
    memset(minus, 0, (size_t)planes * sizeof *minus);
    for (int i = 0; i < fitting->entry_count; i++) {
        const cm_fit_entry *entry = &fitting->entries[i];
        plus[entry->plane] += moved(shop, entry, kind, 1);
        minus[entry->plane] += moved(shop, entry, kind, -1);
    }
}

static double ratio_with(const cm_problem *p, const cm_fitting *fitting, int plane, double complex change,
                         double complex *x)
{
    memcpy(x, fitting->x, (size_t)p->planes * sizeof *x);
    x[plane] += change;
    return ratio_at(p, x);
}

static void worst_single(const cm_problem *p, const cm_fitting *fitting, const double complex *plus,
                         const double complex *minus, double complex *x, cm_slip *slip)
{
    for (int j = 0; j < p->planes; j++)
        for (int sign = 1; sign >= -1; sign -= 2) {
            double complex change = sign > 0 ? plus[j] : minus[j];
            if (!(cabs(change) > 0))
                continue;
            double ratio = ratio_with(p, fitting, j, change, x);
            if (slip->plane < 0 || ratio > slip->ratio) {
                slip->plane = j;
                slip->sign = sign;
                slip->ratio = ratio;
            }
        }
}

static double worst_of_all(cm_session *session, const cm_problem *p, const cm_fitting *fitting,
                           const double complex *plus, const double complex *minus, double complex *x)
{
    int *moved = CM_NEW(session, p->planes, int), count = 0;
    for (int j = 0; j < p->planes; j++)
        if (cabs(plus[j]) > 0 || cabs(minus[j]) > 0)
            moved[count++] = j;
    if (count > MOST_AT_ONCE)
        return NAN;
    double worst = 0;
    for (unsigned signs = 0; signs < 1u << count; signs++) {
        memcpy(x, fitting->x, (size_t)p->planes * sizeof *x);
        for (int k = 0; k < count; k++)
            x[moved[k]] += signs >> k & 1 ? plus[moved[k]] : minus[moved[k]];
        worst = fmax(worst, ratio_at(p, x));
    }
    return worst;
}

const cm_slip *cm_slips_of(cm_session *session, const cm_problem *p, const cm_shop *shop,
                           const cm_fitting *fitting)
{
    if (!fitting->entry_count)
        return NULL;
    cm_slip *slips = CM_NEW(session, CM_SLIP_COUNT, cm_slip);
    double complex *plus = CM_NEW(session, p->planes, double complex),
                   *minus = CM_NEW(session, p->planes, double complex);
    double complex *x = CM_NEW(session, p->planes, double complex);
    for (int kind = 0; kind < CM_SLIP_COUNT; kind++) {
        slips[kind] = (cm_slip){.kind = (cm_slip_kind)kind, .plane = -1, .ratio = NAN};
        slip_of(shop, fitting, p->planes, (cm_slip_kind)kind, plus, minus);
        worst_single(p, fitting, plus, minus, x, &slips[kind]);
        slips[kind].all = worst_of_all(session, p, fitting, plus, minus, x);
    }
    return slips;
}
