/* SPDX-License-Identifier: MIT */
/* The best of each size as a heap with the worst on top: one comparison decides about nearly every set. */
#include "planes/shortlist.h"

#include <math.h>
#include <stdlib.h>

cm_shortlist cm_shortlist_new(cm_session *session, int sizes, int keep)
{
    cm_shortlist list = {.sizes = sizes, .keep = keep};
    list.count = CM_NEW(session, sizes + 1, int);
    list.cutoff = CM_NEW(session, sizes + 1, double);
    list.open = CM_NEW(session, sizes + 1, double);
    list.entry = CM_NEW(session, (size_t)(sizes + 1) * (size_t)keep, cm_entry);
    for (int k = 0; k <= sizes; k++)
        list.cutoff[k] = list.open[k] = INFINITY;
    return list;
}

static void swap(cm_entry *a, cm_entry *b)
{
    cm_entry kept = *a;
    *a = *b;
    *b = kept;
}

static void sift_up(cm_entry *heap, int i)
{
    while (i > 0 && heap[i].bound > heap[(i - 1) / 2].bound) {
        swap(heap + i, heap + (i - 1) / 2);
        i = (i - 1) / 2;
    }
}

static void sift_down(cm_entry *heap, int count)
{
    for (int i = 0, child = 1; child < count; child = 2 * i + 1) {
        if (child + 1 < count && heap[child + 1].bound > heap[child].bound)
            child++;
        if (heap[child].bound <= heap[i].bound)
            return;
        swap(heap + i, heap + child);
        i = child;
    }
}

void cm_shortlist_offer(cm_shortlist *list, int size, cm_set set, double bound)
{
    if (bound >= list->cutoff[size])
        return;
    cm_entry *heap = cm_shortlist_at(list, size, 0);
    if (list->count[size] < list->keep) {
        heap[list->count[size]] = (cm_entry){set, bound};
        sift_up(heap, list->count[size]++);
    } else {
        heap[0] = (cm_entry){set, bound};
        sift_down(heap, list->keep);
    }
    if (list->count[size] == list->keep)
        list->cutoff[size] = heap[0].bound;
}

/* The set whose first differing plane comes earlier in the case stands first. */
static int by_bound(const void *left, const void *right)
{
    const cm_entry *a = left;
    const cm_entry *b = right;
    if (a->bound != b->bound)
        return a->bound < b->bound ? -1 : 1;
    cm_set differing = a->set ^ b->set;
    return differing == 0 ? 0 : (a->set & differing & (~differing + 1)) != 0 ? -1 : 1;
}

void cm_shortlist_sort(cm_shortlist *list)
{
    for (int k = 0; k <= list->sizes; k++)
        qsort(cm_shortlist_at(list, k, 0), (size_t)list->count[k], sizeof(cm_entry), by_bound);
}
