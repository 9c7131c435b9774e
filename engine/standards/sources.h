/* SPDX-License-Identifier: MIT */
/**
 * @file sources.h
 * Where the numbers of this room come from and how well they are known.
 */
#ifndef STANDARDS_SOURCES_H
#define STANDARDS_SOURCES_H

/** One source behind a figure. Pages and docs/standards.md print these sentences; a test compares the two. */
typedef struct cm_source {
    const char *key;      /* short name inside results */
    const char *standard; /* name and edition */
    const char *clause;   /* where in it; NULL: not known, or no document */
    const char *says;     /* what was taken from it */
    const char *mark;     /* how the number is known */
} cm_source;

/** The table; ended by a NULL key. */
extern const cm_source CM_SOURCES[];

/** Said wherever a figure of a standard is printed. */
extern const char CM_SOURCE_ADVICE[];

/** The row with this key. */
const cm_source *cm_source_of(const char *key);

#endif
