/* SPDX-License-Identifier: MIT */
/* Days and times as in ISO 8601, of the proleptic Gregorian calendar, without zones. */
#include "model/moment.h"

#include <string.h>

enum {
    FIELDS = 6,
    MOST = 1000000,
    FIRST_YEAR = 1583 /* before it the calendar is in doubt */,
    LAST_YEAR = 9999
};

/* A number of digits at *text, at most MOST; -1: there is none. */
static int digits(const char **text, int least)
{
    int value = 0, count = 0;
    for (; **text >= '0' && **text <= '9'; (*text)++, count++)
        value = value < MOST ? 10 * value + (**text - '0') : MOST;
    return count >= least ? value : -1;
}

/* Year, month, day, hour, minute and second; returns how many there are: 0 (another form), 3, 5 or 6. */
static int fields_of(const char *text, int *field)
{
    static const char *const before[FIELDS] = {"", "-", "-", " T", ":", ":"};
    int count = 0;
    for (; count < FIELDS && (count == 0 || (*text && strchr(before[count], *text))); count++) {
        text += count > 0;
        field[count] = digits(&text, count == 0 ? 4 : 1);
        if (field[count] < 0)
            return 0;
    }
    return !*text && count >= 3 && count != 4 ? count : 0;
}

static bool is_leap(int year)
{
    return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

static bool exists(const int *f)
{
    static const int DAYS[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return f[0] >= FIRST_YEAR && f[0] <= LAST_YEAR && f[1] >= 1 && f[1] <= 12 && f[2] >= 1 &&
           f[2] <= DAYS[f[1] - 1] + (f[1] == 2 && is_leap(f[0])) && f[3] < 24 && f[4] < 60 && f[5] < 60;
}

cm_moment cm_moment_of(const char *text, double *seconds)
{
    int f[FIELDS] = {0};
    int count = text ? fields_of(text, f) : 0;
    if (count == 0)
        return CM_MOMENT_OTHER;
    if (!exists(f))
        return CM_MOMENT_IMPOSSIBLE;
    int y = f[1] > 2 ? f[0] : f[0] - 1, m = f[1] > 2 ? f[1] - 3 : f[1] + 9; /* years that begin in March */
    int day = 365 * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + f[2];
    *seconds = ((day * 24.0 + f[3]) * 60.0 + f[4]) * 60.0 + f[5];
    return count > 3 ? CM_MOMENT_TIME : CM_MOMENT_DAY;
}

cm_times cm_times_of(const cm_case *given, int *run)
{
    static const cm_times WHY[] = {[CM_MOMENT_DAY] = CM_TIMES_DAYS,
                                   [CM_MOMENT_OTHER] = CM_TIMES_OTHER,
                                   [CM_MOMENT_IMPOSSIBLE] = CM_TIMES_OTHER};
    int silent = -1, said = 0;
    bool apart = false;
    double first = 0, seconds = 0;
    *run = -1;
    for (int k = 0; k < given->run_count; k++) {
        said += given->runs[k].at != NULL;
        silent = silent < 0 && !given->runs[k].at ? k : silent;
    }
    if (said == 0)
        return CM_TIMES_NONE;
    *run = silent;
    if (silent >= 0)
        return CM_TIMES_SOME;
    for (int k = 0; k < given->run_count; k++) {
        *run = k;
        cm_moment moment = cm_moment_of(given->runs[k].at, &seconds);
        if (moment != CM_MOMENT_TIME)
            return WHY[moment];
        first = k ? first : seconds;
        apart = apart || seconds < first || seconds > first;
    }
    *run = -1;
    return apart ? CM_TIMES_TOLD : CM_TIMES_EQUAL;
}
