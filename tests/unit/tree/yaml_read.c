/* SPDX-License-Identifier: MIT */
/* Reading YAML: what is accepted, what is refused, where and in which words. */
#include "suite.h"
#include "tree/node.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static cm_status read_bytes(cm_session *session, const char *bytes, size_t length, cm_node **tree)
{
    CM_ENTER(session);
    *tree = cm_yaml_read(session, "a.yaml", bytes, length);
    return cm_leave(session);
}

static cm_status read_text(cm_session *session, const char *text, cm_node **tree)
{
    return read_bytes(session, text, strlen(text), tree);
}

static const char *text_at(const cm_node *map, const char *key)
{
    const cm_node *node = cm_node_get(map, key);
    return node && node->text ? node->text : "(none)";
}

static void test_small_case(void)
{
    cm_session *session = cm_open(NULL);
    cm_node *tree = NULL;
    const char *text = "\xEF\xBB\xBF"
                       "case: {title: \"K\xC3\xBChl\", no: NO}\nruns:\n- id: 'null'\n  at: [82 @ 143, 1e3]\n";
    CU_ASSERT_EQUAL_FATAL(read_text(session, text, &tree), CM_OK);
    CU_ASSERT_EQUAL(tree->count, 2);
    const cm_node *header = cm_node_get(tree, "case");
    CU_ASSERT_STRING_EQUAL(text_at(header, "title"), "K\xC3\xBChl");
    CU_ASSERT_TRUE(cm_node_get(header, "title")->quoted);
    CU_ASSERT_STRING_EQUAL(text_at(header, "no"), "NO");
    CU_ASSERT_EQUAL(cm_node_get(header, "no")->key_place.column, 23);
    const cm_node *run = cm_node_get(tree, "runs")->first;
    CU_ASSERT_STRING_EQUAL(text_at(run, "id"), "null");
    CU_ASSERT_EQUAL(run->place.line, 3);
    CU_ASSERT_EQUAL(run->place.column, 3);
    CU_ASSERT_EQUAL(cm_node_get(run, "at")->count, 2);
    CU_ASSERT_STRING_EQUAL(cm_node_get(run, "at")->last->text, "1e3");
    CU_ASSERT_PTR_NULL(cm_node_get(run, "at")->last->next);
    cm_close(session);
}

typedef struct refusal {
    const char *text;
    int line, column;
    const char *words; /* a part of the message */
} refusal;

static const refusal REFUSALS[] = {
    {"", 1, 1, "empty"},
    {"# only a comment\n", 1, 1, "empty"},
    {"---\n", 1, 1, "empty"},
    {"a: 1\n---\nb: 2\n", 2, 1, "second document"},
    {"a: !!str 1\n", 1, 4, "tags"},
    {"a: !mine {b: 1}\n", 1, 4, "tags"},
    {"a: &x {b: 1}\nc:\n  <<: *x\n", 3, 3, "merge keys"},
    {"[1, 2]: 3\n", 1, 1, "key must be a text"},
    {"a: &x 1\n*x : 2\n", 2, 1, "not an alias"},
    {"a: 1\nb: 2\na: 3\n", 3, 1, "'a' is repeated; it stands already in line 1"},
    {"a:\nb: 2\n", 1, 3, "a has no value"},
    {"a: {b: ~}\n", 1, 8, "b has no value"},
    {"a: null\n", 1, 4, "a has no value"},
    {"a: [1, null]\n", 1, 8, "list item has no value"},
    {"a:\n  - \n  - 2\n", 2, 4, "list item has no value"},
    {"a: {P1:1}\n", 1, 5, "blank after the colon: P1: 1"},
    {"a: {P\xC3\x9C: 1, DE-x:82 @ 143}\n", 1, 12, "blank after the colon: DE-x: 82 @ 143"},
    {"- id: @1\n", 1, 7, "in quotes"},
    {"- id: `x\n", 1, 7, "in quotes"},
    {"a:\n\tb: 1\n", 2, 1, "tab"},
    {"a: [1, 2\n", 2, 1, "closing ']'"},
    {"a: {b: 1\n", 2, 1, "closing '}'"},
    {"a: 'x\n", 1, 4, "never closed"},
    {"a: \"\\q\"\n", 1, 5, "escape"},
    {"a: b: c\n", 1, 5, "': ' is not expected"},
    {"a: 1\n b: 2\n", 2, 3, "': ' is not expected"},
    {"a: 1\nbcd\ne: 2\n", 2, 1, "no ': ' after it"},
    {"a: *x\n", 1, 4, "nothing is named &x"},
    {"a: &x [*x]\n", 1, 8, "inside what it names"},
    {": 1\n", 1, 1, "key is expected"},
    {"a: {: 1}\n", 1, 5, "key or a value is missing"},
    {"?\n: 1\n", 1, 2, "key is missing"},
    {"a: \"\\0\"\n", 1, 4, "code 0"},
    {"\xFF\xFE" "a", 1, 1, "UTF-16"},
    {"a: 1\nb: \xC3\xBC\xE4 x\n", 2, 5, "not UTF-8"},
    {"a: 1\nb: \x01\n", 2, 4, "control character (code 1)"},
};

static void test_refusals(void)
{
    for (size_t i = 0; i < sizeof REFUSALS / sizeof *REFUSALS; i++) {
        const refusal *want = &REFUSALS[i];
        cm_session *session = cm_open(NULL);
        cm_node *tree = NULL;
        CU_ASSERT_EQUAL(read_text(session, want->text, &tree), CM_BAD_INPUT);
        const cm_message *got = cm_message_at(session, 0);
        bool right = got && got->line == want->line && got->column == want->column &&
                     strstr(got->text, want->words) && strcmp(got->file, "a.yaml") == 0;
        if (!right)
            printf("\n%s-> %d:%d: %s\n", want->text, got ? got->line : -1, got ? got->column : -1,
                   got ? got->text : "no message");
        CU_ASSERT_TRUE(right);
        CU_ASSERT_EQUAL(cm_message_count(session), 1);
        cm_close(session);
    }
}

int main(void)
{
    static const cm_test tests[] = {
        {"a small case", test_small_case},
        {"what is refused, where and why", test_refusals},
        {NULL, NULL},
    };
    return run_suite("tree/yaml_read", tests);
}
