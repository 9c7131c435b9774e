/* SPDX-License-Identifier: MIT */
/* The nearest name to a mistyped one: edit distance, row by row. */
#include "cli.h"

#include <string.h>

enum { LONGEST = 31 };

static int least(int a, int b, int c)
{
    int smaller = a < b ? a : b;
    return smaller < c ? smaller : c;
}

/* Insertions, deletions and changes of letters that turn a into b; longer words count as far away. */
static int distance(const char *a, const char *b)
{
    int row[LONGEST + 1];
    int width = (int)strlen(b);
    if (width > LONGEST || strlen(a) > LONGEST)
        return LONGEST;
    for (int j = 0; j <= width; j++)
        row[j] = j;
    for (int i = 1; a[i - 1]; i++) {
        int diagonal = row[0];
        row[0] = i;
        for (int j = 1; j <= width; j++) {
            int changed = diagonal + (a[i - 1] != b[j - 1]);
            diagonal = row[j];
            row[j] = least(row[j] + 1, row[j - 1] + 1, changed);
        }
    }
    return row[width];
}

const char *cli_nearest(const char *word, const char *(*candidate)(const void *data, int index),
                        const void *data)
{
    const char *nearest = NULL;
    int nearest_distance = 3; /* more than two mistakes are no typing error */
    for (int i = 0; candidate(data, i); i++) {
        int d = distance(word, candidate(data, i));
        if (d < nearest_distance && d < (int)strlen(word)) {
            nearest = candidate(data, i);
            nearest_distance = d;
        }
    }
    return nearest;
}
