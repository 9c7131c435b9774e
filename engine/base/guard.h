/* SPDX-License-Identifier: MIT */
/**
 * @file guard.h
 * Memory of the arena that nobody was given, out of bounds for the address sanitizer; nothing in other builds.
 */
#ifndef BASE_GUARD_H
#define BASE_GUARD_H

#if defined(__SANITIZE_ADDRESS__)
#define CM_GUARDED 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define CM_GUARDED 1
#endif
#endif

#ifdef CM_GUARDED
#include <sanitizer/asan_interface.h>
enum { CM_GUARD_BYTES = 32 }; /* between two pieces */
#define CM_GUARD(from, bytes) ASAN_POISON_MEMORY_REGION((from), (bytes))
#define CM_GIVE(from, bytes) ASAN_UNPOISON_MEMORY_REGION((from), (bytes))
#else
enum { CM_GUARD_BYTES = 0 };
#define CM_GUARD(from, bytes) ((void)(from), (void)(bytes))
#define CM_GIVE(from, bytes) ((void)(from), (void)(bytes))
#endif

#endif
