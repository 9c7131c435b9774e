/* SPDX-License-Identifier: MIT */
/**
 * @file yaml_trouble.h
 * What the YAML library found wrong, said to the person who wrote the file.
 */
#ifndef TREE_YAML_TROUBLE_H
#define TREE_YAML_TROUBLE_H

#include "base/session.h"

/** The library's report without its types. */
typedef struct cm_yaml_trouble {
    const char *problem; /* its words; may be NULL */
    cm_place problem_place;
    cm_place context_place; /* where the structure began; line 0: not known */
    int found;              /* the byte at problem_place, 0 at the end */
} cm_yaml_trouble;

/** Reports one error at the place where it is best repaired. */
void cm_yaml_explain(cm_session *session, const cm_yaml_trouble *trouble);

#endif
