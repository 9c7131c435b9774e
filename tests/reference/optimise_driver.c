/* SPDX-License-Identifier: MIT */
/* Solves the problems that optimise_reference.py and optimise_bench.py write to standard input, one after the other.
 * Numbers are separated by blanks; the order is that of read_problem(). With an argument N every problem is solved N
 * times and the median processor time is reported. */
#include "countermass/solve.h"

#include <complex.h>
#undef I
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static double number(void)
{
    double value;
    if (scanf("%lf", &value) != 1)
        exit(2);
    return value;
}

static int integer(void)
{
    return (int)number();
}

/* Memory of one problem: a list through the first word of every piece. */
static void **pieces;

static void *room(int count, size_t size)
{
    void **piece = calloc(1, 2 * sizeof *piece + ((size_t)count + 1) * size);
    if (!piece)
        exit(3);
    piece[0] = pieces;
    pieces = piece;
    return piece + 2;
}

static void forget(void)
{
    while (pieces) {
        void **next = pieces[0];
        free(pieces);
        pieces = next;
    }
}

static double *reals(int count)
{
    double *list = room(count, sizeof *list);
    for (int i = 0; i < count; i++)
        list[i] = number();
    return list;
}

static double complex *phasors(int count)
{
    return (double complex *)reals(2 * count);
}

static cm_disc *read_discs(int count)
{
    cm_disc *discs = room(count, sizeof *discs);
    for (int d = 0; d < count; d++) {
        discs[d].plane = integer();
        double re = number();
        double im = number();
        discs[d].centre = re + im * _Complex_I;
        discs[d].radius = number();
    }
    return discs;
}

static cm_pair *read_pairs(int count)
{
    cm_pair *pairs = room(count, sizeof *pairs);
    for (int k = 0; k < count; k++) {
        pairs[k].forward = integer();
        pairs[k].backward = integer();
        pairs[k].weight = number();
        pairs[k].limit = number();
        pairs[k].parts = integer();
        memcpy(pairs[k].mix, phasors(4), sizeof pairs[k].mix);
    }
    return pairs;
}

static unsigned char *read_flags(int count)
{
    unsigned char *flags = room(count, 1);
    for (int j = 0; j < count; j++)
        flags[j] = (unsigned char)integer();
    return flags;
}

static cm_problem read_problem(int objective)
{
    cm_problem p = {
        .size = sizeof p, .objective = (cm_objective)objective, .mass_unit = 1, .mass_zero = 1e-12};
    p.rows = integer();
    p.planes = integer();
    p.within_limits = integer();
    p.influence_error = number();
    p.disc_count = integer();
    p.tie_count = integer();
    p.pair_count = integer();
    int has_spread = integer();
    p.blocks = 1;
    p.block = room(p.rows, sizeof *p.block);
    p.y = phasors(p.rows);
    p.a = phasors(p.rows * p.planes);
    p.weight = reals(p.rows);
    p.limit = reals(p.rows);
    p.base = phasors(p.planes);
    p.now = phasors(p.planes);
    p.held = read_flags(p.planes);
    p.held_value = phasors(p.planes);
    p.discs = read_discs(p.disc_count);
    p.ties = phasors(p.tie_count * p.planes);
    p.tie_value = phasors(p.tie_count);
    cm_pair *pairs = read_pairs(p.pair_count);
    p.pairs = pairs;
    p.then = integer();
    p.second = (cm_objective)integer();
    p.within = number();
    int block = (p.planes + 1) * (p.planes + 1);
    if (has_spread)
        p.spread = phasors(p.rows * block);
    for (int k = 0; has_spread && k < p.pair_count; k++)
        pairs[k].spread = phasors(2 * block);
    return p;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void print_answer(const cm_problem *p, cm_status status, const cm_answer *a, double seconds)
{
    if (status != CM_OK) {
        printf("%d -1 0 0 0 0 0 0 0 %.9g nan nan nan\n", status, seconds);
        return;
    }
    printf("0 %d %.17g %.17g %.17g %d %.17g %.17g %d %.9g", a->outcome, a->value, a->bound, a->gap,
           a->iterations, a->limits_factor, a->largest_ratio, a->rank, seconds);
    printf(" %.17g %.17g %.17g", a->then_value, a->then_bound, a->then_gap);
    for (int j = 0; a->x && j < p->planes; j++)
        printf(" %.17g %.17g", creal(a->x[j]), cimag(a->x[j]));
    printf("\n");
}

int main(int argc, char **argv)
{
    int repeats = argc > 1 ? atoi(argv[1]) : 1;
    cm_session *session = cm_open(NULL);
    int objective;
    while (scanf("%d", &objective) == 1) {
        cm_problem p = read_problem(objective);
        double *seconds = room(repeats, sizeof *seconds);
        const cm_answer *answer = NULL;
        cm_status status = CM_OK;
        for (int k = 0; k < repeats; k++) {
            cm_reset(session);
            double start = now();
            status = cm_solve(session, &p, &answer);
            seconds[k] = now() - start;
        }
        qsort(seconds, (size_t)repeats, sizeof *seconds, by_size);
        for (int k = 0; k < cm_message_count(session); k++)
            fprintf(stderr, "%s\n", cm_message_at(session, k)->text);
        print_answer(&p, status, answer, seconds[repeats / 2]);
        fflush(stdout);
        forget();
    }
    cm_close(session);
    return 0;
}
