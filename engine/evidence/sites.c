/* SPDX-License-Identifier: MIT */
/* Numbered positions of a plane, for mistakes that count them. */
#include "evidence/mounting.h"

bool cm_site_turns(const cm_case *given, int plane, double complex turn[2])
{
    (void)given;
    (void)plane;
    (void)turn;
    return false;
}

bool cm_site_mirror(const cm_case *given, int plane, double complex *axis)
{
    (void)given;
    (void)plane;
    (void)axis;
    return false;
}
