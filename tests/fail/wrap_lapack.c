/* SPDX-License-Identifier: MIT */
/*
 * Every LAPACKE function that engine/linalg/ calls; the build lists them in lapack_calls.h.
 *
 * They differ in their arguments, but all take integers, letters and pointers (and a few doubles) and return an int.
 * On the machines we build for, such arguments can be handed on untouched by passing more than enough of both kinds.
 */
#include "faults.h"

enum { OUT_OF_MEMORY = -1011, NO_CONVERGENCE = 1 };

typedef void *word;

static int outcome(int number)
{
    int code = fault_now(FAULT_LAPACK) ? OUT_OF_MEMORY : fault_now(FAULT_DIVERGE) ? NO_CONVERGENCE : 0;
    if (fault->kind == FAULT_LAPACK || fault->kind == FAULT_DIVERGE)
        fault->lapack_last[number] = fault->calls;
    if (code)
        fault->lapack_failed = number + 1;
    return code;
}

#define WORDS                                                                                                \
    word a, word b, word c, word d, word e, word f, word g, word h, word i, word j, word k, word l, word m,  \
        word n, word o, word p, word q, word r, word s, word t, word u, word v, double w, double x,          \
        double y, double z
#define HANDED a, b, c, d, e, f, g, h, i, j, k, l, m, n, o, p, q, r, s, t, u, v, w, x, y, z
#define LAPACK_CALL(name)                                                                                    \
    int __real_##name(WORDS);                                                                                \
    int __wrap_##name(WORDS);                                                                                \
    int __wrap_##name(WORDS)                                                                                 \
    {                                                                                                        \
        int failed = outcome(NUMBER_##name);                                                                 \
        return failed ? failed : __real_##name(HANDED);                                                      \
    }
#include "lapack_calls.h"
