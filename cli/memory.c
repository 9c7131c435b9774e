/* SPDX-License-Identifier: MIT */
/*
 * What the allocator does with memory that is released. GNU's gives it back to the system when much of it lies at the end,
 * and every 4 kB of it that is then taken anew costs a page fault (2 µs measured: a quarter of the time of a large job).
 * Other allocators are left as they are.
 *
 * OpenBLAS maps one piece of memory a thread at its first call, and where it gets none it tries again for ever. So the
 * question is asked beforehand; nothing of it is touched.
 */
#define _DEFAULT_SOURCE /* MAP_ANONYMOUS */
#include "cli.h"

#include <stdlib.h>
#include <sys/mman.h>

/* Seen with strace: 136314880 bytes; and what glibc maps for a thread of its own, stack and allocator. */
enum { PIECE = 130 << 20, THREAD = 136 << 20 };

bool cli_has_room(int threads)
{
    size_t length = (size_t)threads * PIECE + (threads > 1 ? (size_t)threads * THREAD : 0);
    void *room =
        mmap(NULL, length, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS | MAP_NORESERVE, -1, 0);
    if (room == MAP_FAILED)
        return false;
    munmap(room, length);
    return true;
}

#ifdef __GLIBC__
#include <malloc.h>

enum { KEPT = 32 << 20, STEP = 1 << 20 };

void cli_keep_memory(void)
{
    mallopt(M_TRIM_THRESHOLD, KEPT);
    mallopt(M_MMAP_THRESHOLD, KEPT);
    mallopt(M_TOP_PAD, STEP);
}
#else
void cli_keep_memory(void)
{
}
#endif
