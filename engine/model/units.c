/* SPDX-License-Identifier: MIT */
/*
 * Units and angle conventions.
 *
 * A vibration unit's factor leads to the SI peak value: half of pp, sqrt(2)
 * of rms. Inside, a mass angle counts with rotation from the reference mark
 * and a phase is a lead; counting against rotation, or reading lag, negates.
 * Exact by definition: inch 0.0254 m, pound 0.45359237 kg (ounce 1/16),
 * standard gravity 9.80665 m/s2 (value from memory of the SI brochure and of
 * the international yard and pound agreement, 1959).
 */
#include "model/units.h"
#include "base/constants.h"

#include <math.h>
#include <string.h>

#define ROOT2 1.41421356237309504880
#define INCH 0.0254
#define POUND 0.45359237
#define GRAVITY 9.80665

/* Floors of the assumed scatter: 1 um pp, 0.1 mm/s rms, 0.05 m/s2 rms. */
#define FLOOR_D 0.5e-6
#define FLOOR_V (1e-4 * ROOT2)
#define FLOOR_A (0.05 * ROOT2)

const cm_unit CM_UNITS[] = {
    {"rpm", CM_SPEED, CM_PI / 30, 0},
    {"r/min", CM_SPEED, CM_PI / 30, 0},
    {"Hz", CM_SPEED, 2 * CM_PI, 0},
    {"rad/s", CM_SPEED, 1, 0},
    {"g", CM_MASS, 1e-3, 0},
    {"kg", CM_MASS, 1, 0},
    {"mg", CM_MASS, 1e-6, 0},
    {"t", CM_MASS, 1e3, 0},
    {"oz", CM_MASS, POUND / 16, 0},
    {"lb", CM_MASS, POUND, 0},
    {"mm", CM_LENGTH, 1e-3, 0},
    {"cm", CM_LENGTH, 1e-2, 0},
    {"m", CM_LENGTH, 1, 0},
    {"um", CM_LENGTH, 1e-6, 0},
    {"in", CM_LENGTH, INCH, 0},
    {"um pp", CM_DISPLACEMENT, 0.5e-6, FLOOR_D},
    {"um pk", CM_DISPLACEMENT, 1e-6, FLOOR_D},
    {"um rms", CM_DISPLACEMENT, 1e-6 * ROOT2, FLOOR_D},
    {"mm pp", CM_DISPLACEMENT, 0.5e-3, FLOOR_D},
    {"mm pk", CM_DISPLACEMENT, 1e-3, FLOOR_D},
    {"mm rms", CM_DISPLACEMENT, 1e-3 * ROOT2, FLOOR_D},
    {"mil pp", CM_DISPLACEMENT, INCH / 2000, FLOOR_D},
    {"mil pk", CM_DISPLACEMENT, INCH / 1000, FLOOR_D},
    {"mil rms", CM_DISPLACEMENT, INCH / 1000 * ROOT2, FLOOR_D},
    {"mm/s pk", CM_VELOCITY, 1e-3, FLOOR_V},
    {"mm/s rms", CM_VELOCITY, 1e-3 * ROOT2, FLOOR_V},
    {"in/s pk", CM_VELOCITY, INCH, FLOOR_V},
    {"in/s rms", CM_VELOCITY, INCH *ROOT2, FLOOR_V},
    {"m/s2 pk", CM_ACCELERATION, 1, FLOOR_A},
    {"m/s2 rms", CM_ACCELERATION, ROOT2, FLOOR_A},
    {"g pk", CM_ACCELERATION, GRAVITY, FLOOR_A},
    {"g rms", CM_ACCELERATION, GRAVITY *ROOT2, FLOOR_A},
    {"N", CM_FORCE, 1, 0},
    {"kN", CM_FORCE, 1e3, 0},
    {"%", CM_SHARE, 1e-2, 0},
    {"kg/m3", CM_DENSITY, 1, 0},
    {"Pa", CM_PRESSURE, 1, 0},
    {"kPa", CM_PRESSURE, 1e3, 0},
    {"MPa", CM_PRESSURE, 1e6, 0},
    {"GPa", CM_PRESSURE, 1e9, 0},
    {"N/m", CM_STIFFNESS, 1, 0},
    {"N s/m", CM_DAMPING, 1, 0},
    {"kg m2", CM_INERTIA, 1, 0},
    {"W", CM_POWER, 1, 0},
    {"kW", CM_POWER, 1e3, 0},
    {"MW", CM_POWER, 1e6, 0},
    {"deg", CM_ANGLE, CM_PI / 180, 0},
    {NULL, CM_SPEED, 0, 0},
};

static const char *without_blanks(const char *text)
{
    return text + strspn(text, " \t");
}

/* How people write the units that the table has in plain letters. */
static const struct {
    const char *name, *words;
} WRITTEN[] = {
    {"um", "µm"},         {"um pp", "µm pp"}, {"um pk", "µm pk"},
    {"um rms", "µm rms"}, {"rpm", "r/min"},   {NULL, NULL},
};

/* The micro sign and the Greek letter, one byte before the end of each. */
static const char *after_micro(const char *text)
{
    return strncmp(text, "µ", 2) == 0 || strncmp(text, "μ", 2) == 0 ? text + 1 : NULL;
}

/* Equal when blanks are left out, "p-p" is read as "pp" and the micro sign as u. */
static bool same_unit(const char *name, const char *given)
{
    for (;; name++, given++) {
        name = without_blanks(name);
        given = without_blanks(given);
        if (strcmp(name, "pp") == 0 && strncmp(given, "p-p", 3) == 0 && !*without_blanks(given + 3))
            return true;
        const char *micro = *name == 'u' ? after_micro(given) : NULL;
        if (micro)
            given = micro;
        else if (*name != *given)
            return false;
        if (!*name)
            return true;
    }
}

const cm_unit *cm_unit_find(const char *name)
{
    for (const cm_unit *unit = CM_UNITS; unit->name; unit++)
        if (same_unit(unit->name, name))
            return unit;
    return NULL;
}

const char *cm_unit_words(const cm_unit *unit)
{
    for (int i = 0; WRITTEN[i].name; i++)
        if (strcmp(WRITTEN[i].name, unit->name) == 0)
            return WRITTEN[i].words;
    return unit->name;
}

bool cm_is_vibration(cm_quantity quantity)
{
    return quantity == CM_DISPLACEMENT || quantity == CM_VELOCITY || quantity == CM_ACCELERATION;
}

double cm_assumed_scatter(double amplitude, double floor)
{
    static const double share = 0.03;
    return share * amplitude + floor;
}

/* ---- angles ---- */

static double complex pack(double re, double im)
{
    double complex z;
    double *parts = (double *)&z;
    parts[0] = re;
    parts[1] = im;
    return z;
}

/* size·exp(i·degrees), exact at multiples of 90. */
static double complex turned(double size, double degrees)
{
    double angle = fmod(degrees, 360); /* exact */
    int quarters = (int)round(angle / 90);
    double rest = (angle - 90 * quarters) * (CM_PI / 180);
    double c = size * cos(rest), s = size * sin(rest);
    switch (quarters & 3) {
    case 0:
        return pack(c, s);
    case 1:
        return pack(-s, c);
    case 2:
        return pack(-c, -s);
    default:
        return pack(s, -c);
    }
}

/* Angle in degrees, exact on the axes, not yet brought into [0, 360). */
static double degrees_of(double complex z)
{
    double re = creal(z), im = cimag(z);
    if (im == 0)
        return re < 0 ? 180 : 0;
    if (re == 0)
        return im < 0 ? -90 : 90;
    return atan2(im, re) * (180 / CM_PI);
}

static double into_circle(double degrees)
{
    double angle = fmod(degrees, 360);
    if (angle < 0)
        angle += 360;
    return angle > 360 - 1e-9 ? 0 : angle + 0.0;
}

static double mass_sign(const cm_case *c)
{
    return c->against_rotation ? -1 : 1;
}

static double phase_sign(const cm_case *c)
{
    return c->phase_lag ? -1 : 1;
}

/* The plane's zero in degrees of the frame; written in degrees, so a round value is meant exactly. */
static double zero_of(const cm_case *c, int plane)
{
    if (plane < 0)
        return 0;
    double zero = c->planes[plane].zero * (180 / CM_PI);
    double tidy = round(zero * 1e6) / 1e6;
    return fabs(zero - tidy) <= 1e-12 * fmax(1, fabs(zero)) ? tidy : zero;
}

double complex cm_mass_from_user(const cm_case *c, int plane, double mass_kg, double degrees)
{
    return turned(mass_kg, mass_sign(c) * fmod(degrees, 360) + zero_of(c, plane));
}

double complex cm_reading_from_user(const cm_case *c, double amplitude, double degrees)
{
    return turned(amplitude, phase_sign(c) * degrees);
}

double cm_mass_angle_to_user(const cm_case *c, int plane, double complex mass)
{
    if (creal(mass) == 0 && cimag(mass) == 0)
        return 0;
    return into_circle(mass_sign(c) * (degrees_of(mass) - zero_of(c, plane)));
}

double cm_phase_to_user(const cm_case *c, double complex reading)
{
    if (creal(reading) == 0 && cimag(reading) == 0)
        return 0;
    return into_circle(phase_sign(c) * degrees_of(reading));
}
