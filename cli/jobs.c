/* SPDX-License-Identifier: MIT */
/* Work on several threads, its results taken in order. */
#include "cli.h"

#include <pthread.h>

enum { MOST_JOBS = 256 };

/* From OpenBLAS: 0 when it was built without threads, and then only one thread at a time may call it. */
extern int openblas_get_parallel(void);

typedef struct queue {
    pthread_mutex_t lock;
    pthread_cond_t changed;
    int count, next;
    bool *done;
    void (*work)(void *context, int index);
    void *context;
} queue;

/* Takes the next piece; -1: none is left. */
static int take(queue *q)
{
    pthread_mutex_lock(&q->lock);
    int index = q->next < q->count ? q->next++ : -1;
    pthread_mutex_unlock(&q->lock);
    return index;
}

static void hand_over(queue *q, int index)
{
    pthread_mutex_lock(&q->lock);
    q->done[index] = true;
    pthread_cond_broadcast(&q->changed);
    pthread_mutex_unlock(&q->lock);
}

static void *work_on(void *data)
{
    queue *q = data;
    for (int index = take(q); index >= 0; index = take(q)) {
        q->work(q->context, index);
        hand_over(q, index);
    }
    return NULL;
}

static void wait_for(queue *q, int index)
{
    pthread_mutex_lock(&q->lock);
    while (!q->done[index])
        pthread_cond_wait(&q->changed, &q->lock);
    pthread_mutex_unlock(&q->lock);
}

static void give_up_the_rest(queue *q)
{
    pthread_mutex_lock(&q->lock);
    q->count = q->next;
    pthread_mutex_unlock(&q->lock);
}

static void collect(queue *q, int count, bool (*ready)(void *context, int index))
{
    bool go_on = true;
    for (int i = 0; i < count && go_on; i++) {
        wait_for(q, i);
        go_on = ready(q->context, i);
    }
    give_up_the_rest(q);
}

static void one_after_the_other(int count, void (*work)(void *context, int index),
                                bool (*ready)(void *context, int index), void *context)
{
    bool go_on = true;
    for (int i = 0; i < count && go_on; i++) {
        work(context, i);
        go_on = ready(context, i);
    }
}

void cli_run_jobs(int jobs, int count, void (*work)(void *context, int index),
                  bool (*ready)(void *context, int index), void *context)
{
    pthread_t threads[MOST_JOBS];
    int started = 0, wanted = jobs < count ? jobs : count;
    bool done[count];
    queue q = {.count = count, .done = done, .work = work, .context = context};
    for (int i = 0; i < count; i++)
        done[i] = false;
    pthread_mutex_init(&q.lock, NULL);
    pthread_cond_init(&q.changed, NULL);
    if (wanted > 1 && openblas_get_parallel())
        while (started < wanted && started < MOST_JOBS &&
               pthread_create(&threads[started], NULL, work_on, &q) == 0)
            started++;
    if (started)
        collect(&q, count, ready);
    else
        one_after_the_other(count, work, ready, context);
    for (int i = 0; i < started; i++)
        pthread_join(threads[i], NULL);
    pthread_cond_destroy(&q.changed);
    pthread_mutex_destroy(&q.lock);
}
