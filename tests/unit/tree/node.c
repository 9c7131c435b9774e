/* SPDX-License-Identifier: MIT */
/* Building and looking into trees. */
#include "suite.h"
#include "tree/names.h"
#include "tree/node.h"

#include <stdio.h>
#include <string.h>

static cm_session *session;

static void test_building(void)
{
    static const char text[] = "text";
    cm_node *map = cm_node_map(session);
    cm_node_add_text(session, map, "key", text);
    cm_node *list = cm_node_add_list(session, map, "list");
    cm_node_add_number(session, list, NULL, 1.5);
    cm_node_add_boolean(session, list, NULL, true);
    cm_node_add_text(session, list, NULL, NULL);
    CU_ASSERT_EQUAL(map->count, 2);
    CU_ASSERT_PTR_EQUAL(cm_node_get(map, "key")->text, text); /* not copied */
    CU_ASSERT_PTR_EQUAL(cm_node_get(map, "list"), list);
    CU_ASSERT_PTR_NULL(cm_node_get(map, "Xey"));
    CU_ASSERT_PTR_NULL(cm_node_get(list, "key"));
    CU_ASSERT(list->count == 3 && list->first->number == 1.5 && list->first->next->truth);
    CU_ASSERT(list->last->kind == CM_NULL && !list->last->next && !list->last->key);
}

static void test_names(void)
{
    enum { COUNT = 5000 };
    cm_names names = {0};
    CU_ASSERT_PTR_NULL(cm_names_get(&names, "a"));
    static int values[COUNT];
    for (int i = 0; i < COUNT; i++)
        cm_names_set(session, &names, cm_format(session, "n%d", i), &values[i]);
    int wrong = 0;
    for (int i = 0; i < COUNT; i++)
        wrong += cm_names_get(&names, cm_format(session, "n%d", i)) != &values[i];
    CU_ASSERT_EQUAL(wrong, 0);
    CU_ASSERT_PTR_NULL(cm_names_get(&names, "n5000"));
    cm_names_set(session, &names, "n7", &values[8]);
    CU_ASSERT_PTR_EQUAL(cm_names_get(&names, "n7"), &values[8]);
    CU_ASSERT_EQUAL(names.count, COUNT);
}

int main(void)
{
    static const cm_test tests[] = {{"building", test_building}, {"names", test_names}, {NULL, NULL}};
    session = cm_open(NULL);
    int status = run_suite("tree/node", tests);
    cm_close(session);
    return status;
}
