/* SPDX-License-Identifier: MIT */
/* Days and times against the C library's calendar (timegm), and what is no time. */
#define _DEFAULT_SOURCE

#include "suite.h"
#include "model/moment.h"

#include <stdio.h>
#include <time.h>

static double read_time(const char *text)
{
    double seconds = NAN;
    CU_ASSERT_EQUAL(cm_moment_of(text, &seconds), CM_MOMENT_TIME);
    return seconds;
}

/* Every 37 hours and 11 seconds from 1600 to 2500 by way of the library's calendar. */
static void test_calendar(void)
{
    struct tm from = {.tm_year = -300, .tm_mday = 1}, to = {.tm_year = 600, .tm_mday = 1};
    time_t start = timegm(&from), end = timegm(&to);
    double zero = read_time("1600-01-01 00:00");
    int wrong = 0, count = 0;
    for (time_t t = start; t < end; t += 37 * 3600 + 11, count++) {
        struct tm at;
        char text[64];
        double seconds = NAN;
        gmtime_r(&t, &at);
        strftime(text, sizeof text, count % 2 ? "%Y-%m-%d %H:%M:%S" : "%Y-%m-%dT%H:%M:%S", &at);
        wrong += cm_moment_of(text, &seconds) != CM_MOMENT_TIME || seconds - zero != (double)(t - start);
    }
    CU_ASSERT_EQUAL(wrong, 0);
    CU_ASSERT(count > 200000);
}

/* Years with a 29th of February by the library: one that it turns into the 1st of March has none. */
static void test_leap_days(void)
{
    for (int year = 1583; year <= 2500; year++) {
        struct tm day = {.tm_year = year - 1900, .tm_mon = 1, .tm_mday = 29};
        char text[32];
        double seconds;
        timegm(&day);
        snprintf(text, sizeof text, "%d-02-29", year);
        CU_ASSERT_EQUAL(cm_moment_of(text, &seconds), day.tm_mon == 1 ? CM_MOMENT_DAY : CM_MOMENT_IMPOSSIBLE);
    }
}

static void test_forms(void)
{
    static const struct {
        const char *text;
        cm_moment moment;
    } forms[] = {
        {"2026-03-14 02:40", CM_MOMENT_TIME},
        {"2026-3-4T2:40:09", CM_MOMENT_TIME},
        {"2026-03-14", CM_MOMENT_DAY},
        {"2026-03-14 02", CM_MOMENT_OTHER},
        {"2026-03-14 02:40 CET", CM_MOMENT_OTHER},
        {"2026-03-14  02:40", CM_MOMENT_OTHER},
        {"2026-03-14 02:40:", CM_MOMENT_OTHER},
        {"2026-03-14 -2:40", CM_MOMENT_OTHER},
        {"14-3-2026", CM_MOMENT_OTHER},
        {"14.3.2026 02:40", CM_MOMENT_OTHER},
        {"in the evening", CM_MOMENT_OTHER},
        {"", CM_MOMENT_OTHER},
        {NULL, CM_MOMENT_OTHER},
        {"2026-13-01", CM_MOMENT_IMPOSSIBLE},
        {"2026-00-01", CM_MOMENT_IMPOSSIBLE},
        {"2026-04-31 00:00", CM_MOMENT_IMPOSSIBLE},
        {"2026-04-00 00:00", CM_MOMENT_IMPOSSIBLE},
        {"2026-04-30 24:00", CM_MOMENT_IMPOSSIBLE},
        {"2026-04-30 23:60", CM_MOMENT_IMPOSSIBLE},
        {"2026-04-30 23:59:60", CM_MOMENT_IMPOSSIBLE},
        {"0000-01-01", CM_MOMENT_IMPOSSIBLE},
        {"10000-01-01", CM_MOMENT_IMPOSSIBLE},
        {"99999999999999999999-01-01 00:00", CM_MOMENT_IMPOSSIBLE},
    };
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        double seconds;
        CU_ASSERT_EQUAL(cm_moment_of(forms[i].text, &seconds), forms[i].moment);
    }
    ASSERT_NEAR(read_time("2026-03-14 02:40") + 9, read_time("2026-03-14T02:40:09"), 0);
}

int main(void)
{
    static const cm_test tests[] = {
        {"calendar", test_calendar}, {"leap days", test_leap_days}, {"forms", test_forms}, {NULL, NULL}};
    return run_suite("moment", tests);
}
