/* SPDX-License-Identifier: MIT */
/**
 * @file yaml_effort.h
 * Files on which the YAML library would spend hours, told before it begins.
 */
#ifndef TREE_YAML_EFFORT_H
#define TREE_YAML_EFFORT_H

#include <stddef.h>

typedef struct cm_yaml_effort {
    const char *words; /* why the file is refused; NULL: it is not */
    size_t offset;     /* the byte that the words speak of */
} cm_yaml_effort;

cm_yaml_effort cm_yaml_effort_of(const char *bytes, size_t length);

#endif
