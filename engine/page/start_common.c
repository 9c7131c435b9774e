/* SPDX-License-Identifier: MIT */
/* Sources, names and zones for the pages of `tolerance` and `trial`. */
#include "page/start_common.h"

#include "model/units.h"
#include "standards/bearings.h"
#include "standards/sources.h"
#include "standards/zones.h"

#include <math.h>

const char *cm_verdict_name(cm_verdict verdict)
{
    static const char *const names[] = {[CM_NOT_JUDGED] = "not-judged",
                                        [CM_KEPT] = "kept",
                                        [CM_UNDECIDED] = "undecided",
                                        [CM_EXCEEDED] = "exceeded"};
    return names[verdict];
}

const char *cm_behaviour_name(cm_behaviour behaviour)
{
    static const char *const names[] = {[CM_BEHAVIOUR_UNKNOWN] = "unknown",
                                        [CM_BEHAVIOUR_RIGID] = "rigid",
                                        [CM_BEHAVIOUR_FLEXIBLE] = "flexible"};
    return names[behaviour];
}

const char *cm_bound_name(cm_bound_kind kind)
{
    static const char *const names[] = {[CM_BOUND_ALARM] = "reading",
                                        [CM_BOUND_LOAD] = "static-load",
                                        [CM_BOUND_PERMISSIBLE] = "permissible-unbalance",
                                        [CM_BOUND_CAP] = "cap",
                                        [CM_BOUND_CAP_FORCE] = "cap-force",
                                        [CM_BOUND_CHANGE] = "change-cap"};
    return names[kind];
}

const char *cm_ceiling_name(cm_ceiling_source source)
{
    static const char *const names[] = {
        [CM_CEILING_ALARM] = "alarm", [CM_CEILING_TRIP] = "trip", [CM_CEILING_ASSUMED] = "assumed"};
    return names[source];
}

bool cm_zone_figures(const cm_case *c, double figure[3])
{
    double omega = isnan(c->service_speed) ? cm_running_speed(c) : c->service_speed;
    if (!c->zone || !cm_zone_boundaries(c->zone, omega, figure))
        return false;
    for (int k = 0; k < 3; k++)
        figure[k] /= cm_unit_find(c->zone->unit)->factor;
    return true;
}

const char *const *cm_tolerance_sources(const cm_job *job)
{
    static const char *const plain[] = {
        "grades",        "lever-rule",      "inboard-limits", "correction-planes",
        "flexible-test", "flexible-shares", "mass-speed",     "mass-speed-high",
        "margins",       "balance-errors",  "key-convention", NULL};
    static const char *const outboard[] = {
        "grades",        "lever-rule",      "outboard-limits", "correction-planes",
        "flexible-test", "flexible-shares", "mass-speed",      "mass-speed-high",
        "margins",       "balance-errors",  "key-convention",  NULL};
    static const char *const loads[] = {"grades",          "load-shares",    "flexible-test",
                                        "flexible-shares", "mass-speed",     "mass-speed-high",
                                        "margins",         "key-convention", NULL};
    static const char *const whole[] = {"grades",  "flexible-test",  "flexible-shares",
                                        "margins", "key-convention", NULL};
    const cm_tolerance *t = job->tolerance;
    if (t->bearings == 2)
        return t->outboard ? outboard : plain;
    return t->bearings && isfinite(t->share[0]) ? loads : whole;
}

const char *const *cm_trial_sources(void)
{
    static const char *const keys[] = {"trial-load",   "trial-permissible", "trial-visible",
                                       "trial-change", "trial-ceiling",     NULL};
    return keys;
}

void cm_tree_sources(cm_session *session, cm_node *parent, const char *const *keys)
{
    cm_node *list = cm_node_add_list(session, parent, "sources");
    for (; *keys; keys++) {
        const cm_source *source = cm_source_of(*keys);
        cm_node *map = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, map, "key", source->key);
        cm_node_add_text(session, map, "standard", source->standard);
        cm_node_add_text(session, map, "clause", source->clause);
        cm_node_add_text(session, map, "says", source->says);
        cm_node_add_text(session, map, "mark", source->mark);
    }
    cm_node_add_text(session, parent, "advice", CM_SOURCE_ADVICE);
}

void cm_words_sources(cm_document *d, const char *const *keys)
{
    cm_section(d, "WHERE THESE FIGURES COME FROM");
    for (; *keys; keys++) {
        const cm_source *source = cm_source_of(*keys);
        cm_item(d, CM_PLAIN, "%s%s%s: %s. [%s]", source->standard, source->clause ? ", " : "",
                source->clause ? source->clause : "", source->says, source->mark);
    }
    cm_say(d, CM_CAREFUL, "%s", CM_SOURCE_ADVICE);
}
