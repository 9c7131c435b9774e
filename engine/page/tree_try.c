/* SPDX-License-Identifier: MIT */
/*
 * What the page's script computes with, in the user's units and conventions.
 *
 * A mass on a plane is m exp(i angle) with the plane's own angle, a reading a exp(i phase), a coefficient the change of
 * the reading by one mass unit at the plane's own angle 0. With `sense` 1 angles and phases count the same way and
 *     reading = y + sum over planes of coefficient × (total mass - base mass);
 * with -1 they count against each other and the conjugate of the mass difference stands there.
 * Readings are those that are judged: `offset` is the slow roll that stands in them, `rest` what an overall level holds
 * beside them, `limit` the limit as given, `bound` what it leaves for the once-per-turn reading.
 * A spread block S (lines: the reading, then the planes) gives the standard deviation |Sᵀ (1, total - base)|.
 */
#include "page/report.h"

#include "model/judged.h"
#include "page/dial.h"
#include "page/mount.h"
#include "page/orbits.h"
#include "page/tree_common.h"

#include <math.h>

static const double DEGREES = 57.295779513082320877; /* 180/pi */

static void add_complex(cm_session *session, cm_node *parent, const char *key, double complex value)
{
    cm_node *list = cm_node_add_list(session, parent, key);
    cm_node_add_number(session, list, NULL, creal(value));
    cm_node_add_number(session, list, NULL, cimag(value));
}

static double complex from_polar(cm_size_angle p)
{
    return p.size * cos(p.angle / DEGREES) + p.size * sin(p.angle / DEGREES) * _Complex_I;
}

static double complex user_mass(const cm_job *job, int plane, double complex mass)
{
    return from_polar(cm_user_mass(job, plane, mass));
}

static double complex conjugate_if(bool conjugate, double complex value)
{
    return conjugate ? conj(value) : value;
}

static void add_discs(cm_session *session, cm_node *map, const cm_job *job, int plane)
{
    const cm_problem *p = job->problem;
    cm_node *list = cm_node_add_list(session, map, "discs");
    for (int k = 0; k < p->disc_count; k++) {
        if (p->discs[k].plane != plane)
            continue;
        cm_node *disc = cm_node_add_map(session, list, NULL);
        add_complex(session, disc, "centre", user_mass(job, plane, p->discs[k].centre));
        cm_node_add_number(session, disc, "radius", cm_user_kilograms(job, p->discs[k].radius));
    }
}

static void add_plane(cm_session *session, cm_node *list, const cm_job *job, int plane)
{
    const cm_problem *p = job->problem;
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node_add_text(session, map, "id", job->given->planes[plane].id);
    cm_node_add_number(session, map, "zero", cm_zero_on_paper(job->given, plane));
    cm_node_add_boolean(session, map, "held", p->held[plane]);
    add_complex(session, map, "now", user_mass(job, plane, p->now[plane]));
    add_complex(session, map, "base", user_mass(job, plane, p->base[plane]));
    add_complex(session, map, "best", user_mass(job, plane, job->answer->x[plane]));
    add_discs(session, map, job, plane);
}

/* The block of a row or of a part of a pair, for masses as the user counts them. */
static void add_spread(cm_session *session, cm_node *map, const cm_job *job, const cm_complex *block,
                       double unit)
{
    int lines = job->problem->planes + 1;
    bool against = job->given->against_rotation;
    cm_node *list = cm_node_add_list(session, map, "spread");
    for (int l = 0; l < lines; l++) {
        double complex frame = l ? cm_mass_from_user(job->given, l - 1, job->given->mass_unit->factor, 0) : 1;
        cm_node *line = cm_node_add_list(session, list, NULL);
        for (int k = 0; k < lines; k++)
            add_complex(session, line, NULL, conjugate_if(against, block[l + k * lines] * frame) / unit);
    }
}

static bool needs_spread(const cm_problem *p)
{
    return p->spread && (p->objective == CM_EXPECTED || p->objective == CM_CONFIDENCE);
}

static void add_row(cm_session *session, cm_node *list, const cm_job *job, int row)
{
    const cm_problem *p = job->problem;
    double unit = cm_sensor_of(job, row)->unit->factor;
    size_t block = (size_t)(p->planes + 1) * (size_t)(p->planes + 1);
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_tree_row(session, map, job, row);
    cm_node_add_text(session, map, "unit", cm_unit_words(cm_sensor_of(job, row)->unit));
    cm_node_add_number(session, map, "limit", cm_user_limit(job, row));
    cm_node_add_number(session, map, "weight", p->weight[row] * unit);
    cm_node_add_boolean(session, map, "told", cm_is_predicted(job, row));
    cm_node_add_number(session, map, "bound", p->limit[row] / unit);
    cm_node_add_number(session, map, "rest", cm_judges_overall(p, row) ? p->rest[row] / unit : 0);
    add_complex(session, map, "y", from_polar(cm_user_reading(job, row, p->y[row])));
    add_complex(session, map, "offset",
                from_polar(cm_user_reading(job, row, p->offset ? p->offset[row] : 0)));
    cm_node *a = cm_node_add_list(session, map, "a");
    for (int j = 0; j < p->planes; j++)
        add_complex(session, a, NULL, from_polar(cm_user_coefficient(job, row, j)));
    if (needs_spread(p) && p->weight[row] > 0)
        add_spread(session, map, job, p->spread + (size_t)row * block, unit);
}

static int parts_of(const cm_pair *pair)
{
    return pair->parts > 0 ? pair->parts : pair->backward < 0 ? 1 : 2;
}

/* Every part as factors of the pair's two rows. */
static void add_pair(cm_session *session, cm_node *list, const cm_job *job, int number)
{
    const cm_pair *pair = &job->problem->pairs[number];
    double unit = cm_sensor_of(job, pair->forward)->unit->factor;
    size_t block = (size_t)(job->problem->planes + 1) * (size_t)(job->problem->planes + 1);
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node_add_number(session, map, "forward", pair->forward);
    cm_node_add_number(session, map, "backward", pair->backward);
    cm_node_add_number(session, map, "weight", pair->weight * unit);
    cm_node_add_text(session, map, "name", cm_orbit_name(session, job, number));
    cm_node_add_number(session, map, "limit", pair->limit / unit);
    cm_node *parts = cm_node_add_list(session, map, "parts");
    for (int k = 0; k < parts_of(pair); k++) {
        cm_node *part = cm_node_add_map(session, parts, NULL);
        double complex first = pair->parts ? pair->mix[2 * k] : k == 0,
                       second = pair->parts ? pair->mix[2 * k + 1] : k == 1;
        add_complex(session, part, "first", conjugate_if(job->given->phase_lag, first));
        add_complex(session, part, "second", conjugate_if(job->given->phase_lag, second));
        if (needs_spread(job->problem) && pair->spread)
            add_spread(session, part, job, pair->spread + (size_t)k * block, unit);
    }
}

cm_node *cm_tree_try(cm_session *session, const cm_job *job)
{
    const cm_problem *p = job->problem;
    const cm_case *c = job->given;
    cm_node *tree = cm_node_map(session);
    cm_node_add_text(session, tree, "minimise", cm_objective_name(p->objective));
    cm_node_add_number(session, tree, "best",
                       cm_user_objective(job, p->then && !isnan(job->answer->then_best)
                                                  ? job->answer->then_best
                                                  : job->answer->value));
    cm_node_add_number(session, tree, "influence_error", p->influence_error);
    cm_node_add_text(session, tree, "mass_unit", c->mass_unit->name);
    cm_node_add_number(session, tree, "decimals", cm_mass_decimals(job));
    cm_node_add_number(session, tree, "sense", c->phase_lag == c->against_rotation ? 1 : -1);
    cm_node_add_number(session, tree, "growth", cm_growth_of_angles(c));
    cm_node_add_number(session, tree, "turn", cm_turn_on_paper(c));
    cm_node_add_boolean(session, tree, "tied", p->tie_count > 0);
    cm_node *planes = cm_node_add_list(session, tree, "planes");
    for (int j = 0; j < p->planes; j++)
        add_plane(session, planes, job, j);
    cm_node *rows = cm_node_add_list(session, tree, "rows");
    for (int i = 0; i < p->rows; i++)
        add_row(session, rows, job, i);
    cm_node *pairs = cm_node_add_list(session, tree, "pairs");
    for (int k = 0; k < p->pair_count; k++)
        add_pair(session, pairs, job, k);
    return tree;
}

void cm_report_try(cm_document *d, const cm_job *job)
{
    if (!cm_has_masses(job))
        return;
    cm_section(d, "TRY OTHER MASSES");
    cm_open_group(d, "try");
    cm_say(d, CM_PLAIN,
           "On a screen, masses can be tried out here: drag a mass, type it, or move it with the arrow keys, "
           "and see what every "
           "reading is predicted to do. This part needs a browser that runs scripts; everything else on this "
           "page does not.");
    cm_data(d, "try-data", cm_tree_try(d->session, job));
    cm_close_group(d);
}
