/* SPDX-License-Identifier: MIT */
/* Arena, messages and the way out of a public call. */
#include "suite.h"
#include "base/session.h"

#include <stdlib.h>
#include <string.h>

static int released;

static void count_release(void *what)
{
    (void)what;
    released++;
}

static cm_status failing(cm_session *session)
{
    CM_ENTER(session);
    cm_defer(session, count_release, NULL);
    cm_fail(session, CM_NUMERICS, "broke at %d", 7);
}

static void test_fail_runs_deferred(void)
{
    cm_session *session = cm_open(NULL);
    released = 0;
    CU_ASSERT_EQUAL(failing(session), CM_NUMERICS);
    CU_ASSERT_EQUAL(released, 1);
    CU_ASSERT_EQUAL(cm_message_count(session), 1);
    CU_ASSERT_STRING_EQUAL(cm_message_at(session, 0)->text, "broke at 7");
    CU_ASSERT_PTR_NULL(cm_message_at(session, 1));
    cm_close(session);
}

static cm_status scratch(cm_session *session)
{
    CM_ENTER(session);
    double *kept = CM_NEW(session, 4, double);
    cm_mark mark = cm_mark_of(session);
    memset(CM_NEW(session, 100000, double), 255, 100000 * sizeof(double));
    cm_report(session, CM_NOTE, NULL, "kept through %s", "release");
    cm_release_to(session, mark);
    double *again = CM_NEW(session, 4, double);
    CU_ASSERT(again[0] == 0 && kept[3] == 0);
    return cm_leave(session);
}

static void test_scratch_spares_messages(void)
{
    cm_session *session = cm_open(NULL);
    CU_ASSERT_EQUAL(scratch(session), CM_OK);
    CU_ASSERT_STRING_EQUAL(cm_message_at(session, 0)->text, "kept through release");
    cm_close(session);
}

static void *third_fails(void *context, size_t bytes)
{
    int *left = context;
    return (*left)-- > 0 ? malloc(bytes) : NULL;
}

static void plain_free(void *context, void *memory)
{
    (void)context;
    free(memory);
}

static cm_status hungry(cm_session *session)
{
    CM_ENTER(session);
    for (int i = 0; i < 10; i++)
        CM_NEW(session, 100000, double);
    return cm_leave(session);
}

static void test_memory_short(void)
{
    int left = 3;
    cm_host host = {.size = sizeof host, .context = &left, .allocate = third_fails, .release = plain_free};
    cm_session *session = cm_open(&host);
    CU_ASSERT_EQUAL(hungry(session), CM_NO_MEMORY);
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"failure runs what was deferred", test_fail_runs_deferred},
        {"scratch memory spares messages", test_scratch_spares_messages},
        {"memory runs short", test_memory_short},
        {NULL, NULL},
    };
    return run_suite("base/session", tests);
}
