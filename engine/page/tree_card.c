/* SPDX-License-Identifier: MIT */
/* Card of the next run-up, or of the one going on. */
#include "page/phrases.h"
#include "page/tree_common.h"

#include <math.h>

static const char *const SOURCES[] = {
    [CM_ABORT_SPREAD] = "spread", [CM_ABORT_ALARM] = "alarm", [CM_ABORT_TRIP] = "trip"};
static const char *const GO[] = {[CM_GO_UNTOLD] = "untold", [CM_GO_ON] = "go-on", [CM_GO_STOP] = "stop"};

static void add_reading(cm_session *session, cm_node *map, const char *key, const cm_job *job, int row,
                        double complex reading)
{
    if (isnan(creal(reading)))
        cm_node_add_text(session, map, key, NULL);
    else
        cm_tree_polar(session, map, key, "amplitude", "phase", cm_user_reading(job, row, reading));
}

static void add_row(cm_session *session, cm_node *list, const cm_job *job, const cm_card_row *r)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_tree_row(session, map, job, r->row);
    cm_node_add_text(session, map, "unit", cm_sensor_of(job, r->row)->unit->name);
    add_reading(session, map, "predicted", job, r->row, r->expected);
    add_reading(session, map, "shown", job, r->row, (r->expected + r->run_out) / job->card->turn);
    cm_node_add_number(session, map, "spread90", cm_user_amplitude(job, r->row, r->radius90));
    cm_node_add_number(session, map, "abort", cm_user_amplitude(job, r->row, r->abort));
    cm_node_add_text(session, map, "abort_from", SOURCES[r->source]);
    cm_node_add_boolean(session, map, "at_expected_phase_only", r->by_phase);
    if (r->is_read)
        add_reading(session, map, "measured", job, r->row, r->measured);
    if (r->is_read)
        cm_node_add_text(session, map, "over", r->over == CM_ABORT_SPREAD ? NULL : SOURCES[r->over]);
    if (!isnan(r->if_so))
        cm_node_add_number(session, map, "if_so", cm_user_amplitude(job, r->row, r->if_so));
}

void cm_tree_card(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_card *card = job->card;
    cm_node *list = cm_node_add_list(session, tree, "card");
    for (int i = 0; card && i < card->count; i++)
        add_row(session, list, job, &card->rows[i]);
    if (!card || card->run < 0)
        return;
    cm_node *map = cm_node_add_map(session, tree, "so_far");
    cm_node_add_text(session, map, "run", job->given->runs[card->run].id);
    cm_node_add_text(session, map, "verdict", GO[card->go]);
    cm_node_add_text(session, map, "why_untold",
                     card->go == CM_GO_UNTOLD ? cm_why_untold(session, job) : NULL);
    cm_node_add_number(session, map, "readings", card->test ? card->test->readings : 0);
    cm_node_add_number(session, map, "chance", card->test ? card->test->chance : NAN);
    cm_node_add_number(session, map, "odds", card->test ? card->test->odds : NAN);
}
