/* SPDX-License-Identifier: MIT */
/* Fits of sweeps against closed forms of one degree of freedom. */
#include "suite.h"
#include "countermass.h"
#include "evidence/sweep_fit.h"
#include "linalg/dense.h"

#undef I

enum { POINTS = 50 };

static double complex mode(double w, double z, double omega)
{
    return omega * omega / cm_pack(w * w - omega * omega, 2 * z * w * omega);
}

typedef struct sweep {
    int first[3];
    double omega[2 * POINTS], weight[2];
    int derivative[2];
    double complex value[2 * POINTS];
    cm_sweep_data data;
} sweep;

/* Two channels over 100 to 300 rad/s: run-out 2 and -i, residues 10 and 5i of the first mode, 3 and 8 of a second. */
static void make(sweep *s, double w1, double z1, double w2, double z2)
{
    static const double complex run_out[2] = {2, 0};
    for (int c = 0; c < 2; c++)
        for (int k = 0; k < POINTS; k++) {
            double omega = 100 + 200.0 * k / (POINTS - 1);
            int at = c * POINTS + k;
            s->omega[at] = omega;
            s->value[at] = run_out[c] + (c ? cm_pack(0, 5) : 10) * mode(w1, z1, omega);
            if (w2 > 0)
                s->value[at] += (c ? 8 : 3) * mode(w2, z2, omega);
        }
    for (int c = 0; c < 3; c++)
        s->first[c] = c * POINTS;
    s->weight[0] = s->weight[1] = 1;
    s->derivative[0] = s->derivative[1] = 0;
    s->data = (cm_sweep_data){2, s->first, s->omega, s->value, s->weight, s->derivative};
}

static void test_one_mode(void)
{
    static const double damping[] = {0.01, 0.05, 0.2};
    for (int i = 0; i < 3; i++) {
        sweep s;
        cm_session *session = cm_open(NULL);
        make(&s, 190, damping[i], 0, 0);
        cm_sweep_model m = cm_fit_sweep(session, &s.data, CM_MOST_MODES);
        CU_ASSERT_EQUAL_FATAL(m.modes, 1);
        ASSERT_NEAR(m.omega[0], 190, 1e-9);
        ASSERT_NEAR(m.damping[0], damping[i], 1e-9);
        ASSERT_NEAR_COMPLEX(m.run_out[0], 2, 1e-8);
        ASSERT_NEAR_COMPLEX(m.residue[CM_MOST_MODES], cm_pack(0, 5), 1e-8);
        CU_ASSERT(m.share < 1e-9);
        cm_close(session);
    }
}

static void test_two_modes(void)
{
    sweep s;
    cm_session *session = cm_open(NULL);
    make(&s, 230, 0.03, 150, 0.04);
    cm_sweep_model m = cm_fit_sweep(session, &s.data, CM_MOST_MODES);
    CU_ASSERT_EQUAL_FATAL(m.modes, 2);
    ASSERT_NEAR(m.omega[0], 150, 1e-8);
    ASSERT_NEAR(m.omega[1], 230, 1e-8);
    ASSERT_NEAR(m.damping[0], 0.04, 1e-8);
    cm_close(session);
}

/* At resonance r = R/(2 i z); the slope is that of a finite difference. */
static void test_curve(void)
{
    sweep s;
    cm_session *session = cm_open(NULL);
    make(&s, 190, 0.05, 0, 0);
    cm_sweep_model m = cm_fit_sweep(session, &s.data, CM_MOST_MODES);
    double complex slope, ignored;
    ASSERT_NEAR_COMPLEX(cm_sweep_curve(&m, 0, 190, &slope), cm_pack(0, -100), 1e-7);
    double complex rise = cm_sweep_curve(&m, 0, 190.001, &ignored) - cm_sweep_curve(&m, 0, 189.999, &ignored);
    ASSERT_NEAR_COMPLEX(slope, rise / 0.002, 1e-5);
    cm_close(session);
}

/* A velocity and an acceleration of the same mode: the residue is its size at w, the slope that of a difference. */
static void test_derivatives(void)
{
    sweep s;
    cm_session *session = cm_open(NULL);
    make(&s, 190, 0.05, 0, 0);
    for (int c = 0; c < 2; c++)
        for (int k = c * POINTS; k < (c + 1) * POINTS; k++) {
            double ratio = s.omega[k] / 190;
            s.value[k] =
                2 + 10 * mode(190, 0.05, s.omega[k]) * (c ? cm_pack(-ratio * ratio, 0) : cm_pack(0, ratio));
        }
    s.derivative[0] = 1;
    s.derivative[1] = 2;
    cm_sweep_model m = cm_fit_sweep(session, &s.data, CM_MOST_MODES);
    CU_ASSERT_EQUAL_FATAL(m.modes, 1);
    ASSERT_NEAR(m.omega[0], 190, 1e-9);
    ASSERT_NEAR(m.damping[0], 0.05, 1e-9);
    for (int c = 0; c < 2; c++) {
        double complex slope, ignored;
        ASSERT_NEAR_COMPLEX(m.residue[c * CM_MOST_MODES], 10, 1e-8);
        cm_sweep_curve(&m, c, 200, &slope);
        double complex rise =
            cm_sweep_curve(&m, c, 200.001, &ignored) - cm_sweep_curve(&m, c, 199.999, &ignored);
        ASSERT_NEAR_COMPLEX(slope, rise / 0.002, 1e-5);
    }
    cm_close(session);
}

static void test_half_power(void)
{
    double low, high;
    cm_half_power(200, 0.1, &low, &high);
    ASSERT_NEAR(200 / (high - low), 5, 1e-12);
    ASSERT_NEAR(cabs(mode(200, 0.1, low) / low) * 2 * 0.1 * 200, sqrt(0.5), 1e-12);
    ASSERT_NEAR(cabs(mode(200, 0.1, high) / high) * 2 * 0.1 * 200, sqrt(0.5), 1e-12);
    double peak = cm_peak_speed(200, 0.1);
    CU_ASSERT(cabs(mode(200, 0.1, peak)) > cabs(mode(200, 0.1, peak * 1.001)));
    CU_ASSERT(cabs(mode(200, 0.1, peak)) > cabs(mode(200, 0.1, peak * 0.999)));
    CU_ASSERT(isinf(cm_peak_speed(200, 0.8)));
}

static void test_nothing(void)
{
    sweep s;
    cm_session *session = cm_open(NULL);
    make(&s, 190, 0.05, 0, 0);
    for (int k = 0; k < 2 * POINTS; k++)
        s.value[k] = 0;
    CU_ASSERT_EQUAL(cm_fit_sweep(session, &s.data, CM_MOST_MODES).modes, 0);
    s.first[1] = 3;
    s.first[2] = 6;
    CU_ASSERT_EQUAL(cm_fit_sweep(session, &s.data, CM_MOST_MODES).modes, 0);
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"one mode", test_one_mode},
        {"two modes", test_two_modes},
        {"curve and slope", test_curve},
        {"half power and peak", test_half_power},
        {"nothing to fit", test_nothing},
        {"velocity and acceleration", test_derivatives},
        {NULL, NULL},
    };
    outside("resonance speed, damping, half power, run-out of exact sweeps",
            "closed forms of one and two modes", "constructed", "to 1e-8");
    return run_suite("evidence/sweep_fit", tests);
}
