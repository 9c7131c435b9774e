/* SPDX-License-Identifier: MIT */
/* How an undetermined case can go on. */
#include "page/drops.h"

#include "base/text.h"
#include "page/phrases.h"

#include <string.h>

static void add_pair(cm_session *session, cm_node *list, const char *sensor, const char *speed)
{
    cm_node *pair = cm_node_add_list(session, list, NULL);
    cm_node_add_text(session, pair, NULL, sensor);
    cm_node_add_text(session, pair, NULL, speed);
}

cm_node *cm_drop_list(cm_session *session, const cm_job *job)
{
    const cm_determination *d = job->determination;
    const cm_case *c = job->given;
    cm_node *list = cm_node_list(session);
    if (!d->anything_left)
        return list;
    for (int k = 0; k < c->goal.drop_count; k++)
        add_pair(session, list, c->sensors[c->goal.drop[k][0]].id, c->speeds[c->goal.drop[k][1]].id);
    for (int i = 0; i < job->problem->rows; i++)
        if (d->dropped[i])
            add_pair(session, list, cm_sensor_of(job, i)->id, cm_speed_of(job, i)->id);
    return list;
}

/* A scalar as the case file spells it, without the newline that ends a document. */
static const char *spelled(cm_session *session, const cm_node *scalar)
{
    const char *text = cm_yaml_write(session, scalar);
    return cm_copy_text(session, text, strcspn(text, "\n"));
}

const char *cm_drop_line(cm_session *session, const cm_job *job)
{
    const cm_node *list = cm_drop_list(session, job);
    if (!list->count)
        return NULL;
    cm_text line = {.session = session};
    for (const cm_node *pair = list->first; pair; pair = pair->next)
        cm_text_print(&line, "%s[%s, %s]", pair == list->first ? "[" : ", ", spelled(session, pair->first),
                      spelled(session, pair->last));
    cm_text_add(&line, "]");
    return line.bytes;
}

const char *cm_spare_line(cm_session *session, const cm_job *job)
{
    const unsigned char *spared = job->determination->spared;
    cm_text line = {.session = session};
    for (int j = 0; spared && j < job->problem->planes; j++) {
        cm_node *id = cm_node_list(session);
        if (spared[j] || job->problem->held[j])
            continue;
        cm_node_add_text(session, id, NULL, job->given->planes[j].id);
        cm_text_print(&line, "%s%s", line.bytes ? ", " : "[", spelled(session, id->first));
    }
    if (line.bytes)
        cm_text_add(&line, "]");
    return line.bytes;
}

static const char *reference_run(cm_session *session, const cm_case *c)
{
    int run = c->goal.base_run >= 0 ? c->goal.base_run : c->run_count - 1;
    return run >= 0 ? cm_format(session, " (%s)", cm_short_name(session, c->runs[run].id)) : "";
}

const char *cm_further_run(cm_session *session, const cm_job *job, int index)
{
    const unsigned char *chosen =
        job->determination->run_planes + (size_t)index * (size_t)job->given->plane_count;
    const char *planes = cm_planes_words(session, job->given, chosen, 1);
    if (*planes)
        return cm_format(session, "a trial mass on %s", planes);
    return cm_format(session, "the reference run%s made once more, with the masses that were on it",
                     reference_run(session, job->given));
}
