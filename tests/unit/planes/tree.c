/* SPDX-License-Identifier: MIT */
/* The deletion tree against least squares solved from scratch, set by set. */
#include "suite.h"
#include "linalg/dense.h"
#include "planes/tree.h"

#include <string.h>

#undef I

enum { COLUMNS = 8, MOST_ROWS = 12 };

typedef struct cm_sample {
    int rows;
    double complex a[MOST_ROWS * COLUMNS];
    double complex y[MOST_ROWS];
} cm_sample;

/* A small generator of our own: the same numbers on every machine. */
static double next_number(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (double)(*state >> 8) / 8388608.0 - 1;
}

static cm_sample sample(int rows, unsigned seed)
{
    cm_sample s = {.rows = rows};
    for (int i = 0; i < rows * COLUMNS; i++) {
        double re = next_number(&seed);
        s.a[i] = cm_pack(re, next_number(&seed));
    }
    for (int i = 0; i < rows; i++) {
        double re = next_number(&seed);
        s.y[i] = cm_pack(re, next_number(&seed));
    }
    return s;
}

/* Column `to` becomes a multiple of column `from` plus a share of itself. */
static void depend(cm_sample *s, int to, int from, double share)
{
    for (int i = 0; i < s->rows; i++)
        s->a[i + to * s->rows] = cm_pack(0.3, 2) * s->a[i + from * s->rows] + share * s->a[i + to * s->rows];
}

static double from_scratch(cm_session *session, const cm_sample *s, cm_set set)
{
    double complex a[MOST_ROWS * COLUMNS], x[COLUMNS], rest[MOST_ROWS];
    int n = 0;
    for (int j = 0; j < COLUMNS; j++)
        if (set >> j & 1)
            memcpy(a + s->rows * n++, s->a + s->rows * j, (size_t)s->rows * sizeof *a);
    cm_least_squares(session, s->rows, n, 1, a, s->rows, s->y, s->rows, x, COLUMNS);
    memcpy(rest, s->y, sizeof rest);
    for (int j = 0; j < n; j++)
        for (int i = 0; i < s->rows; i++)
            rest[i] -= a[i + j * s->rows] * x[j];
    double norm = cm_norm2(s->rows, rest);
    return norm * norm;
}

static int size_of(cm_set set)
{
    int size = 0;
    for (; set; set &= set - 1)
        size++;
    return size;
}

/* Every set once, with its sum of squares. */
static void check_all(cm_session *session, const cm_sample *s, double tolerance)
{
    cm_view view = {s->rows, s->a, s->y};
    cm_search search = {
        .columns = COLUMNS, .views = 1, .view = &view, .at_most = COLUMNS, .everything = true};
    cm_shortlist list = cm_shortlist_new(session, COLUMNS, 1 << COLUMNS);
    CU_ASSERT_EQUAL(cm_tree_search(session, &search, &list), (1u << COLUMNS) - 1);
    unsigned char seen[1 << COLUMNS] = {0};
    double scale = cm_norm2(s->rows, s->y);
    for (int size = 1; size <= COLUMNS; size++)
        for (int i = 0; i < list.count[size]; i++) {
            cm_entry entry = *cm_shortlist_at(&list, size, i);
            CU_ASSERT_EQUAL(size_of(entry.set), size);
            CU_ASSERT_EQUAL(seen[entry.set]++, 0);
            CU_ASSERT(fabs(entry.bound - from_scratch(session, s, entry.set)) <= tolerance * scale * scale);
        }
    int count = 0;
    for (int set = 1; set < 1 << COLUMNS; set++)
        count += seen[set];
    CU_ASSERT_EQUAL(count, (1 << COLUMNS) - 1);
}

static cm_status every_set(cm_session *session)
{
    CM_ENTER(session);
    for (unsigned seed = 1; seed < 6; seed++) {
        cm_sample s = sample(12, seed);
        check_all(session, &s, 1e-13);
    }
    return cm_leave(session);
}

static cm_status dependent(cm_session *session)
{
    CM_ENTER(session);
    for (unsigned seed = 1; seed < 6; seed++) {
        cm_sample s = sample(12, 10 + seed);
        depend(&s, (int)seed, 0, 0);     /* exactly dependent pair */
        depend(&s, 7, (int)seed - 1, 0); /* and another, or the same group */
        check_all(session, &s, 1e-13);
        s = sample(12, 20 + seed);
        depend(&s, (int)seed, 0, 1e-4); /* nearly dependent: still two planes */
        check_all(session, &s, 1e-10);
        s = sample(12, 70 + seed);
        depend(&s, (int)seed, 0, 1e-7); /* rounding 1e-16 over 1e-7, as in any method */
        check_all(session, &s, 1e-7);
        memset(s.a + 12 * seed, 0, 12 * sizeof *s.a); /* a plane that moves nothing */
        check_all(session, &s, 1e-10);
    }
    return cm_leave(session);
}

static cm_status few_rows(cm_session *session)
{
    CM_ENTER(session);
    for (int rows = 1; rows < COLUMNS; rows++) {
        cm_sample s = sample(rows, 30 + (unsigned)rows);
        check_all(session, &s, 1e-11);
    }
    return cm_leave(session);
}

/* The cut search finds the same best sets; `must` and `at_most` hold. */
static cm_status best_few(cm_session *session)
{
    CM_ENTER(session);
    for (unsigned seed = 1; seed < 8; seed++) {
        cm_sample s = sample(12, 40 + seed);
        if (seed > 4)
            depend(&s, 6, 2, 0);
        cm_view view = {s.rows, s.a, s.y};
        cm_search search = {.columns = COLUMNS, .views = 1, .view = &view, .must = 4, .at_most = 5};
        cm_shortlist best = cm_shortlist_new(session, COLUMNS, 3);
        cm_shortlist all = cm_shortlist_new(session, COLUMNS, 1 << COLUMNS);
        cm_tree_search(session, &search, &best);
        search.everything = true;
        CU_ASSERT_EQUAL(cm_tree_search(session, &search, &all), 1 + 7 + 21 + 35 + 35);
        cm_shortlist_sort(&best);
        cm_shortlist_sort(&all);
        CU_ASSERT_EQUAL(all.count[1], 1);
        CU_ASSERT_EQUAL(all.count[6], 0);
        for (int size = 1; size <= 5; size++)
            for (int i = 0; i < best.count[size]; i++) {
                CU_ASSERT(cm_shortlist_at(&best, size, i)->set & 4);
                ASSERT_NEAR(cm_shortlist_at(&best, size, i)->bound, cm_shortlist_at(&all, size, i)->bound,
                            1e-12);
            }
    }
    return cm_leave(session);
}

/* Two views: the larger sum counts. */
static cm_status two_views(cm_session *session)
{
    CM_ENTER(session);
    cm_sample s = sample(12, 50);
    cm_sample t = sample(12, 51);
    cm_view view[] = {{12, s.a, s.y}, {12, t.a, t.y}};
    cm_search search = {.columns = COLUMNS, .views = 2, .view = view, .at_most = COLUMNS};
    cm_shortlist list = cm_shortlist_new(session, COLUMNS, 1 << COLUMNS);
    cm_tree_search(session, &search, &list);
    int count = 0;
    for (int size = 1; size <= COLUMNS; size++)
        for (int i = 0; i < list.count[size]; i++) {
            cm_entry entry = *cm_shortlist_at(&list, size, i);
            ASSERT_NEAR(entry.bound,
                        fmax(from_scratch(session, &s, entry.set), from_scratch(session, &t, entry.set)),
                        1e-12);
            count++;
        }
    CU_ASSERT_EQUAL(count, (1 << COLUMNS) - 1);
    return cm_leave(session);
}

static bool at_once(void *context)
{
    (void)context;
    return true;
}

/* A stop leaves bounds on what was not seen: 16 columns are more than one asking. */
static cm_status stopped(cm_session *session)
{
    CM_ENTER(session);
    enum { MANY = 16 };
    double complex a[MANY * MANY], y[MANY];
    unsigned seed = 60;
    for (int i = 0; i < MANY * MANY; i++)
        a[i] = next_number(&seed);
    for (int i = 0; i < MANY; i++)
        y[i] = next_number(&seed);
    cm_view view = {MANY, a, y};
    cm_search search = {
        .columns = MANY, .views = 1, .view = &view, .at_most = MANY, .everything = true, .stop = at_once};
    cm_shortlist part = cm_shortlist_new(session, MANY, 1);
    CU_ASSERT(cm_tree_search(session, &search, &part) < (1u << MANY) - 1);
    search.stop = NULL;
    cm_shortlist all = cm_shortlist_new(session, MANY, 1);
    CU_ASSERT_EQUAL(cm_tree_search(session, &search, &all), (1u << MANY) - 1);
    for (int size = 1; size <= MANY; size++) {
        double seen = part.count[size] ? cm_shortlist_at(&part, size, 0)->bound : INFINITY;
        CU_ASSERT(fmin(seen, part.open[size]) <= cm_shortlist_at(&all, size, 0)->bound * (1 + 1e-9) + 1e-12);
        CU_ASSERT(all.open[size] == INFINITY);
    }
    CU_ASSERT(part.open[2] < INFINITY);
    return cm_leave(session);
}

static void in_session(cm_status (*work)(cm_session *))
{
    cm_session *session = cm_open(NULL);
    CU_ASSERT_EQUAL(work(session), CM_OK);
    cm_close(session);
}

static void test_every_set(void)
{
    in_session(every_set);
}

static void test_dependent(void)
{
    in_session(dependent);
}

static void test_few_rows(void)
{
    in_session(few_rows);
}

static void test_best_few(void)
{
    in_session(best_few);
}

static void test_two_views(void)
{
    in_session(two_views);
}

static void test_stopped(void)
{
    in_session(stopped);
}

int main(void)
{
    static const cm_test tests[] = {
        {"every set once, with its least sum of squares", test_every_set},
        {"dependent and nearly dependent planes", test_dependent},
        {"fewer rows than planes", test_few_rows},
        {"the best few of each size, must and at most", test_best_few},
        {"two views", test_two_views},
        {"what a stop leaves open is bounded", test_stopped},
        {NULL, NULL},
    };
    return run_suite("planes/tree", tests);
}
