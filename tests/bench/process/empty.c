/* SPDX-License-Identifier: MIT */
/* Nothing, linked like the program: what starting it costs. */
#include <stdlib.h>

extern void openblas_set_num_threads(int count);
extern int LAPACKE_zgeqp3_work(void);

__attribute__((constructor(101))) static void ask_for_one_blas_thread(void)
{
    setenv("OPENBLAS_NUM_THREADS", "1", 1);
}

int main(int count, char **arguments)
{
    (void)arguments;
    openblas_set_num_threads(1);
    return count > 9 ? LAPACKE_zgeqp3_work() : 0; /* never called, but linked */
}
