/* SPDX-License-Identifier: MIT */
/* Question: can the readings tell the planes apart?
 *
 *   index = kappa · delta
 *   kappa   condition number of the weighted matrix, columns scaled to unit norm
 *   delta   relative standard deviation of the coefficients,
 *           sqrt(sum W² std² / sum W² |A|²) over counted rows and planes in use
 *
 * First-order perturbation theory bounds the relative error of the solution
 * by kappa times the relative error of the matrix (Golub & Van Loan, Matrix
 * Computations, section 5.3; value from memory). An index of 1 lets single
 * masses be wrong by their own size in the worst direction; the steps 2 and 4
 * are common practice, no source.
 */
#include "evidence/notes.h"
#include "linalg/dense.h"

#include <math.h>

#undef I

/* What is taken when nothing tells the spread of the coefficients (common practice, no source). */
static const double ASSUMED_SPREAD = 0.07;

typedef struct cm_step {
    double index;
    cm_severity severity;
    const char *words;
} cm_step;

static const cm_step STEPS[] = {
    {4, CM_WARNING, "single masses not meaningful"},
    {2, CM_WARNING, "single masses are doubtful"},
    {1, CM_NOTE, "single masses are less certain than the prediction"},
};

/* delta; NAN when the spread of a coefficient in use is not known, or when all are said to be exact. */
static double relative_spread(const cm_problem *problem, const cm_influence *influence)
{
    double spread = 0, size = 0;
    for (int j = 0; j < problem->planes; j++)
        for (int i = 0; i < problem->rows; i++) {
            int at = i + j * problem->rows;
            double w2 = problem->weight[i] * problem->weight[i];
            if (problem->held[j] || w2 == 0)
                continue;
            if (!influence->std_known[at])
                return NAN;
            spread += w2 * influence->std[at] * influence->std[at];
            size += w2 * cm_abs2(problem->a[at]);
        }
    return spread > 0 && size > 0 ? sqrt(spread / size) : NAN;
}

/* The planes that the weakest combination consists of. */
static const unsigned char *weakest_planes(cm_notes *notes, const cm_condition *condition, int planes)
{
    unsigned char *marked = CM_NEW(notes->session, planes, unsigned char);
    double most = 0;
    for (int j = 0; j < planes; j++)
        most = fmax(most, cabs(condition->weakest[j]));
    for (int j = 0; j < planes; j++)
        marked[j] = cabs(condition->weakest[j]) > 0.3 * most;
    return marked;
}

static const char *what_to_do(cm_notes *notes, const cm_condition *condition, int planes)
{
    const unsigned char *weakest = weakest_planes(notes, condition, planes);
    const char *names = cm_plane_names(notes, weakest);
    int count = 0;
    for (int j = 0; j < planes; j++)
        count += weakest[j] != 0;
    if (count > 1)
        return cm_format(notes->session,
                         "the split between %s is not. Tie them, drop one, or bring a speed that tells them "
                         "apart",
                         names);
    return cm_format(notes->session,
                     "the mass on %s is not. Repeat the runs, try a larger mass there, or bring a speed or a "
                     "sensor that sees it better",
                     names);
}

void cm_ask_conditioning(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!job->condition || !job->problem || !job->influence || !isfinite(job->condition->overall))
        return;
    double spread = relative_spread(job->problem, job->influence);
    const char *origin = isnan(spread) ? " (assumed, nothing tells it)" : "";
    if (isnan(spread))
        spread = ASSUMED_SPREAD;
    double index = job->condition->overall * spread;
    for (size_t i = 0; i < sizeof STEPS / sizeof *STEPS; i++) {
        if (index < STEPS[i].index)
            continue;
        cm_note(notes, "ill-conditioned", STEPS[i].severity, CM_NOWHERE,
                "Condition number %s times a relative spread of the coefficients of %s %%%s is %s: %s. The "
                "prediction is sound, %s.",
                cm_three_digits(notes->session, job->condition->overall),
                cm_three_digits(notes->session, 100 * spread), origin, cm_three_digits(notes->session, index),
                STEPS[i].words, what_to_do(notes, job->condition, job->problem->planes));
        return;
    }
}

/* With fewer counted rows than planes at a speed, or with coefficients that the runs do not tell, an infinite
 * condition number is no sign of a resonance. */
static bool has_own_condition(const cm_job *job, int block)
{
    const cm_problem *problem = job->problem;
    int rows = 0, columns = 0;
    for (int i = 0; i < problem->rows; i++) {
        bool counts = problem->block[i] == block && problem->weight[i] > 0;
        if (counts && job->determination && !job->determination->determined[i])
            return false;
        rows += counts;
    }
    for (int j = 0; j < problem->planes; j++)
        columns += !problem->held[j];
    return rows >= columns;
}

static double least_of_others(const cm_condition *condition, int block)
{
    double least = INFINITY;
    for (int k = 0; k < condition->blocks; k++)
        if (k != block)
            least = fmin(least, condition->by_block[k]);
    return least;
}

/* Near a resonance one mode drowns the others, and the planes look alike. */
void cm_ask_resonance(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!job->condition || !job->problem)
        return;
    for (int k = 0; k < job->condition->blocks; k++) {
        double own = job->condition->by_block[k];
        double least = least_of_others(job->condition, k);
        if (!has_own_condition(job, k) || !(own > 10 * least))
            continue;
        cm_where where = CM_NOWHERE;
        where.speed = k;
        cm_note(
            notes, "near-resonance", CM_WARNING, where,
            "At %s the planes are told apart far worse than at other speeds (condition number %s, best other "
            "speed %s; more than 10 times is common practice, no source): one mode drowns the others there, "
            "as "
            "near a resonance. Give this speed less weight or measure farther from the resonance.",
            job->given->speeds[k].id, isfinite(own) ? cm_three_digits(notes->session, own) : "infinite",
            cm_three_digits(notes->session, least));
    }
}

static bool anything_counts(const cm_problem *problem)
{
    for (int i = 0; i < problem->rows; i++)
        if (problem->weight[i] > 0)
            return true;
    return false;
}

void cm_ask_dependence(cm_notes *notes)
{
    const cm_answer *answer = notes->job->answer;
    if (!answer || !answer->dependent || answer->rank == answer->unknowns)
        return;
    if (!anything_counts(notes->job->problem)) {
        cm_note(notes, "dependent-planes", CM_WARNING, CM_NOWHERE,
                "No reading counts: every weight is 0, so nothing tells which masses are better.");
        return;
    }
    cm_note(notes, "dependent-planes", CM_WARNING, CM_NOWHERE,
            "The readings cannot tell %s apart: other masses there give exactly the same vibration. The "
            "answer is "
            "the smallest change among equals for least squares, one of several otherwise. Drop a plane, tie "
            "them, or add readings.",
            cm_plane_names(notes, answer->dependent));
}
