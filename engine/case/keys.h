/* SPDX-License-Identifier: MIT */
/**
 * @file keys.h
 * The one table of the case file's keys. Parsing, validation, hints, the JSON
 * Schema and the reference document are all made from it: to add a key, add a
 * row here and, if it needs more than a plain value, one small function.
 */
#ifndef CASE_KEYS_H
#define CASE_KEYS_H

#include "model/case.h"
#include "model/units.h"
#include "tree/node.h"

typedef struct cm_reader cm_reader;
typedef struct cm_key cm_key;
typedef struct cm_section cm_section;

/** What stands behind a key. Each has a row in CM_SHAPES. */
typedef enum cm_shape {
    CM_SHAPE_TEXT,
    CM_SHAPE_TEXTS,
    CM_SHAPE_ID,
    CM_SHAPE_NUMBER,
    CM_SHAPE_PHASOR,
    CM_SHAPE_BOOLEAN,
    CM_SHAPE_CHOICE,
    CM_SHAPE_CHOICES,
    CM_SHAPE_UNIT,
    CM_SHAPE_PLANE,
    CM_SHAPE_SPEED,
    CM_SHAPE_SENSOR,
    CM_SHAPE_RUN,
    CM_SHAPE_MAP,
    CM_SHAPE_LIST,
    CM_SHAPE_PER_SPEED,
    CM_SHAPE_BY_SPEED,
    CM_SHAPE_NUMBER_BY_PLANE,
    CM_SHAPE_PHASOR_BY_PLANE,
    CM_SHAPE_PHASOR_BY_SENSOR,
    CM_SHAPE_READING,
    CM_SHAPE_PHASORS,
    CM_SHAPE_PHASORS_BY_SENSOR,
    CM_SHAPE_READINGS,
    CM_SHAPE_PLANES,
    CM_SHAPE_SENSORS,
    CM_SHAPE_SPEEDS,
    CM_SHAPE_ROW,
    CM_SHAPE_ROWS,
    CM_SHAPE_NUMBERS,
    CM_SHAPE_ARCS,
    CM_SHAPE_SHIFT,
    CM_SHAPE_UNCERTAINTY,
    CM_SHAPE_INFLUENCE_ERROR,
    CM_SHAPE_TOLERANCE,
    CM_SHAPE_VALUE,
    CM_SHAPE_COUNT
} cm_shape;

/** What a number measures; decides the unit of a bare number and the units it may carry. */
typedef enum cm_measure {
    CM_MEASURE_PLAIN,
    CM_MEASURE_DEGREES,
    CM_MEASURE_SHARE,
    CM_MEASURE_SPEED,
    CM_MEASURE_MASS,
    CM_MEASURE_LENGTH,
    CM_MEASURE_FORCE,
    CM_MEASURE_DENSITY,
    CM_MEASURE_LOAD,
    CM_MEASURE_VIBRATION,
    CM_MEASURE_ANY,
    CM_MEASURE_COUNT
} cm_measure;

typedef enum cm_range {
    CM_ANY_VALUE,
    CM_ABOVE_ZERO,
    CM_NOT_NEGATIVE,
    CM_ZERO_TO_ONE,
    CM_HALF_TURN,
    CM_RANGE_COUNT
} cm_range;

/** Stores what `node` says into `record`; wrong values are reported and leave the default. */
typedef void cm_read_value(cm_reader *reader, const cm_key *key, const cm_node *node, void *record);

/** `offset` of a key that is checked and kept in the tree only. */
#define CM_NOWHERE ((size_t)-1)

struct cm_key {
    const char *name;
    cm_shape shape;
    bool required;
    cm_measure measure;
    cm_range range;
    const char *fallback; /* the default, in words; NULL: none */
    const char *example;  /* as it would stand in the file; NULL: see the section */
    const char *about;
    /* of CM_SHAPE_MAP, CM_SHAPE_LIST, or the map that is another way to write it */
    const cm_section *section;
    const char *const *choices; /* ended by NULL */
    cm_read_value *read;        /* NULL: the shape's own */
    size_t offset;              /* in the record of the section */
};

/** One map of the case file. `begin` makes the record of one entry of a list (NULL: the parent's record);
 *  `end` checks and files it once all keys are read. `parent` is where the list's key points. */
struct cm_section {
    const char *name; /* as in messages: "planes" */
    const char *about;
    int count;
    const cm_key *keys;
    const char *const *later; /* names that are planned and refused as not supported yet; ended by NULL */
    void *(*begin)(cm_reader *reader, void *parent, const cm_node *node);
    void (*end)(cm_reader *reader, void *parent, const cm_node *node, void *record);
};

/** In a pattern of the table below: where the units of the key's measure may stand. */
#define CM_UNIT_MARK "<unit>"

/** How a shape is read by default, and how it looks to the schema and the reference. */
typedef struct cm_shape_row {
    const char *name;  /* in the schema's $defs */
    const char *words; /* "a phasor, `number [unit] @ degrees`" */
    cm_read_value *read;
    const char *types;         /* JSON types of the scalar form, separated by blanks; NULL: no scalar form */
    const char *pattern;       /* of the scalar form when it is a string; NULL: any */
    cm_shape list_of, map_of;  /* CM_SHAPE_COUNT: no such form */
    const cm_section *section; /* a map of these keys is another way to write it; NULL: none */
} cm_shape_row;

typedef struct cm_measure_row {
    cm_quantity quantity; /* CM_ANGLE: no unit to carry */
    const char *words;    /* "a mass" */
    size_t unit;          /* offset in cm_case of the unit of a bare number; CM_NOWHERE: see `factor` */
    double factor;        /* of a bare number otherwise */
} cm_measure_row;

typedef struct cm_range_row {
    const char *words; /* "above 0" */
    double least, most;
    bool open; /* `least` itself is excluded */
} cm_range_row;

extern const cm_shape_row CM_SHAPES[CM_SHAPE_COUNT];
extern const cm_measure_row CM_MEASURES[CM_MEASURE_COUNT];
extern const cm_range_row CM_RANGES[CM_RANGE_COUNT];

/** A reading as a map. */
extern const cm_section CM_READING_MAP;

/** The whole file as a section. Its rows stand in the order in which they are read. */
extern const cm_section CM_CASE_FILE;

/** An influence record as a section; reads into a cm_case of its own. */
extern const cm_section CM_RECORD_FILE;

#endif
