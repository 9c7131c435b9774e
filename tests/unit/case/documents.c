/* SPDX-License-Identifier: MIT */
/* What is made from the table of keys: schema, reference, the case to start from; and the cases in the
 * repository. */
#include "suite.h"
#include "base/file.h"
#include "countermass/job.h"
#include "model/case.h"
#include "tree/node.h"

#include <glob.h>
#include <stdio.h>
#include <string.h>

static cm_status read_tree(cm_session *session, const char *text, const cm_node **tree)
{
    CM_ENTER(session);
    *tree = cm_yaml_read(session, "schema.json", text, strlen(text));
    cm_fail_on_errors(session); /* a key that is repeated */
    return cm_leave(session);
}

/* Every $ref must lead somewhere. Returns the number of references. */
static int follow(const cm_node *definitions, const cm_node *node)
{
    int count = 0;
    if (node->key && !strcmp(node->key, "$ref")) {
        CU_ASSERT(cm_node_get(definitions, node->text + strlen("#/$defs/")) != NULL);
        count++;
    }
    for (const cm_node *child = node->first; child; child = child->next)
        count += follow(definitions, child);
    return count;
}

static void test_schema(void)
{
    cm_session *session = cm_open(NULL);
    const char *json = NULL;
    const cm_node *tree = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_case_schema(session, &json), CM_OK);
    CU_ASSERT_EQUAL_FATAL(read_tree(session, json, &tree), CM_OK);
    const cm_node *properties = cm_node_get(tree, "properties");
    CU_ASSERT_PTR_NOT_NULL_FATAL(properties);
    CU_ASSERT_PTR_NOT_NULL(cm_node_get(properties, "planes"));
    CU_ASSERT(follow(cm_node_get(tree, "$defs"), tree) > 100);
    cm_close(session);
}

static cm_status read_file(cm_session *session, const char *path, const char **text)
{
    CM_ENTER(session);
    size_t length;
    *text = cm_file_read(session, path, 1 << 24, &length);
    return cm_leave(session);
}

static void test_reference_is_up_to_date(void)
{
    cm_session *session = cm_open(NULL);
    const char *made = NULL, *committed = "";
    CU_ASSERT_EQUAL_FATAL(cm_case_reference(session, &made), CM_OK);
    CU_ASSERT_EQUAL(read_file(session, "docs/case-file.md", &committed), CM_OK);
    CU_ASSERT_STRING_EQUAL(made, committed);
    cm_close(session);
}

static void test_new_case_becomes_a_problem(void)
{
    cm_session *session = cm_open(NULL);
    const char *yaml = NULL;
    const cm_case *c = NULL;
    const cm_runs *runs = NULL;
    const cm_problem *problem = NULL;
    CU_ASSERT_EQUAL(cm_case_new(session, &yaml), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_case_parse(session, "new.yaml", yaml, strlen(yaml), &c), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_case_runs(session, c, &runs), CM_OK);
    const cm_influence nothing = {.size = sizeof nothing, .rows = runs->rows, .planes = runs->planes};
    CU_ASSERT_EQUAL(cm_case_problem(session, c, &nothing, &problem), CM_OK);
    CU_ASSERT_EQUAL(cm_message_count(session), 0);
    CU_ASSERT_EQUAL(runs->rows, 2);
    cm_close(session);
}

static void reads(const char *path)
{
    cm_session *session = cm_open(NULL);
    const cm_case *c = NULL;
    CU_ASSERT_EQUAL(cm_case_read(session, path, &c), CM_OK);
    for (int i = 0; i < cm_message_count(session); i++)
        printf("\n    %s:%d:%d: %s", path, cm_message_at(session, i)->line, cm_message_at(session, i)->column,
               cm_message_at(session, i)->text);
    cm_close(session);
}

static void test_cases_of_the_repository(void)
{
    glob_t found = {0};
    glob("cases/demo/*.yaml", 0, NULL, &found);
    glob("cases/published/*.yaml", GLOB_APPEND, NULL, &found);
    CU_ASSERT(found.gl_pathc > 10);
    for (size_t i = 0; i < found.gl_pathc; i++)
        reads(found.gl_pathv[i]);
    globfree(&found);
}

/* The head of a wrong case says what must be found: "# expect: LINE:COLUMN: part of the message". */
static bool as_expected(const cm_session *session, const char *head)
{
    int line = 0, column = 0, used = 0;
    if (sscanf(head, "# expect: %d:%d: %n", &line, &column, &used) < 2 || !used)
        return false;
    size_t length = strcspn(head + used, "\n");
    char part[256] = {0};
    memcpy(part, head + used, length < 255 ? length : 255);
    for (int i = 0; i < cm_message_count(session); i++) {
        const cm_message *m = cm_message_at(session, i);
        if (m->severity == CM_ERROR && m->line == line && m->column == column && strstr(m->text, part))
            return true;
    }
    return false;
}

/* As far as a case goes before masses are sought. */
static cm_status pose(cm_session *session, const char *path)
{
    cm_job job = {.size = sizeof job};
    cm_status status = cm_case_read(session, path, &job.given);
    if (status == CM_OK)
        status = cm_case_runs(session, job.given, &job.runs);
    if (status == CM_OK)
        status = cm_fit(session, job.runs, &job.influence);
    if (status == CM_OK)
        status = cm_case_problem(session, job.given, job.influence, &job.problem);
    return status == CM_OK ? cm_determine(session, &job) : status;
}

static void is_refused(const char *path)
{
    cm_session *session = cm_open(NULL), *other = cm_open(NULL);
    const char *text = "";
    CU_ASSERT_EQUAL(read_file(other, path, &text), CM_OK);
    cm_status status = pose(session, path);
    bool good = status == CM_BAD_INPUT && as_expected(session, text);
    CU_ASSERT(good);
    for (int i = 0; !good && i < cm_message_count(session); i++)
        printf("\n    %s:%d:%d: %s", path, cm_message_at(session, i)->line, cm_message_at(session, i)->column,
               cm_message_at(session, i)->text);
    if (!good && !cm_message_count(session))
        printf("\n    %s: accepted", path);
    cm_close(session);
    cm_close(other);
}

static void test_wrong_cases_are_refused(void)
{
    glob_t found = {0};
    glob("cases/invalid/*.yaml", 0, NULL, &found);
    CU_ASSERT(found.gl_pathc >= 60);
    for (size_t i = 0; i < found.gl_pathc; i++)
        is_refused(found.gl_pathv[i]);
    globfree(&found);
}

int main(void)
{
    static const cm_test tests[] = {
        {"schema", test_schema},
        {"docs/case-file.md is up to date", test_reference_is_up_to_date},
        {"the new case becomes a problem", test_new_case_becomes_a_problem},
        {"cases of the repository", test_cases_of_the_repository},
        {"wrong cases are refused", test_wrong_cases_are_refused},
        {NULL, NULL},
    };
    return run_suite("case/documents", tests);
}
