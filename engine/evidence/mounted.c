/* SPDX-License-Identifier: MIT */
/*
 * Which run missed its prediction, and what would explain it.
 *
 * A right run gives T = dᴴ C⁻¹ d of mean n: T is Gamma(n) when the scatter is known, n times F(2n, 2f) when it has f
 * (complex) degrees of freedom. Beside this test against anything stands one against the usual mistakes: the odds
 *
 *     B = (mean of L over all guesses, by weight) / L(as stated)
 *
 * exceed 1/a in a right run with a chance below a, whatever the guesses are (Markov's inequality, for E B = 1). A run has
 * missed its prediction when either chance is below 0.2 %. Variants of one mistake are added up, and the shares of the
 * listed ones sum to 1.
 */
#include "evidence/mounting.h"
#include "evidence/notes.h"
#include "base/text.h"
#include "fit/foretell.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"
#include "model/mistakes.h"
#include "model/job_call.h"

#include <math.h>
#include <string.h>

#undef I

static const double THRESHOLD = 0.002; /* of chance: below it a run has missed (our own figure) */
static const double SUSPECT = 0.1;     /* runs with a larger chance are right without further asking */
static const double LEAST_SHARE = 1e-6;
enum { MOST_LISTED = 30 };

static bool same_mistake(const cm_mistake *a, const cm_mistake *b)
{
    return a->kind == b->kind && a->plane == b->plane && a->other_plane == b->other_plane &&
           a->sensor == b->sensor && a->other_sensor == b->other_sensor;
}

static bool same_explanation(const cm_explanation *e, const cm_guess *g)
{
    return same_mistake(&e->mistake, &g->mistake) && e->has_second == (int)g->has_second &&
           (!g->has_second || same_mistake(&e->second, &g->second));
}

/* What would be on the rotor beyond what was stated, at the highest speeds; NULL: nothing. */
static const cm_complex *extra_masses(cm_session *session, int planes, const cm_guess *g)
{
    if (!g->lever)
        return g->extra;
    cm_complex *extra = CM_NEW(session, planes, cm_complex);
    for (int j = 0; j < planes; j++)
        extra[j] = g->lever[j] * (g->value - 1);
    return extra;
}

/* Adds a guess to the explanations: to the one it is a variant of, or as a new one. */
static int put(cm_session *session, int planes, cm_explanation *list, int count, const cm_guess *g,
               double weight)
{
    int at = 0;
    while (at < count && !same_explanation(&list[at], g))
        at++;
    if (at == count)
        list[at] = (cm_explanation){
            g->mistake, g->has_second, g->second, 0, g->value, g->left, extra_masses(session, planes, g)};
    if (weight > list[at].likelihood / 2) {
        list[at].value = g->value;
        list[at].left = g->left;
        list[at].extra = extra_masses(session, planes, g);
    }
    list[at].likelihood += weight;
    return at == count ? count + 1 : count;
}

static void sort_by_share(cm_explanation *list, int count)
{
    for (int i = 1; i < count; i++) {
        cm_explanation own = list[i];
        int at = i;
        for (; at > 0 && list[at - 1].likelihood < own.likelihood; at--)
            list[at] = list[at - 1];
        list[at] = own;
    }
}

/* Weighs all guesses; the greatest of log (weight times likelihood), and log of their sum. */
static double weigh_all(const cm_view *view, cm_guesses *all, double *sum)
{
    double most = -INFINITY, weights = 0, total = 0;
    for (int g = 0; g < all->count; g++) {
        cm_weigh_guess(view, &all->items[g]);
        all->items[g].log_likelihood += log(all->items[g].prior);
        most = fmax(most, all->items[g].log_likelihood);
        weights += all->items[g].prior;
    }
    for (int g = 0; g < all->count; g++)
        total += exp(all->items[g].log_likelihood - most);
    *sum = most + log(total / weights);
    return most;
}

static void explain(const cm_view *view, const cm_guesses *all, double most, cm_run_test *test)
{
    cm_explanation *list = CM_NEW(view->session, all->count, cm_explanation);
    double sum = 0, listed = 0;
    int count = 0;
    for (int g = 0; g < all->count; g++) {
        double weight = exp(all->items[g].log_likelihood - most);
        if (weight > 0)
            count = put(view->session, view->planes, list, count, &all->items[g], weight);
        sum += weight;
    }
    sort_by_share(list, count);
    while (count > 1 && (count > MOST_LISTED || list[count - 1].likelihood < LEAST_SHARE * sum))
        count--;
    for (int i = 0; i < count; i++)
        listed += list[i].likelihood;
    for (int i = 0; i < count; i++)
        list[i].likelihood /= listed;
    test->explanation_count = count;
    test->explanations = list;
}

static void describe(cm_session *session, cm_view *view, cm_run_test *test, double *right)
{
    double *std = CM_NEW(session, view->count, double);
    double chi2 = cm_weigh_stated(view, std, right);
    *test = (cm_run_test){.run = view->run,
                          .readings = view->count,
                          .rows = view->row,
                          .expected = view->expected,
                          .measured = view->measured,
                          .std = std,
                          .chi2 = chi2,
                          .dof = view->dof,
                          .chance = cm_sum_tail(view->count, chi2, view->dof)};
}

static void accuse(cm_view *view, cm_run_test *test, double right)
{
    double sum;
    cm_guesses all = cm_guess_all(view);
    double most = weigh_all(view, &all, &sum);
    test->odds = exp(fmin(700, sum - right));
    test->missed = test->chance < THRESHOLD || test->odds > 1 / THRESHOLD;
    if (test->missed)
        explain(view, &all, most, test);
}

/* The arrays of the result are made before the scratch memory, so that only runs that are accused keep theirs. */
static bool test_run(cm_session *session, const cm_job *job, int k, cm_run_test *test,
                     double complex *expected, unsigned char *told)
{
    int rows = job->runs->rows;
    cm_run_test own = {0};
    double right;
    size_t sizes[] = {sizeof(int), sizeof(cm_complex), sizeof(cm_complex), sizeof(double)};
    void *room[4];
    for (int i = 0; i < 4; i++)
        room[i] = cm_alloc(session, (size_t)rows, sizes[i]);
    cm_mark mark = cm_mark_of(session);
    cm_view view = cm_view_run(session, job, k);
    if (expected)
        cm_tell_rows(session, view.fit, view.stated, expected, told);
    if (view.count > 0) {
        describe(session, &view, &own, &right);
        if (own.chance <= SUSPECT)
            accuse(&view, &own, right);
        const void *from[] = {own.rows, own.expected, own.measured, own.std};
        for (int i = 0; i < 4; i++)
            memcpy(room[i], from[i], (size_t)view.count * sizes[i]);
        own.rows = room[0];
        own.expected = room[1];
        own.measured = room[2];
        own.std = room[3];
        *test = own;
    }
    if (view.count == 0 || !own.missed)
        cm_release_to(session, mark);
    return view.count > 0;
}

cm_status cm_examine(cm_session *session, cm_job *theirs, int so_far)
{
    static const cm_job_call CALL = {"cm_examine", CM_HAS_GIVEN | CM_HAS_RUNS, CM_HAS_EXAMINED};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    int runs = job->runs->runs;
    int first = runs > 1 && (so_far || runs > CM_MOST_REFITTED) ? runs - 1 : 1;
    size_t rows = (size_t)job->runs->rows;
    cm_run_test *tests = CM_NEW(session, runs, cm_run_test);
    cm_run_tests *out = CM_NEW(session, 1, cm_run_tests);
    cm_foretold *foretold = CM_NEW(session, 1, cm_foretold);
    double complex *expected = CM_NEW(session, rows * (size_t)runs, double complex);
    unsigned char *told = CM_NEW(session, rows * (size_t)runs, unsigned char);
    int count = 0;
    for (int k = first; k < runs; k++) {
        if (k > first) /* a single run is no long work */
            cm_ask_stop(session);
        size_t at = rows * (size_t)k;
        count += test_run(session, job, k, &tests[count], expected + at, told + at);
    }
    *foretold = (cm_foretold){sizeof *foretold, expected, told};
    *out = (cm_run_tests){sizeof *out, count, tests, so_far, THRESHOLD, first, foretold, job->runs};
    job->examined = out;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}

/* ---- the finding ---- */

static const double NAMED = 0.02; /* shares below this are not put into the sentence (our own figure) */

static int worst_reading(const cm_run_test *test)
{
    int worst = 0;
    for (int i = 1; i < test->readings; i++)
        if (cabs(test->measured[i] - test->expected[i]) / test->std[i] >
            cabs(test->measured[worst] - test->expected[worst]) / test->std[worst])
            worst = i;
    return worst;
}

static const char *explanations_of(const cm_notes *notes, const cm_run_test *test)
{
    cm_text text = {.session = notes->session};
    for (int i = 0; i < test->explanation_count && i < 4; i++) {
        const cm_explanation *e = &test->explanations[i];
        if (i > 0 && e->likelihood < NAMED)
            break;
        cm_text_print(&text, "%s%s (%s %%)", i ? "; " : "",
                      cm_explanation_words(notes->session, notes->job->given, e),
                      cm_three_digits(notes->session, 100 * e->likelihood));
    }
    return text.bytes ? text.bytes : "nothing that is known here explains it";
}

/* What to look at for the likeliest reason, and for one that is just as likely. */
static const char *look_for(const cm_notes *notes, const cm_run_test *test)
{
    const cm_explanation *e = test->explanations;
    if (test->explanation_count == 0)
        return "repeat the run";
    const char *first = cm_mistake_look(e[0].mistake.kind);
    if (test->explanation_count < 2 || e[1].likelihood < e[0].likelihood * (1 - 1e-6) ||
        e[1].mistake.kind == e[0].mistake.kind)
        return first;
    return cm_format(notes->session, "%s; %s", first, cm_mistake_look(e[1].mistake.kind));
}

/* A long log is not refitted run by run: said, so that silence is not taken for runs that fit. */
void cm_ask_retraced(cm_notes *notes)
{
    const cm_run_tests *tests = notes->job->examined;
    if (tests && !tests->so_far && notes->job->runs->runs > CM_MOST_REFITTED)
        cm_note(
            notes, "runs-not-retraced", CM_NOTE, CM_NOWHERE,
            "There are %d runs. Above %d only the last is held against what the runs before it let expect, "
            "and none is shown with its prediction. Ask about an earlier run in a case that ends with it.",
            notes->job->runs->runs, CM_MOST_REFITTED);
}

void cm_ask_mounted(cm_notes *notes)
{
    const cm_run_tests *tests = notes->job->examined;
    for (int t = 0; tests && t < tests->count; t++) {
        const cm_run_test *test = &tests->items[t];
        if (!test->missed)
            continue;
        int worst = test->rows[worst_reading(test)];
        cm_where where = {test->run, -1, -1, -1};
        if (test->explanation_count)
            where.plane = test->explanations[0].mistake.plane;
        cm_note(notes, "mounted-differently", CM_WARNING, where,
                "Run %s misses what the runs before it let expect: %s standard deviations (root mean square "
                "of %d "
                "readings; chance %s if all is right), most at %s. Likely reasons, with their shares: %s. "
                "Before the "
                "next start: %s.",
                notes->job->given->runs[test->run].id,
                cm_three_digits(notes->session, sqrt(test->chi2 / test->readings)), test->readings,
                test->chance < 1e-6 ? "below 1 in a million" : cm_three_digits(notes->session, test->chance),
                cm_row_name(notes, worst), explanations_of(notes, test), look_for(notes, test));
        notes->items[notes->count - 1].explained = test;
    }
}
