/* SPDX-License-Identifier: MIT */
/* JSON and YAML: exact texts, and trees that survive the way out and in again. */
#include "suite.h"
#include "tree/node.h"

#include <stdio.h>
#include <string.h>

static cm_session *session;

static void test_json_text(void)
{
    cm_node *tree = cm_node_map(session);
    cm_node_add_text(session, tree, "a\"\\", "\x01\n\t\x7F/\xC2\x85\xE2\x80\xA8\xC3\xBC\xD8\x9C\xD8\xA7");
    cm_node_add_number(session, tree, "n", NAN);
    cm_node_add_number(session, tree, "i", -INFINITY);
    cm_node_add_number(session, tree, "x", 0.1);
    cm_node_add_boolean(session, tree, "b", true);
    cm_node_add_text(session, tree, "t", NULL);
    cm_node_add_map(session, tree, "m");
    cm_node_add_list(session, tree, "l");
    CU_ASSERT_STRING_EQUAL(
        cm_json_write(session, tree),
        "{\n  \"a\\\"\\\\\": \"\\u0001\\n\\t\\u007f/\\u0085\\u2028\xC3\xBC\\u061c\xD8\xA7\",\n  \"n\": "
        "null,\n"
        "  \"i\": null,\n  \"x\": 0.1,\n  \"b\": true,\n  \"t\": null,\n  \"m\": {},\n  \"l\": []\n}\n");
}

static cm_node *long_tree(int children)
{
    cm_node *tree = cm_node_map(session);
    cm_node *list = cm_node_add_list(session, tree, "list");
    for (int i = 0; i < children; i++) {
        cm_node *item = cm_node_add_map(session, list, NULL);
        cm_node_add_number(session, item, "index", i);
        cm_node_add_text(session, item, "name", "a name of some length");
    }
    return tree;
}

static void test_json_lines(void)
{
    const char *text = cm_json_write(session, long_tree(3));
    CU_ASSERT_STRING_EQUAL(text,
                           "{\n  \"list\": [\n    {\"index\": 0, \"name\": \"a name of some length\"},\n"
                           "    {\"index\": 1, \"name\": \"a name of some length\"},\n"
                           "    {\"index\": 2, \"name\": \"a name of some length\"}\n  ]\n}\n");
    CU_ASSERT_STRING_EQUAL(cm_json_write(session, long_tree(1)),
                           "{\"list\": [{\"index\": 0, \"name\": \"a name of some length\"}]}\n");
}

static void test_yaml_lines(void)
{
    CU_ASSERT_STRING_EQUAL(cm_yaml_write(session, long_tree(3)),
                           "list:\n  - {index: 0, name: a name of some length}\n"
                           "  - {index: 1, name: a name of some length}\n"
                           "  - {index: 2, name: a name of some length}\n");
}

/* ---- there and back ---- */

static const char *const TEXTS[] = {
    "",
    " ",
    "true",
    "no",
    "Y",
    "~",
    "null",
    "12",
    "1e3",
    "1:30",
    "0x1F",
    ".inf",
    "-",
    "- a",
    "a: b",
    "a #b",
    "#b",
    "a,b",
    "[a]",
    "{a}",
    "@1",
    "`",
    "%x",
    "!x",
    "&x",
    "*x",
    "|",
    ">",
    "'",
    "\"",
    "\\",
    "trailing ",
    " leading",
    "two\nlines",
    "tab\there",
    "\x01\x1F\x7F",
    "K\xC3\xBChl",
    "\xC2\x85",
    "\xE2\x80\xA8",
    "\xEF\xBB\xBF",
    "\xF0\x9F\x98\x80",
    "P1",
    "um pp",
    "2026-03-14",
    "a:b",
    "<<",
    "=",
    "?",
    "? a",
    "...",
    "---",
    "a\r\nb",
    "82 @ 143",
};
enum { TEXT_COUNT = sizeof TEXTS / sizeof *TEXTS };

static cm_node *tree_of_texts(void)
{
    cm_node *tree = cm_node_map(session);
    cm_node *map = cm_node_add_map(session, tree, "map"), *list = cm_node_add_list(session, tree, "list");
    for (int i = 0; i < TEXT_COUNT; i++) {
        cm_node_add_text(session, map, TEXTS[i], TEXTS[i]);
        cm_node *inner = cm_node_add_list(session, list, NULL);
        cm_node_add_text(session, inner, NULL, TEXTS[i]);
        cm_node_add_text(session, cm_node_add_map(session, inner, NULL), TEXTS[i], TEXTS[i]);
    }
    char *key = CM_NEW(session, 3000, char);
    memset(key, 'k', 2999);
    cm_node_add_text(session, cm_node_add_map(session, cm_node_add_list(session, map, "long"), NULL), key,
                     key);
    return tree;
}

static bool same(const cm_node *a, const cm_node *b)
{
    if (a->kind != b->kind || a->count != b->count || !a->key != !b->key ||
        (a->key && strcmp(a->key, b->key) != 0))
        return false;
    if (a->kind == CM_TEXT && strcmp(a->text, b->text) != 0)
        return false;
    const cm_node *x = a->first, *y = b->first;
    for (; x && y; x = x->next, y = y->next)
        if (!same(x, y))
            return false;
    return !x && !y;
}

static cm_status read_back(const char *text, cm_node **tree)
{
    CM_ENTER(session);
    *tree = cm_yaml_read(session, "back", text, strlen(text));
    return cm_leave(session);
}

static void check_back(const cm_node *tree, const char *text)
{
    cm_node *again = NULL;
    CU_ASSERT_EQUAL(read_back(text, &again), CM_OK);
    if (!again && cm_message_count(session))
        printf("\n%d:%d: %s\n", cm_message_at(session, 0)->line, cm_message_at(session, 0)->column,
               cm_message_at(session, 0)->text);
    CU_ASSERT_TRUE(again && same(tree, again));
}

static void test_yaml_back(void)
{
    cm_node *tree = tree_of_texts();
    check_back(tree, cm_yaml_write(session, tree));
}

/* JSON is YAML as far as this reader goes, but for keys beyond 1024 characters. */
static void test_json_back(void)
{
    cm_node *tree = tree_of_texts();
    cm_node *last = cm_node_get(tree, "map")->last;
    last->first->first->key = "short";
    check_back(tree, cm_json_write(session, tree));
}

int main(void)
{
    static const cm_test tests[] = {
        {"JSON escapes", test_json_text},    {"JSON lines", test_json_lines},
        {"YAML lines", test_yaml_lines},     {"YAML reads back", test_yaml_back},
        {"JSON reads back", test_json_back}, {NULL, NULL},
    };
    session = cm_open(NULL);
    int status = run_suite("tree/write", tests);
    cm_close(session);
    return status;
}
