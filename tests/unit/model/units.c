/* SPDX-License-Identifier: MIT */
/* Units and the two angle conventions. Expected values: constructed, or common practice (no source). */
#include "suite.h"
#include "model/units.h"

#include <stdlib.h>
#include <string.h>

static void check_unit(const char *name, cm_quantity quantity, double factor)
{
    const cm_unit *unit = cm_unit_find(name);
    CU_ASSERT_PTR_NOT_NULL_FATAL(unit);
    CU_ASSERT_EQUAL(unit->quantity, quantity);
    CU_ASSERT(fabs(unit->factor - factor) <= 1e-15 * factor);
}

static void test_units(void)
{
    double root2 = sqrt(2);
    check_unit("rpm", CM_SPEED, acos(-1) / 30);
    check_unit("r/min", CM_SPEED, acos(-1) / 30);
    check_unit("Hz", CM_SPEED, 2 * acos(-1));
    check_unit("g", CM_MASS, 1e-3);
    check_unit("lb", CM_MASS, 0.45359237);
    check_unit("oz", CM_MASS, 0.45359237 / 16);
    check_unit("in", CM_LENGTH, 0.0254);
    check_unit("um pp", CM_DISPLACEMENT, 0.5e-6);
    check_unit("um p-p", CM_DISPLACEMENT, 0.5e-6);
    check_unit("ump-p", CM_DISPLACEMENT, 0.5e-6);
    check_unit("µm pp", CM_DISPLACEMENT, 0.5e-6);
    check_unit("μmp-p", CM_DISPLACEMENT, 0.5e-6);
    check_unit(" um  pp ", CM_DISPLACEMENT, 0.5e-6);
    check_unit("mil pp", CM_DISPLACEMENT, 12.7e-6);
    check_unit("milpk", CM_DISPLACEMENT, 25.4e-6);
    check_unit("mm/s rms", CM_VELOCITY, 1e-3 * root2);
    check_unit("in/s pk", CM_VELOCITY, 0.0254);
    check_unit("g pk", CM_ACCELERATION, 9.80665);
    check_unit("g rms", CM_ACCELERATION, 9.80665 * root2);
    check_unit("m/s2 rms", CM_ACCELERATION, root2);
    check_unit("kN", CM_FORCE, 1e3);
    check_unit("GPa", CM_PRESSURE, 1e9);
    check_unit("N s/m", CM_DAMPING, 1);
    check_unit("Ns/m", CM_DAMPING, 1);
    check_unit("kg m2", CM_INERTIA, 1);
    check_unit("%", CM_SHARE, 1e-2);
    check_unit("MW", CM_POWER, 1e6);
}

static void test_no_units(void)
{
    static const char *const names[] = {"",    " ",  "rp",      "RPM", "mm/s", "um pp pp", "m/s2",
                                        "p-p", "pp", "mm p-px", "gg",  "µ",    "mµ"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        CU_ASSERT_PTR_NULL(cm_unit_find(names[i]));
    for (const cm_unit *unit = CM_UNITS; unit->name; unit++) {
        CU_ASSERT_PTR_EQUAL(cm_unit_find(unit->name), unit);
        CU_ASSERT_EQUAL(cm_is_vibration(unit->quantity), unit->assumed_floor > 0);
    }
}

/* clang 14 has no CMPLX in C17. */
static double complex complex_of(double re, double im)
{
    union {
        double parts[2];
        double complex whole;
    } both = {.parts = {re, im}};
    return both.whole;
}

static cm_plane planes[2] = {{.zero = 0}, {.zero = 0}};

static cm_case case_with(bool against, bool lag, double zero_degrees)
{
    planes[1].zero = zero_degrees * (acos(-1) / 180);
    return (cm_case){.against_rotation = against, .phase_lag = lag, .plane_count = 2, .planes = planes};
}

static void check_exact(double complex z, double re, double im)
{
    CU_ASSERT(creal(z) == re && cimag(z) == im);
}

static void test_axes_are_exact(void)
{
    cm_case c = case_with(false, false, 0);
    check_exact(cm_mass_from_user(&c, -1, 80, 0), 80, 0);
    check_exact(cm_mass_from_user(&c, 0, 80, 90), 0, 80);
    check_exact(cm_mass_from_user(&c, 0, 80, 180), -80, 0);
    check_exact(cm_mass_from_user(&c, 0, 80, -90), 0, -80);
    check_exact(cm_reading_from_user(&c, 80, 360e6 + 270), 0, -80);
    for (int degrees = 0; degrees < 360; degrees += 90) {
        CU_ASSERT(cm_mass_angle_to_user(&c, 0, cm_mass_from_user(&c, 0, 3, degrees)) == degrees);
        CU_ASSERT(cm_phase_to_user(&c, cm_reading_from_user(&c, 3, degrees - 720)) == degrees);
    }
}

/* Counting against rotation and reading lag mirror the frame; the zero of a plane turns it first. */
static void test_conventions(void)
{
    cm_case c = case_with(true, true, -30); /* zero 30 degrees in a case that counts against rotation */
    ASSERT_NEAR_COMPLEX(cm_mass_from_user(&c, 0, 1, 60), cexp(complex_of(0, -acos(-1) / 3)), 1e-15);
    check_exact(cm_mass_from_user(&c, 1, 1, 60), 0, -1);
    CU_ASSERT(cm_mass_angle_to_user(&c, 1, complex_of(0, -1)) == 60);
    ASSERT_NEAR_COMPLEX(cm_reading_from_user(&c, 2, 30), 2 * cexp(complex_of(0, -acos(-1) / 6)), 1e-15);
    ASSERT_NEAR(cm_phase_to_user(&c, cm_reading_from_user(&c, 2, 30)), 30, 1e-15);
}

static void test_round_trip(void)
{
    srand(7);
    for (int i = 0; i < 20000; i++) {
        cm_case c = case_with(i & 1, i & 2, 360.0 * rand() / RAND_MAX);
        double degrees = 359.99 * rand() / RAND_MAX;
        double back = cm_mass_angle_to_user(&c, 1, cm_mass_from_user(&c, 1, 5, degrees));
        CU_ASSERT(fabs(back - degrees) < 1e-12 * 360);
    }
}

static void test_full_circle_is_zero(void)
{
    cm_case c = case_with(false, true, 0);
    double tiny = 1e-14 * acos(-1) / 180;
    CU_ASSERT(cm_mass_angle_to_user(&c, 0, complex_of(1, -tiny)) == 0);
    CU_ASSERT(cm_phase_to_user(&c, complex_of(1, tiny)) == 0);
    CU_ASSERT(cm_phase_to_user(&c, 0) == 0 && cm_mass_angle_to_user(&c, 0, 0) == 0);
    CU_ASSERT(!signbit(cm_phase_to_user(&c, 1)));
    CU_ASSERT(cm_phase_to_user(&c, complex_of(0, -1)) == 90);
}

int main(void)
{
    static const cm_test tests[] = {
        {"units", test_units},
        {"what is no unit", test_no_units},
        {"axes are exact", test_axes_are_exact},
        {"conventions", test_conventions},
        {"there and back", test_round_trip},
        {"360 is 0", test_full_circle_is_zero},
        {NULL, NULL},
    };
    return run_suite("model/units", tests);
}
