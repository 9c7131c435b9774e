/* SPDX-License-Identifier: MIT */
/* Units of the numbers that a case expects: asked where they are read and where they are compared. */
#include "model/expected.h"

#include <string.h>

static bool is_one_of(const char *key, const char *const *names)
{
    while (*names && strcmp(key, *names) != 0)
        names++;
    return *names != NULL;
}

bool cm_expected_angle(const char *key)
{
    static const char *const names[] = {"angle", "phase", NULL};
    return is_one_of(key, names);
}

const cm_unit *cm_expected_unit(const cm_case *c, const char *key, const char *sensor)
{
    static const char *const masses[] = {"mass", "upper", "lower", NULL};
    if (is_one_of(key, masses))
        return c->mass_unit;
    for (int i = 0; sensor && !cm_expected_angle(key) && i < c->sensor_count; i++)
        if (strcmp(c->sensors[i].id, sensor) == 0)
            return c->sensors[i].unit;
    return NULL;
}
