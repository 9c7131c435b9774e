/* SPDX-License-Identifier: MIT */
/**
 * @file given.h
 * Structs that a caller hands in: `size` at their head tells where the caller's version of them ends.
 */
#ifndef BASE_GIVEN_H
#define BASE_GIVEN_H

#include "base/session.h"

#include <stddef.h>

/** Bytes of a struct up to the end of a member. */
#define CM_UP_TO(type, member) (offsetof(type, member) + sizeof(((type *)0)->member))

/** The caller's struct `given` as this version knows it: itself when it is long enough, else a copy in the arena in which
 *  the members that the caller does not know are zero. Leaves with CM_BAD_INPUT when it is NULL, or shorter than
 *  `first`, the shortest there ever was. */
const void *cm_given_struct(cm_session *session, const char *name, const void *given, size_t first,
                            size_t size);

/** Typed cm_given_struct; `last`: the last member of the first version. */
#define CM_GIVEN(session, type, last, given)                                                                 \
    ((const type *)cm_given_struct((session), #type, (given), CM_UP_TO(type, last), sizeof(type)))

#endif
