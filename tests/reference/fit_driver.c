/* SPDX-License-Identifier: MIT */
/* Reads cases as plain numbers from standard input, fits them through the public interface, and prints what the
 * reference script compares. Numbers only: no case file, no units. */
#include "countermass.h"

#include <complex.h>
#include <stdio.h>
#include <stdlib.h>

#undef I

static double number(void)
{
    double value;
    if (scanf("%lf", &value) != 1)
        exit(2);
    return value;
}

static cm_complex complex_number(void)
{
    union {
        double parts[2];
        cm_complex z;
    } u;
    u.parts[0] = number();
    u.parts[1] = number();
    return u.z;
}

static void *room(size_t count, size_t size)
{
    void *memory = calloc(count + 1, size);
    if (!memory)
        exit(3);
    return memory;
}

static int *integers(int count)
{
    int *list = room((size_t)count, sizeof *list);
    for (int k = 0; k < count; k++)
        list[k] = (int)number();
    return list;
}

static double *reals(int count)
{
    double *list = room((size_t)count, sizeof *list);
    for (int k = 0; k < count; k++)
        list[k] = number();
    return list;
}

static cm_complex *complexes(int count)
{
    cm_complex *list = room((size_t)count, sizeof *list);
    for (int k = 0; k < count; k++)
        list[k] = complex_number();
    return list;
}

static cm_known *known_list(int count)
{
    cm_known *list = room((size_t)count, sizeof *list);
    for (int k = 0; k < count; k++) {
        list[k].row = (int)number();
        list[k].plane = (int)number();
        list[k].value = complex_number();
        list[k].uncertainty = number();
        list[k].common = number();
    }
    return list;
}

static int read_runs(cm_runs *runs)
{
    if (scanf("%d %d %d", &runs->rows, &runs->planes, &runs->runs) != 3)
        return 0;
    int rows = runs->rows, planes = runs->planes, count = runs->runs;
    runs->size = sizeof *runs;
    runs->block = integers(rows);
    runs->pool = integers(rows);
    runs->masses = complexes(count * planes);
    runs->readings = complexes(rows * count);
    runs->repeats = integers(rows * count);
    runs->repeat_spread = reals(rows * count);
    runs->repeatability = reals(rows);
    runs->assumed_floor = reals(rows);
    runs->known_count = (int)number();
    runs->known = known_list(runs->known_count);
    runs->base = complexes(planes);
    runs->mass_zero = number();
    return 1;
}

/* What the problem says about the allowed masses; the rest of it plays no part in determinedness. */
typedef struct cm_allowed {
    unsigned char *held;
    cm_complex *held_value, *ties, *tie_value;
    int tie_count;
} cm_allowed;

static cm_allowed read_allowed(int planes)
{
    cm_allowed allowed;
    int *held = integers(planes);
    allowed.held = room((size_t)planes, 1);
    for (int j = 0; j < planes; j++)
        allowed.held[j] = (unsigned char)held[j];
    free(held);
    allowed.held_value = complexes(planes);
    allowed.tie_count = (int)number();
    allowed.ties = complexes(allowed.tie_count * planes);
    allowed.tie_value = complexes(allowed.tie_count);
    return allowed;
}

static void free_allowed(const cm_allowed *allowed)
{
    free(allowed->held);
    free(allowed->held_value);
    free(allowed->ties);
    free(allowed->tie_value);
}

static void free_runs(const cm_runs *runs)
{
    const void *lists[] = {runs->block,   runs->pool,          runs->masses,        runs->readings,
                           runs->repeats, runs->repeat_spread, runs->repeatability, runs->assumed_floor,
                           runs->known,   runs->base};
    for (size_t k = 0; k < sizeof lists / sizeof *lists; k++)
        free((void *)(size_t)lists[k]);
}

static void print_reals(int count, const double *list)
{
    for (int k = 0; k < count; k++)
        printf("%.17g\n", list[k]);
}

static void print_complexes(int count, const cm_complex *list)
{
    for (int k = 0; k < count; k++)
        printf("%.17g %.17g\n", creal(list[k]), cimag(list[k]));
}

static void print_bytes(int count, const unsigned char *list)
{
    for (int k = 0; k < count; k++)
        printf("%d\n", list[k]);
}

static void print_influence(const cm_influence *influence)
{
    int rows = influence->rows, planes = influence->planes, lines = planes + 1;
    print_complexes(rows * planes, influence->a);
    print_bytes(rows * planes, influence->determined);
    print_reals(rows * planes, influence->std);
    print_complexes(rows, influence->y);
    print_reals(rows, influence->scatter);
    print_reals(rows, influence->dof);
    print_complexes(rows * lines * lines, influence->factor);
    printf("%d\n", influence->common_count);
    print_complexes(rows * lines * influence->common_count, influence->common_factor);
    print_complexes(rows * lines * influence->common_count, influence->base_factor);
}

/* Prints which rows are determined, and whether the planned runs are few. */
static int print_determination(cm_session *session, const cm_runs *runs, const cm_influence *influence,
                               const cm_allowed *allowed)
{
    double *weight = room((size_t)runs->rows, sizeof *weight);
    int *block = room((size_t)runs->rows, sizeof *block);
    for (int i = 0; i < runs->rows; i++) {
        weight[i] = 1;
        block[i] = 0;
    }
    cm_problem problem = {.size = sizeof problem,
                          .rows = runs->rows,
                          .planes = runs->planes,
                          .blocks = 1,
                          .block = block,
                          .y = influence->y,
                          .a = influence->a,
                          .weight = weight,
                          .base = runs->base,
                          .now = runs->base,
                          .held = allowed->held,
                          .held_value = allowed->held_value,
                          .tie_count = allowed->tie_count,
                          .ties = allowed->ties,
                          .tie_value = allowed->tie_value,
                          .mass_zero = runs->mass_zero};
    cm_job job = {.size = sizeof job, .runs = runs, .influence = influence, .problem = &problem};
    int failed = cm_determine(session, &job) != CM_OK;
    if (!failed) {
        print_bytes(runs->rows, job.determination->determined);
        printf("%d\n", job.determination->run_count);
    }
    free(weight);
    free(block);
    return failed;
}

int main(void)
{
    cm_session *session = cm_open(NULL);
    cm_runs runs = {0};
    while (read_runs(&runs)) {
        const cm_influence *influence = NULL;
        cm_allowed allowed = read_allowed(runs.planes);
        if (cm_fit(session, &runs, &influence) != CM_OK) {
            fprintf(stderr, "fit failed: %s\n", cm_message_at(session, 0)->text);
            return 1;
        }
        print_influence(influence);
        if (print_determination(session, &runs, influence, &allowed)) {
            fprintf(stderr, "determination failed\n");
            return 1;
        }
        free_allowed(&allowed);
        free_runs(&runs);
        cm_reset(session);
    }
    cm_close(session);
    return 0;
}
