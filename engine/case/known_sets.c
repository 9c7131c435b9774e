/* SPDX-License-Identifier: MIT */
/*
 * Known coefficients of a case as those of rows; where sets are known, the basis in which they are coordinates.
 *
 * In a row, the known set with ratios f takes the place of one of its planes. With T the basis so far (a = T·a'), f·a =
 * f'·a', f' = f T; its place is the plane p of largest |f'_p| that no known coefficient holds. Then
 *
 *     a'_p = (a_s - sum_(j≠p) f'_j a'_j) / f'_p,     T := T E,   E the identity but for row p: 1/f'_p, and -f'_j/f'_p
 *
 * No free plane: the other coefficients say already what the set does.
 */
#include "case/arrays.h"

#include <math.h>
#include <string.h>

#define NOTHING 1e-10 /* share of the largest ratio below which one is rounding, as for every rank */

typedef struct known_sets {
    cm_session *session;
    const cm_case *c;
    cm_runs *runs;
    cm_known *known;
    int *basis_of;
    int count;             /* bases */
    double complex *bases; /* room for one a row */
    int *place;            /* sets: plane whose place it took in the row at hand, -1: none */
    unsigned char *taken;  /* planes: known, or the place of a set */
    double complex *ratio; /* planes */
} known_sets;

static void add_known(known_sets *k, const cm_coefficient *given, int row, int plane, int set)
{
    k->known[k->runs->known_count++] = (cm_known){.row = row,
                                                  .plane = plane,
                                                  .value = given->value,
                                                  .uncertainty = given->uncertainty,
                                                  .common = given->common,
                                                  .record = given->record,
                                                  .set = set};
}

/* Ratios of a set in the coordinates of the basis. */
static void ratios_in(const known_sets *k, const cm_bundle *set, const double complex *basis)
{
    int n = k->c->plane_count;
    for (int j = 0; j < n; j++) {
        k->ratio[j] = 0;
        for (int t = 0; t < set->count; t++)
            k->ratio[j] += set->terms[t].factor * basis[set->terms[t].plane + j * n];
    }
}

static int free_place(const known_sets *k)
{
    int best = -1;
    double largest = 0, most = 0;
    for (int j = 0; j < k->c->plane_count; j++)
        largest = fmax(largest, cabs(k->ratio[j]));
    for (int j = 0; j < k->c->plane_count; j++)
        if (!k->taken[j] && cabs(k->ratio[j]) > fmax(most, NOTHING * largest)) {
            most = cabs(k->ratio[j]);
            best = j;
        }
    return best;
}

/* T := T E. */
static void take_place(const known_sets *k, int place, double complex *basis)
{
    int n = k->c->plane_count;
    for (int i = 0; i < n; i++) {
        double complex pivot = basis[i + place * n] / k->ratio[place];
        for (int j = 0; j < n; j++)
            basis[i + j * n] = j == place ? pivot : basis[i + j * n] - pivot * k->ratio[j];
    }
}

static void refuse(const known_sets *k, const cm_coefficient *given, const cm_bundle *set)
{
    if (given->record == 0)
        cm_report(k->session, CM_ERROR, &given->place,
                  "the coefficient of the set '%s' is told already by those of its planes or of other sets "
                  "of them: "
                  "leave one out",
                  set->id);
}

static void put_set(known_sets *k, const cm_coefficient *given, int row, double complex *basis)
{
    int number = given->plane - k->c->plane_count;
    const cm_bundle *set = &k->c->sets[number];
    if (k->place[number] < 0) {
        ratios_in(k, set, basis);
        int place = free_place(k);
        if (place < 0) {
            refuse(k, given, set);
            return;
        }
        take_place(k, place, basis);
        k->place[number] = place;
        k->taken[place] = 1;
    }
    add_known(k, given, row, k->place[number], number + 1);
}

/* The basis after `count` that is equal to it, or itself as a new one. */
static int file_basis(known_sets *k, const double complex *basis)
{
    size_t cells = (size_t)k->c->plane_count * (size_t)k->c->plane_count;
    for (int b = 0; b < k->count; b++)
        if (!memcmp(k->bases + (size_t)b * cells, basis, cells * sizeof *basis))
            return b;
    memcpy(k->bases + (size_t)k->count * cells, basis, cells * sizeof *basis);
    return k->count++;
}

static int row_of(const known_sets *k, const cm_coefficient *given)
{
    return cm_first_row(k->c, given->sensor, given->speed);
}

/* The sets that are known in a row, once its planes are. */
static void put_sets(known_sets *k, int row, double complex *basis)
{
    int n = k->c->plane_count, before = k->runs->known_count;
    memset(k->taken, 0, (size_t)n);
    memset(basis, 0, (size_t)n * (size_t)n * sizeof *basis);
    for (int j = 0; j < n; j++)
        basis[j + j * n] = 1;
    for (int s = 0; s < k->c->set_count; s++)
        k->place[s] = -1;
    for (int i = 0; i < before; i++)
        if (k->known[i].row == row)
            k->taken[k->known[i].plane] = 1;
    for (int i = 0; i < k->c->known_count; i++)
        if (k->c->known[i].plane >= n && row_of(k, &k->c->known[i]) == row)
            put_set(k, &k->c->known[i], row, basis);
    if (k->runs->known_count > before)
        k->basis_of[row] = file_basis(k, basis);
}

/* Returns whether any set is known. */
static bool put_planes(known_sets *k)
{
    bool sets = false;
    for (int i = 0; i < k->c->known_count; i++) {
        const cm_coefficient *given = &k->c->known[i];
        int row = row_of(k, given);
        if (row < 0 && given->record == 0)
            cm_report(k->session, CM_NOTE, &given->place,
                      "no run read %s at %s: this coefficient is not used", k->c->sensors[given->sensor].id,
                      k->c->speeds[given->speed].id);
        else if (row >= 0 && given->plane < k->c->plane_count)
            add_known(k, given, row, given->plane, 0);
        sets = sets || (row >= 0 && given->plane >= k->c->plane_count);
    }
    return sets;
}

void cm_put_known(cm_session *session, const cm_case *c, cm_runs *runs)
{
    size_t n = (size_t)c->plane_count;
    known_sets k = {.session = session, .c = c, .runs = runs};
    k.known = CM_NEW(session, c->known_count, cm_known);
    runs->known = k.known;
    if (!put_planes(&k))
        return;
    k.basis_of = CM_NEW(session, c->row_count, int);
    k.bases = CM_NEW(session, (size_t)c->row_count * n * n, double complex);
    k.place = CM_NEW(session, c->set_count, int);
    k.taken = CM_NEW(session, c->plane_count, unsigned char);
    k.ratio = CM_NEW(session, c->plane_count, double complex);
    double complex *basis = CM_NEW(session, n * n, double complex);
    for (int i = 0; i < c->row_count; i++) {
        k.basis_of[i] = -1;
        put_sets(&k, i, basis);
    }
    cm_fail_on_errors(session);
    runs->basis_of = k.basis_of;
    runs->bases = k.bases;
}

void cm_put_sets(cm_session *session, const cm_case *c, cm_runs *runs)
{
    if (c->set_count == 0)
        return;
    double complex *sets = CM_NEW(session, (size_t)c->plane_count * (size_t)c->set_count, double complex);
    for (int s = 0; s < c->set_count; s++)
        for (int t = 0; t < c->sets[s].count; t++)
            sets[c->sets[s].terms[t].plane + s * c->plane_count] = c->sets[s].terms[t].factor;
    runs->set_count = c->set_count;
    runs->sets = sets;
}
