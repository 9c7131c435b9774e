/* SPDX-License-Identifier: MIT */
/* A tree as JSON. Short containers stand on one line: tried first, taken back when the line grows too long. */
#include "tree/scalar_write.h"

typedef struct writer {
    cm_text out;
    size_t line_end; /* on one line: the length that must not be passed */
} writer;

static void write_key(writer *w, const cm_node *node)
{
    if (!node->key)
        return;
    cm_write_quoted(&w->out, node->key);
    cm_text_add(&w->out, ": ");
}

static bool is_container(const cm_node *node)
{
    return node->kind == CM_MAP || node->kind == CM_LIST;
}

static bool write_flat(writer *w, const cm_node *node)
{
    if (!is_container(node)) {
        cm_write_scalar(&w->out, node);
        return w->out.length <= w->line_end;
    }
    cm_text_add(&w->out, node->kind == CM_MAP ? "{" : "[");
    for (const cm_node *child = node->first; child; child = child->next) {
        if (child != node->first)
            cm_text_add(&w->out, ", ");
        write_key(w, child);
        if (!write_flat(w, child))
            return false;
    }
    cm_text_add(&w->out, node->kind == CM_MAP ? "}" : "]");
    return w->out.length <= w->line_end;
}

static void write_value(writer *w, const cm_node *node, int indent, size_t line_start)
{
    size_t before = w->out.length;
    w->line_end = line_start + TREE_LINE;
    if (write_flat(w, node) || !is_container(node))
        return;
    w->out.length = before;
    cm_text_add(&w->out, node->kind == CM_MAP ? "{" : "[");
    for (const cm_node *child = node->first; child; child = child->next) {
        cm_write_line_break(&w->out, indent + 2);
        size_t start = w->out.length - (size_t)(indent + 2);
        write_key(w, child);
        write_value(w, child, indent + 2, start);
        if (child->next)
            cm_text_add(&w->out, ",");
    }
    cm_write_line_break(&w->out, indent);
    cm_text_add(&w->out, node->kind == CM_MAP ? "}" : "]");
}

char *cm_json_write(cm_session *session, const cm_node *tree)
{
    writer w = {.out = {.session = session}};
    write_value(&w, tree, 0, 0);
    cm_text_add(&w.out, "\n");
    return w.out.bytes;
}

char *cm_json_write_inside(cm_session *session, const cm_node *tree, int indent)
{
    writer w = {.out = {.session = session}};
    cm_text_print(&w.out, "%*s", indent, "");
    write_value(&w, tree, indent, 0);
    return w.out.bytes;
}
