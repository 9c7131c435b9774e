/* SPDX-License-Identifier: MIT */
/*
 * A tree as YAML that reads back the same under YAML 1.1. A text stands
 * without quotes only when it begins with a letter, holds nothing but
 * harmless characters and is no word of YAML's own; all else is quoted.
 * Short containers stand on one line, as in JSON.
 */
#include "tree/scalar_write.h"

#include <string.h>
#include <strings.h>

enum { LONGEST_PLAIN_KEY = 1000 }; /* beyond 1024 characters a key needs a '?' before it */

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static bool is_reserved(const char *text)
{
    static const char *const words[] = {"y", "n", "yes", "no", "on", "off", "true", "false", "null"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcasecmp(text, words[i]) == 0)
            return true;
    return false;
}

static bool can_be_plain(const char *text)
{
    static const char harmless[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 _-./%+()@";
    size_t length = strlen(text);
    return is_letter(text[0]) && strspn(text, harmless) == length && text[length - 1] != ' ' &&
           !is_reserved(text);
}

static void write_text(cm_text *out, const char *text)
{
    if (can_be_plain(text))
        cm_text_add(out, text);
    else
        cm_write_quoted(out, text);
}

static bool is_container(const cm_node *node)
{
    return node->kind == CM_MAP || node->kind == CM_LIST;
}

static void write_leaf(cm_text *out, const cm_node *node)
{
    if (node->kind == CM_TEXT)
        write_text(out, node->text);
    else
        cm_write_scalar(out, node);
}

static bool write_flat(cm_text *out, const cm_node *node, size_t line_end)
{
    if (!is_container(node)) {
        write_leaf(out, node);
        return out->length <= line_end;
    }
    cm_text_add(out, node->kind == CM_MAP ? "{" : "[");
    for (const cm_node *child = node->first; child; child = child->next) {
        if (child != node->first)
            cm_text_add(out, ", ");
        if (child->key) {
            write_text(out, child->key);
            cm_text_add(out, ": ");
        }
        if (!write_flat(out, child, line_end))
            return false;
    }
    cm_text_add(out, node->kind == CM_MAP ? "}" : "]");
    return out->length <= line_end;
}

static void write_block_key(cm_text *out, const char *key, int indent)
{
    bool is_long = strlen(key) > LONGEST_PLAIN_KEY / 6; /* an escape makes six characters of one */
    if (is_long)
        cm_text_add(out, "? ");
    write_text(out, key);
    if (is_long)
        cm_write_line_break(out, indent);
    cm_text_add(out, ":");
}

static void write_block(cm_text *out, const cm_node *node, int indent);

/* What follows "key:" or "-": on the same line when it fits, else on lines of its own. */
static void write_after(cm_text *out, const cm_node *node, int indent, bool in_list)
{
    size_t before = out->length;
    cm_text_add(out, " ");
    if (write_flat(out, node, before + TREE_LINE - (size_t)(indent < 60 ? indent : 60)) ||
        !is_container(node))
        return;
    out->length = before;
    if (in_list)
        cm_text_add(out, " ");
    else
        cm_write_line_break(out, indent + 2);
    write_block(out, node, indent + 2);
}

/* Begins where the line stands; every further child takes a line of its own. */
static void write_block(cm_text *out, const cm_node *node, int indent)
{
    for (const cm_node *child = node->first; child; child = child->next) {
        if (child != node->first)
            cm_write_line_break(out, indent);
        if (node->kind == CM_MAP)
            write_block_key(out, child->key, indent);
        else
            cm_text_add(out, "-");
        write_after(out, child, indent, node->kind == CM_LIST);
    }
}

char *cm_yaml_write(cm_session *session, const cm_node *tree)
{
    cm_text out = {.session = session};
    if (is_container(tree) && tree->count > 0)
        write_block(&out, tree, 0);
    else
        write_flat(&out, tree, 0);
    cm_text_add(&out, "\n");
    return out.bytes;
}

char *cm_yaml_write_entry(cm_session *session, const cm_node *tree, int indent)
{
    cm_text out = {.session = session};
    cm_text_print(&out, "%*s-", indent, "");
    write_after(&out, tree, indent, true);
    cm_text_add(&out, "\n");
    return out.bytes;
}
