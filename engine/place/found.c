/* SPDX-License-Identifier: MIT */
/* A short list of the best choices. */
#include "place/search.h"

#include "linalg/dense.h"

#include <math.h>
#include <string.h>

#define EQUAL_SHARE 1e-12
/* Of the sum of squares with the planes at zero: rounding of the readings themselves. */
#define EQUAL_OF_SCALE 1e-15

cm_found cm_found_new(cm_session *session, const cm_board *board, int keep)
{
    cm_found found = {.keep = keep,
                      .n = board->n,
                      .value2 = CM_NEW(session, keep, double),
                      .pieces = CM_NEW(session, keep, int),
                      .point = CM_NEW(session, (size_t)keep * (size_t)board->n, int)};
    for (int i = 0; i < board->rows; i++)
        found.equal += board->weight[i] * board->weight[i] * cm_abs2(board->start[i]);
    found.equal *= EQUAL_OF_SCALE;
    return found;
}

static bool is_before(const cm_found *found, double value2, int pieces, int other)
{
    double same = EQUAL_SHARE * fmax(value2, found->value2[other]) + found->equal;
    if (fabs(value2 - found->value2[other]) > same)
        return value2 < found->value2[other];
    return pieces < found->pieces[other];
}

static bool is_there(const cm_found *found, const int *point)
{
    for (int i = 0; i < found->count; i++)
        if (!memcmp(found->point + (size_t)i * (size_t)found->n, point, (size_t)found->n * sizeof *point))
            return true;
    return false;
}

bool cm_found_take(cm_found *found, const cm_board *board, const int *point, double value2)
{
    int pieces = 0, at = found->count;
    size_t n = (size_t)found->n;
    for (int k = 0; k < found->n; k++)
        pieces += board->points[k].handled[point[k]];
    while (at > 0 && is_before(found, value2, pieces, at - 1))
        at--;
    if (!isfinite(value2) || at == found->keep || is_there(found, point))
        return false;
    found->count += found->count < found->keep;
    for (int i = found->count - 1; i > at; i--) {
        found->value2[i] = found->value2[i - 1];
        found->pieces[i] = found->pieces[i - 1];
        memcpy(found->point + (size_t)i * n, found->point + (size_t)(i - 1) * n, n * sizeof *point);
    }
    found->value2[at] = value2;
    found->pieces[at] = pieces;
    memcpy(found->point + (size_t)at * n, point, n * sizeof *point);
    return true;
}
