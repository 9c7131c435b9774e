/* SPDX-License-Identifier: MIT */
/*
 * The trial mass made of the plane's real pieces, stacked at one place: of all
 * sets of at most four pieces within stock whose sum lies between the bounds,
 * the one nearest to the wanted mass, then with fewest pieces. Every set is
 * tried (depth first, kinds in order), which 40 kinds keep below 140,000 sums.
 */
#include "starts/trial.h"

#include <math.h>
#include <string.h>

enum { MOST_PIECES = 4, MOST_KINDS = 40 };

typedef struct {
    const cm_plane *plane;
    int kinds;
    double least, most, aim;
    int count[MOST_KINDS], best[MOST_KINDS];
    double distance, sum; /* of the best */
    int used;
} cm_stack;

static void keep_if_better(cm_stack *s, double sum, int used)
{
    double distance = fabs(sum - s->aim), closer = s->distance - distance;
    bool alike = fabs(closer) <= 1e-12 * s->aim;
    if (!used || sum < s->least || sum > s->most || (alike ? used >= s->used : closer < 0))
        return;
    memcpy(s->best, s->count, sizeof s->best);
    s->distance = distance;
    s->sum = sum;
    s->used = used;
}

static void stack(cm_stack *s, int kind, double sum, int used)
{
    keep_if_better(s, sum, used);
    for (int k = kind; k < s->kinds && used < MOST_PIECES; k++) {
        const cm_piece *piece = &s->plane->pieces[k];
        if (s->count[k] >= piece->stock || sum + piece->mass > s->most)
            continue;
        s->count[k]++;
        stack(s, k, sum + piece->mass, used + 1);
        s->count[k]--;
    }
}

const int *cm_trial_pieces(cm_session *session, const cm_plane *plane, double least, double most, double aim,
                           double *sum)
{
    cm_stack s = {.plane = plane,
                  .kinds = plane->piece_count < MOST_KINDS ? plane->piece_count : MOST_KINDS,
                  .least = least * (1 - 1e-12),
                  .most = most * (1 + 1e-12),
                  .aim = aim,
                  .distance = INFINITY};
    stack(&s, 0, 0, 0);
    if (!s.used)
        return NULL;
    int *count = CM_NEW(session, plane->piece_count, int);
    memcpy(count, s.best, (size_t)s.kinds * sizeof *count);
    *sum = s.sum;
    return count;
}
