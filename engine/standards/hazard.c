/* SPDX-License-Identifier: MIT */
/*
 * Force and rim speed of a mass m at radius r on a rotor that turns at Omega:
 *     F = m r Omega²    (centripetal force the fastening must supply)
 *     v = r Omega       (speed of the mass the moment it comes loose)
 *     E = m v² / 2      (its energy then)
 * Elementary mechanics; all are taken at overspeed, the worst the fastening
 * ever sees.
 */
#include "standards/hazard.h"

double cm_centrifugal_force(double mass, double radius, double omega)
{
    return mass * radius * omega * omega;
}

double cm_rim_speed(double radius, double omega)
{
    return radius * omega;
}

double cm_released_energy(double mass, double radius, double omega)
{
    double speed = cm_rim_speed(radius, omega);
    return 0.5 * mass * speed * speed;
}
