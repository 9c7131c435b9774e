/* SPDX-License-Identifier: MIT */
#include "rotor.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

/* ---- making ---- */

typedef struct source {
    const uint8_t *bytes;
    size_t length, at;
} source;

static int byte(source *s)
{
    return s->at < s->length ? s->bytes[s->at++] : 0;
}

static int below(source *s, int count)
{
    return byte(s) % count;
}

static double between(source *s, double low, double high)
{
    return low + (high - low) * byte(s) / 255.0;
}

static double complex phasor(source *s, double low, double high)
{
    double size = between(s, low, high), angle = 2 * 3.141592653589793 * byte(s) / 256.0;
    return size * cos(angle) + size * sin(angle) * _Complex_I;
}

static void make_plane(rotor *r, source *s, int j)
{
    r->zero[j] = below(s, 3) ? 0 : between(s, 0, 360);
    r->radius[j] = between(s, 50, 900);
    r->cap[j] = below(s, 3) ? between(s, 5, 300) : 0;
    for (int k = 0; k < r->speeds; k++)
        for (int i = 0; i < r->sensors; i++)
            r->a[k][i][j] = phasor(s, 0.02, 1.5);
}

static void make_run(rotor *r, source *s, int run)
{
    for (int j = 0; j < r->planes; j++)
        if (run == j + 1 || (run > 0 && below(s, 4) == 0))
            r->mass[run][j] = phasor(s, 5, 100);
    for (int i = 0; i < r->sensors; i++)
        r->missing[run][i] = run > 0 && below(s, 16) == 0;
    for (int k = 0; k < r->speeds; k++)
        for (int i = 0; i < r->sensors; i++)
            r->noise[run][k][i] = phasor(s, 0, 0.5);
}

void rotor_make(rotor *r, const uint8_t *bytes, size_t length)
{
    source s = {bytes, length, 0};
    *r = (rotor){.planes = 1 + below(&s, MOST_PLANES), .sensors = 1 + below(&s, MOST_SENSORS)};
    r->speeds = 1 + below(&s, MOST_SPEEDS);
    r->objective = below(&s, 7);
    r->within = below(&s, 4) == 0;
    r->runs = below(&s, 8) == 0 ? r->planes : r->planes + 1 + below(&s, 2);
    r->repeatability = between(&s, 0.1, 3);
    for (int k = 0; k < r->speeds; k++) {
        r->weight[k] = k == 0 || below(&s, 3) ? 1 : between(&s, 0, 2);
        for (int i = 0; i < r->sensors; i++)
            r->y[k][i] = phasor(&s, 1, 150);
    }
    for (int i = 0; i < r->sensors; i++)
        r->limit[i] = between(&s, 2, 150);
    for (int j = 0; j < r->planes; j++)
        make_plane(r, &s, j);
    for (int run = 0; run < r->runs; run++)
        make_run(r, &s, run);
    if (below(&s, 5) == 0 && r->planes > 1)
        r->fixed = phasor(&s, 1, 40);
}

/* ---- writing ---- */

typedef struct writer {
    const rotor *r;
    const manner *m;
    char *text;
    size_t used;
} writer;

__attribute__((format(printf, 2, 3))) static void say(writer *w, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(w->text + w->used, MOST_TEXT - w->used, format, arguments);
    va_end(arguments);
    w->used += (size_t)length;
    if (w->used >= MOST_TEXT)
        abort();
}

int rotor_order(const manner *m, int count, int k)
{
    return m->backwards ? count - 1 - k : k;
}

static double degrees(double complex phasor, double zero, bool negated)
{
    double angle = carg(phasor) * 180 / 3.141592653589793 - zero;
    return negated ? -angle : angle;
}

static double mass_of(const writer *w, double grams)
{
    return w->m->small_units ? grams / 1000 : grams;
}

static double length_of(const writer *w, double millimetres)
{
    return w->m->small_units ? millimetres / 25.4 : millimetres;
}

static double vibration_of(const writer *w, double micrometres)
{
    return w->m->small_units ? micrometres / 25.4 : micrometres;
}

static void write_head(writer *w)
{
    say(w,
        "case: {format: 1}\nconventions: {phase: %s, mass_angle: %s, rotation: clockwise, seen_from: drive "
        "end}\n",
        w->m->lag ? "lag" : "lead", w->m->against ? "against-rotation" : "with-rotation");
    say(w, "units: %s\n",
        w->m->small_units ? "{speed: Hz, mass: kg, length: in, vibration: mil pp}"
                          : "{speed: rpm, mass: g, length: mm, vibration: um pp}");
    say(w, "rotor: {mass: 900 kg, grade: G2.5, service_speed: 3000 rpm}\n");
    say(w, "speeds:\n");
    for (int k = 0; k < w->r->speeds; k++) {
        int speed = rotor_order(w->m, w->r->speeds, k);
        double rpm = 1500 * (speed + 1);
        say(w, "  - {id: v%d, speed: %.17g, weight: %.17g}\n", speed, w->m->small_units ? rpm / 60 : rpm,
            w->r->weight[speed]);
    }
    say(w, "sensors:\n");
    for (int k = 0; k < w->r->sensors; k++) {
        int i = rotor_order(w->m, w->r->sensors, k);
        say(w, "  - {id: s%d, limit: %.17g, repeatability: %.17g}\n", i, vibration_of(w, w->r->limit[i]),
            vibration_of(w, w->r->repeatability));
    }
}

static void write_planes(writer *w)
{
    say(w, "planes:\n");
    for (int k = 0; k < w->r->planes; k++) {
        int j = rotor_order(w->m, w->r->planes, k);
        double zero = w->m->against ? -w->r->zero[j] : w->r->zero[j];
        say(w, "  - {id: P%d, radius: %.17g, zero: %.17g", j, length_of(w, w->r->radius[j]), zero);
        if (w->r->cap[j] > 0)
            say(w, ", cap: %.17g", mass_of(w, w->r->cap[j]));
        say(w, "}\n");
    }
}

static double complex reading_of(const rotor *r, int run, int k, int i)
{
    double complex sum = r->y[k][i] + r->noise[run][k][i];
    for (int j = 0; j < r->planes; j++)
        sum += r->a[k][i][j] * r->mass[run][j];
    return sum;
}

static void write_readings(writer *w, int run)
{
    say(w, "    readings:\n");
    for (int n = 0; n < w->r->speeds; n++) {
        int k = rotor_order(w->m, w->r->speeds, n);
        say(w, "      v%d: {", k);
        for (int l = 0, told = 0; l < w->r->sensors; l++) {
            int i = rotor_order(w->m, w->r->sensors, l);
            double complex reading = reading_of(w->r, run, k, i);
            if (w->r->missing[run][i])
                continue;
            say(w, "%ss%d: %.17g @ %.17g", told++ ? ", " : "", i, vibration_of(w, cabs(reading)),
                degrees(reading, 0, w->m->lag));
        }
        say(w, "}\n");
    }
}

static void write_mass(writer *w, const char *form, int plane, double complex mass)
{
    say(w, form, plane, mass_of(w, cabs(mass)), degrees(mass, w->r->zero[plane], w->m->against));
}

static void write_runs(writer *w)
{
    say(w, "runs:\n");
    for (int run = 0; run < w->r->runs; run++) {
        say(w, "  - id: r%d\n    masses: [", run);
        for (int k = 0, told = 0; k < w->r->planes; k++) {
            int j = rotor_order(w->m, w->r->planes, k);
            if (cabs(w->r->mass[run][j]) > 0)
                write_mass(w,
                           told++ ? ", {plane: P%d, mass: %.17g, angle: %.17g}"
                                  : "{plane: P%d, mass: %.17g, angle: %.17g}",
                           j, w->r->mass[run][j]);
        }
        say(w, "]\n");
        write_readings(w, run);
    }
}

void rotor_write(const rotor *r, const manner *m, char text[MOST_TEXT])
{
    static const char *const objectives[] = {"least-squares", "min-max",  "least-mass", "least-change",
                                             "worst-case",    "expected", "confidence"};
    writer w = {r, m, text, 0};
    write_head(&w);
    write_planes(&w);
    write_runs(&w);
    say(&w, "objective:\n  minimise: %s\n  influence_error: 0.05\n  within_limits: %s\n",
        objectives[r->objective], r->within ? "true" : "false");
    if (cabs(r->fixed) > 0)
        write_mass(&w, "  fixed: {P%d: %.17g @ %.17g}\n", 0, r->fixed);
}
