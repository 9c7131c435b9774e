/* SPDX-License-Identifier: MIT */
/* Building and looking into trees. */
#include "tree/node.h"

#include <string.h>

static cm_node *new_node(cm_session *session, cm_kind kind)
{
    cm_node *node = CM_NEW(session, 1, cm_node);
    node->kind = kind;
    return node;
}

cm_node *cm_node_map(cm_session *session)
{
    return new_node(session, CM_MAP);
}

cm_node *cm_node_list(cm_session *session)
{
    return new_node(session, CM_LIST);
}

cm_node *cm_node_add(cm_node *parent, const char *key, cm_node *child)
{
    child->key = key;
    child->next = NULL;
    if (parent->last)
        parent->last->next = child;
    else
        parent->first = child;
    parent->last = child;
    parent->count++;
    return child;
}

cm_node *cm_node_add_map(cm_session *session, cm_node *parent, const char *key)
{
    return cm_node_add(parent, key, cm_node_map(session));
}

cm_node *cm_node_add_list(cm_session *session, cm_node *parent, const char *key)
{
    return cm_node_add(parent, key, cm_node_list(session));
}

cm_node *cm_node_add_text(cm_session *session, cm_node *parent, const char *key, const char *text)
{
    cm_node *node = new_node(session, text ? CM_TEXT : CM_NULL);
    node->text = text;
    return cm_node_add(parent, key, node);
}

cm_node *cm_node_add_text_after(cm_session *session, cm_node *map, const char *before, const char *key,
                                const char *text)
{
    cm_node *place = cm_node_get(map, before), *node = new_node(session, CM_TEXT);
    node->text = text;
    if (!place || place == map->last)
        return cm_node_add(map, key, node);
    node->key = key;
    node->next = place->next;
    place->next = node;
    map->count++;
    return node;
}

cm_node *cm_node_add_number(cm_session *session, cm_node *parent, const char *key, double number)
{
    cm_node *node = new_node(session, CM_NUMBER);
    node->number = number;
    return cm_node_add(parent, key, node);
}

cm_node *cm_node_add_boolean(cm_session *session, cm_node *parent, const char *key, bool truth)
{
    cm_node *node = new_node(session, CM_BOOLEAN);
    node->truth = truth;
    return cm_node_add(parent, key, node);
}

cm_node *cm_node_get(const cm_node *map, const char *key)
{
    for (cm_node *child = map->first; child; child = child->next)
        if (child->key && strcmp(child->key, key) == 0)
            return child;
    return NULL;
}
