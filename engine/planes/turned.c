/* SPDX-License-Identifier: MIT */
/* Problem: a coupling half or a spool carries an unbalance u_p nobody knows and can be refitted in n_p equal steps.
 * Which position is best, with the correction masses found again for each?
 *
 * Turned by the angle f from as-found, the part takes u away where it was and brings it where it is now, which is a mass
 *     (exp(if) - 1) u_p
 * at its plane p. A run k with parts turned by f_kp and masses m_k reads, for every row i,
 *     R_ik = y_i + sum_j A_ij (m_kj - b_j) + sum_p A_ip (exp(if_kp) - 1) u_p.
 * The fit gives y and A from the other runs; u is the least-squares solution over all readings of turned runs, each
 * over its scatter. Then for each position y_i + sum_p A_ip (exp(if_p) - 1) u_p takes the place of y_i and
 * the problem is solved again with all planes.
 *
 * Method: the influence equation with a turned mass; common practice, no source. */
#include "planes/turned.h"
#include "base/constants.h"

#include "linalg/dense.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#undef I

#define TWO_PI (2 * CM_PI)
/* More positions than this are not compared. */
#define MOST_POSITIONS 4096
/* Values that agree this well are equal (proofs may leave as much open), and the total mass decides: a mass at the part's
 * own plane makes up for any turn, so that without caps all positions have one value and differ in mass alone. */
#define SAME 1e-10

typedef struct cm_turning {
    cm_session *session;
    const cm_choice *choice;
    const cm_runs *runs;
    int parts;
    cm_turned_part *part;
    int told;                  /* columns in use of the equations */
    int *column;               /* parts: column, or -1 */
    double complex *unbalance; /* parts */
} cm_turning;

/* exp(i f) - 1 for `steps` of `positions`; 2 sin(f/2) i exp(i f/2) keeps its digits for small steps. */
static double complex turn_of(int steps, int positions)
{
    double half = TWO_PI / 2 * steps / positions;
    return 2 * sin(half) * cm_pack(-sin(half), cos(half));
}

static void list_parts(cm_turning *t)
{
    int planes = t->runs->planes;
    t->part = CM_NEW(t->session, planes, cm_turned_part);
    t->column = CM_NEW(t->session, planes, int);
    t->unbalance = CM_NEW(t->session, planes, double complex);
    for (int j = 0; j < planes; j++)
        if (t->runs->positions[j] > 0)
            t->part[t->parts++] = (cm_turned_part){.plane = j, .positions = t->runs->positions[j]};
}

static int steps_of(const cm_turning *t, int run, int part)
{
    return t->runs->turned ? t->runs->turned[run + t->part[part].plane * t->runs->runs] : 0;
}

/* Every counted reading must know the plane, or positions cannot be judged. */
static bool plane_is_told(const cm_turning *t, int plane)
{
    const cm_problem *p = t->choice->problem;
    for (int i = 0; i < p->rows; i++)
        if (p->weight[i] > 0 && !t->choice->influence->determined[i + plane * p->rows])
            return false;
    return true;
}

static bool was_turned(const cm_turning *t, int part)
{
    for (int k = 0; k < t->runs->runs; k++)
        if (steps_of(t, k, part) != 0)
            return true;
    return false;
}

static void choose_columns(cm_turning *t)
{
    for (int p = 0; p < t->parts; p++) {
        t->column[p] = -1;
        if (!was_turned(t, p))
            t->part[p].why_not = "no run was made with it turned";
        else if (!plane_is_told(t, t->part[p].plane))
            t->part[p].why_not =
                "the runs do not tell what a mass at its plane does to every reading that counts";
        else
            t->column[p] = t->told++;
    }
}

/* What the fit says of row i in run k without any part turned; false when it does not tell. */
static bool reading_unturned(const cm_turning *t, int i, int k, double complex *reading)
{
    const cm_influence *fit = t->choice->influence;
    const cm_runs *runs = t->runs;
    *reading = fit->y[i];
    if (fit->null_count[i] > 0 && fit->base_runs[i] == 0)
        return false;
    for (int l = 0; l < runs->levels; l++)
        if (runs->level[k + l * runs->runs] != (runs->base_level ? runs->base_level[l] : 0))
            return false;
    for (int j = 0; j < runs->planes; j++) {
        double complex added = runs->masses[k + j * runs->runs] - runs->base[j];
        if (cabs(added) <= runs->mass_zero)
            continue;
        if (!fit->determined[i + j * fit->rows])
            return false;
        *reading += fit->a[i + j * fit->rows] * added;
    }
    return true;
}

/* One equation of row i in run k; false when it cannot be used. `stride`: rows of the matrix. */
static bool put_equation(const cm_turning *t, int i, int k, double complex *matrix, int stride,
                         double complex *right)
{
    const cm_influence *fit = t->choice->influence;
    size_t at = (size_t)i + (size_t)k * (size_t)t->runs->rows;
    if (t->runs->turned_repeats[at] == 0 || !(fit->scatter[i] > 0) || !reading_unturned(t, i, k, right))
        return false;
    double weight = sqrt(t->runs->turned_repeats[at]) / fit->scatter[i];
    for (int p = 0; p < t->parts; p++) {
        int steps = steps_of(t, k, p), plane = t->part[p].plane;
        if (steps && (t->column[p] < 0 || !fit->determined[i + plane * fit->rows]))
            return false;
        if (t->column[p] >= 0)
            matrix[t->column[p] * stride] =
                weight * fit->a[i + plane * fit->rows] * turn_of(steps, t->part[p].positions);
    }
    *right = weight * (t->runs->readings[at] - *right);
    return true;
}

static void keep_solution(cm_turning *t, const double complex *u, bool told)
{
    for (int p = 0; p < t->parts; p++) {
        if (t->column[p] < 0)
            continue;
        if (told) {
            t->unbalance[p] = u[t->column[p]];
            t->part[p].unbalance = &t->unbalance[p];
            t->part[p].told = 1;
        } else {
            t->part[p].why_not =
                "the runs with parts turned do not tell its unbalance from that of the others";
        }
    }
}

static void find_unbalance(cm_turning *t, cm_plane_comparison *out)
{
    int rows = t->runs->rows * t->runs->runs;
    double complex *matrix = CM_NEW(t->session, (size_t)rows * (size_t)t->told, double complex);
    double complex *right = CM_NEW(t->session, rows, double complex);
    double complex *u = CM_NEW(t->session, t->told, double complex);
    int used = 0;
    for (int k = 0; k < t->runs->runs; k++)
        for (int i = 0; i < t->runs->rows; i++)
            used += put_equation(t, i, k, matrix + used, rows, right + used);
    int rank =
        used ? cm_least_squares(t->session, used, t->told, 1, matrix, rows, right, rows, u, t->told) : 0;
    keep_solution(t, u, rank == t->told);
    double size = cm_norm2(used, right);
    cm_multiply(false, false, used, 1, t->told, -1, matrix, rows, u, t->told, 1, right, rows);
    out->turned_readings = used;
    out->turned_misfit = rank == t->told && size > 0 ? cm_norm2(used, right) / size : NAN;
}

/* ---- positions ---- */

static double count_positions(const cm_turning *t)
{
    double count = 1;
    for (int p = 0; p < t->parts; p++)
        count *= t->part[p].told ? t->part[p].positions : 1;
    return count;
}

/* Number n of the list: the first part turns fastest. */
static int *steps_of_position(const cm_turning *t, int n)
{
    int *steps = CM_NEW(t->session, t->parts, int);
    for (int p = 0; p < t->parts; p++) {
        int positions = t->part[p].told ? t->part[p].positions : 1;
        steps[p] = n % positions;
        n /= positions;
    }
    return steps;
}

static cm_turned_position try_position(const cm_turning *t, int n)
{
    cm_problem problem = *t->choice->problem;
    cm_choice choice = *t->choice;
    double complex *y = CM_NEW(t->session, problem.rows, double complex);
    cm_turned_position out = {.steps = steps_of_position(t, n)};
    for (int i = 0; i < problem.rows; i++) {
        y[i] = problem.y[i];
        for (int p = 0; p < t->parts; p++)
            y[i] += problem.a[i + t->part[p].plane * problem.rows] *
                    turn_of(out.steps[p], t->part[p].positions) * t->unbalance[p];
    }
    problem.y = y;
    choice.problem = &problem;
    cm_set all = choice.count == CM_SET_PLANES ? ~(cm_set)0 : ((cm_set)1 << choice.count) - 1;
    out.answer = cm_weigh_set(t->session, &choice, all, NULL);
    return out;
}

typedef struct cm_placed {
    cm_turned_position position;
    double key, mass; /* those that cannot be told apart are made equal; mass counts only then */
    int number;
} cm_placed;

static int by_key(const void *left, const void *right)
{
    const cm_placed *a = left, *b = right;
    if (a->key != b->key)
        return a->key < b->key ? -1 : 1;
    if (a->mass != b->mass)
        return a->mass < b->mass ? -1 : 1;
    return a->number - b->number;
}

/* Each run of keys that cannot be told from its first one becomes that one; within it masses count. */
static void join_keys(int count, cm_placed *placed)
{
    for (int n = 0, first = 0; n < count; n++) {
        bool told = isfinite(placed[n].key);
        if (placed[n].key - placed[first].key > SAME * fabs(placed[n].key) || !told)
            first = n;
        placed[n].key = placed[first].key;
        placed[n].position.answer.value = placed[first].position.answer.value;
        placed[n].mass = told ? placed[n].position.answer.total_mass : 0;
    }
}

/* The same for masses of equal keys: the order of the list decides between them. */
static void join_masses(int count, cm_placed *placed)
{
    for (int n = 0, first = 0; n < count; n++) {
        if (placed[n].key != placed[first].key ||
            placed[n].mass - placed[first].mass > SAME * fabs(placed[n].mass))
            first = n;
        placed[n].mass = placed[first].mass;
    }
}

/* Best first: by value, then by total mass, then in the order of the list, as found before turned. */
static void rank_positions(const cm_turning *t, int count, cm_turned_position *list)
{
    double sign = t->choice->problem->objective == CM_CONFIDENCE ? -1 : 1;
    cm_placed *placed = CM_NEW(t->session, count, cm_placed);
    for (int n = 0; n < count; n++) {
        double value = list[n].answer.value;
        placed[n] = (cm_placed){list[n], isnan(value) ? INFINITY : sign * value, 0, n};
    }
    qsort(placed, (size_t)count, sizeof *placed, by_key);
    join_keys(count, placed);
    qsort(placed, (size_t)count, sizeof *placed, by_key);
    join_masses(count, placed);
    qsort(placed, (size_t)count, sizeof *placed, by_key);
    for (int n = 0; n < count; n++)
        list[n] = placed[n].position;
}

static void compare(const cm_turning *t, int (*stop)(void *context), cm_plane_comparison *out)
{
    double count = count_positions(t);
    if (count > MOST_POSITIONS)
        cm_fail(t->session, CM_BAD_INPUT,
                "the parts that can be turned have %.0f positions together; at most %d can be compared",
                count, MOST_POSITIONS);
    cm_turned_position *list = CM_NEW(t->session, count, cm_turned_position);
    int done = 0;
    for (; done < (int)count && !out->stopped; done++) {
        list[done] = try_position(t, done);
        out->stopped = stop && stop(t->session->host.context);
    }
    rank_positions(t, done, list);
    out->positions = list;
    out->position_count = done;
}

void cm_compare_positions(cm_session *session, const cm_choice *choice, const cm_runs *runs,
                          int (*stop)(void *context), cm_plane_comparison *out)
{
    cm_turning t = {.session = session, .choice = choice, .runs = runs};
    out->turned_misfit = NAN;
    if (!runs || !runs->positions || !choice->influence)
        return;
    list_parts(&t);
    choose_columns(&t);
    if (t.told > 0)
        find_unbalance(&t, out);
    out->parts = t.part;
    out->part_count = t.parts;
    if (count_positions(&t) > 1)
        compare(&t, stop, out);
}
