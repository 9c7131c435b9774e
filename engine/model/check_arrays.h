/* SPDX-License-Identifier: MIT */
/**
 * @file check_arrays.h
 * Arrays that a caller hands in, held against a table: which must be there, how long they are, what may stand in them.
 */
#ifndef MODEL_CHECK_ARRAYS_H
#define MODEL_CHECK_ARRAYS_H

#include "base/session.h"

/** What a number must be. */
typedef struct cm_number_rule {
    bool (*holds)(double value);
    const char *words;
} cm_number_rule;

extern const cm_number_rule CM_FINITE, CM_NOT_NEGATIVE, CM_ABOVE_ZERO, CM_LIMIT, CM_RADIUS;

typedef enum cm_element { CM_OF_REAL, CM_OF_COMPLEX, CM_OF_INT, CM_OF_BYTE, CM_OF_STRUCT } cm_element;

/** One array of a struct. Extents are numbers into the list that cm_check_arrays() is given. */
typedef struct cm_array_rule {
    const char *name;
    size_t at;        /* offset of the pointer */
    int down, across; /* extents */
    cm_element element;
    bool optional;              /* may be NULL */
    const cm_number_rule *rule; /* of every real or complex number; NULL: not looked at */
    int low, below;             /* integers: least value; extent that they must be less than, -1: none */
} cm_array_rule;

/** Arrays of a struct called `name` against `count` rules; leaves with CM_BAD_INPUT at the first that does not hold. */
void cm_check_arrays(cm_session *session, const char *name, const void *given, int count,
                     const cm_array_rule *rules, const size_t *extent);

/** Leaves with CM_BAD_INPUT unless the number keeps the rule; `format` names it. */
void cm_check_number(cm_session *session, double value, const cm_number_rule *rule, const char *format, ...)
    CM_PRINTF(4, 5);

/** Both parts of a phasor. */
bool cm_is_finite(cm_complex value);

#endif
