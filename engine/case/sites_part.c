/* SPDX-License-Identifier: MIT */
/* What a plane has for the fitter: positions, grooves, drilling, pieces, installed pieces. */
#include "case/arrays.h"
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"

#include <limits.h>
#include <math.h>

enum { MOST_WHOLE = 1000000, MOST_SITES = 10000 };

/* ---- whole numbers ---- */

static bool whole_of(cm_reader *reader, const cm_key *key, const cm_node *node, int *out)
{
    double value;
    if (!cm_number_of(reader, key->name, CM_MEASURE_PLAIN, key->range, node, &value))
        return false;
    if (fabs(value) > MOST_WHOLE || fabs(value - floor(value)) > 0) {
        cm_wrong(reader, &node->place, "%s must be a whole number of at most %d", key->name, MOST_WHOLE);
        return false;
    }
    *out = (int)value;
    return true;
}

void cm_read_whole(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    int value;
    if (whole_of(reader, key, node, &value))
        *(int *)cm_slot(key, record) = value;
}

void cm_read_mass_site(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_mass_entry *entry = record;
    entry->site_node = node;
    entry->sited = whole_of(reader, key, node, &entry->site);
}

/* ---- pieces ---- */

void *cm_begin_piece(cm_reader *reader, void *parent, const cm_node *node)
{
    (void)node;
    cm_plane *plane = parent;
    plane->pieces = cm_grow(reader->session, plane->pieces, plane->piece_count, &plane->piece_room,
                            sizeof *plane->pieces);
    cm_piece *piece = &plane->pieces[plane->piece_count++];
    *piece = (cm_piece){.mass = NAN, .stock = INT_MAX};
    return piece;
}

void *cm_begin_installed(cm_reader *reader, void *parent, const cm_node *node)
{
    cm_plane *plane = parent;
    plane->installed = cm_grow(reader->session, plane->installed, plane->installed_count,
                               &plane->installed_room, sizeof *plane->installed);
    cm_installed *piece = &plane->installed[plane->installed_count++];
    *piece = (cm_installed){.mass = NAN, .place = node->place};
    return piece;
}

/* The positions are read before, by the order of the table. */
void cm_end_installed(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    const cm_plane *plane = parent;
    const cm_installed *piece = record;
    const cm_node *site = cm_node_get(node, "site");
    if (site && cm_site_index(&plane->sites, piece->number) < 0)
        cm_wrong(reader, &site->place, "'%s' has no position %d%s", plane->id ? plane->id : "", piece->number,
                 plane->sites.count ? ""
                 : isnan(plane->groove.piece_length)
                     ? "; give it 'sites'"
                     : "; what sits in a groove goes under now.masses, by angle");
}

/* ---- positions ---- */

cm_sites cm_no_sites(void)
{
    return (cm_sites){.first_number = 1, .per_site = 1, .most = INT_MAX, .radius = NAN};
}

void cm_read_sites(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_plane *plane = record;
    plane->sites.place = node->place;
    cm_read_map(reader, key, node, record);
    const cm_node *count = cm_node_get(node, "count"), *angles = cm_node_get(node, "angles");
    if (node->kind == CM_MAP && (count != NULL) == (angles != NULL))
        cm_wrong(reader, count ? &angles->key_place : &node->place,
                 "sites need 'count' or 'angles', not %s; write, for example, sites: {count: 24}",
                 count ? "both" : "neither");
    if (count && angles) /* the one may be more than the other */
        plane->sites.count = 0;
    if (plane->sites.count > MOST_SITES) {
        cm_wrong(reader, &node->place, "a plane has at most %d positions", MOST_SITES);
        plane->sites.count = 0;
    }
    for (int i = 0; i < plane->sites.blocked_count; i++)
        if (cm_site_index(&plane->sites, plane->sites.blocked[i]) < 0)
            cm_wrong(reader, &cm_node_get(node, "blocked")->place, "there is no position %d to be blocked",
                     plane->sites.blocked[i]);
}

void cm_read_site_angles(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_sites *sites = &((cm_plane *)record)->sites;
    if (!cm_need_list(reader, node, key->name))
        return;
    double *angles = CM_NEW(reader->session, node->count + 1, double);
    int count = 0; /* sites->count may hold what the key `count` said */
    for (const cm_node *item = node->first; item; item = item->next)
        count += cm_number_of(reader, key->name, CM_MEASURE_DEGREES, CM_ANY_VALUE, item, &angles[count]);
    sites->angles = angles;
    sites->count = count;
}

void cm_read_blocked_sites(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_sites *sites = &((cm_plane *)record)->sites;
    if (!cm_need_list(reader, node, key->name))
        return;
    sites->blocked = CM_NEW(reader->session, node->count + 1, int);
    sites->blocked_count = 0;
    for (const cm_node *item = node->first; item; item = item->next)
        sites->blocked_count += whole_of(reader, key, item, &sites->blocked[sites->blocked_count]);
}

static bool read_arc(cm_reader *reader, const cm_key *key, const cm_node *node, double arc[2])
{
    if (!cm_need_list(reader, node, key->name))
        return false;
    if (node->count != 2) {
        cm_wrong(reader, &node->place, "each entry of blocked is a pair [from, to] of angles");
        return false;
    }
    return cm_number_of(reader, key->name, CM_MEASURE_DEGREES, CM_ANY_VALUE, node->first, &arc[0]) &&
           cm_number_of(reader, key->name, CM_MEASURE_DEGREES, CM_ANY_VALUE, node->first->next, &arc[1]);
}

void cm_read_blocked_arcs(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_groove *groove = &((cm_plane *)record)->groove;
    if (!cm_need_list(reader, node, key->name))
        return;
    groove->blocked = cm_alloc(reader->session, (size_t)node->count + 1, sizeof *groove->blocked);
    for (const cm_node *item = node->first; item; item = item->next)
        groove->blocked_count += read_arc(reader, key, item, groove->blocked[groove->blocked_count]);
}

int cm_site_index(const cm_sites *sites, int number)
{
    int index = number - sites->first_number;
    return index >= 0 && index < sites->count ? index : -1;
}

/* ---- what must go together ---- */

void cm_check_sites(cm_reader *reader, const cm_plane *plane)
{
    const char *id = plane->id ? plane->id : "";
    bool sites = plane->sites.count > 0, groove = !isnan(plane->groove.piece_length);
    if (sites && groove)
        cm_wrong(reader, &plane->sites.place, "'%s' has both 'sites' and a 'groove'; keep one", id);
    if (!isnan(plane->drill.diameter) && !sites)
        cm_wrong(reader, &plane->place, "'%s' can be drilled, but has no 'sites' that say where", id);
    if (!isnan(plane->drill.point) && plane->drill.point > 180)
        cm_wrong(reader, &plane->place, "the point angle of a drill is at most 180 degrees");
    bool inside = !isnan(plane->sites.radius) || !isnan(plane->groove.radius);
    if (inside && isnan(plane->radius))
        cm_wrong(
            reader, &plane->place,
            "the positions of '%s' have a radius of their own, but the plane has none to reduce masses to",
            id);
    for (int k = 0; k < plane->piece_count; k++)
        if (plane->pieces[k].replaces > 0 && groove)
            cm_wrong(reader, &plane->place, "'%s': pieces in a groove replace nothing", id);
}
