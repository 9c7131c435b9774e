/* SPDX-License-Identifier: MIT */
/**
 * @file reader.h
 * The state of reading one case: the case so far, its names, its errors.
 */
#ifndef CASE_READER_H
#define CASE_READER_H

#include "case/errors.h"
#include "case/index.h"
#include "case/keys.h"

/** A phasor as written: size in SI, angle in the user's degrees. */
typedef struct cm_polar {
    double size, degrees;
} cm_polar;

/** One entry of `masses`, as written. */
typedef struct cm_mass_entry {
    int plane;
    double mass, angle, radius; /* kg, the user's degrees, m; NAN: not given */
    bool stays;
    bool sited; /* `site` is given */
    int site;
    const cm_node *site_node;
} cm_mass_entry;

/** One entry of `influence`, as written. */
typedef struct cm_known_entry {
    int plane, speed, sensor;
    cm_polar value;     /* SI reading per mass unit */
    double uncertainty; /* likewise */
    double common;
    double size, phase;    /* of a relative uncertainty; rad */
    bool exact;            /* of a record: said to be exact */
    const cm_node *record; /* `record: FILE`; NULL: a coefficient */
    const cm_node *widen;  /* its `uncertainty`, read coefficient by coefficient */
    const cm_key *widen_key;
} cm_known_entry;

/** A reading as written in a map; NAN: not given. */
typedef struct cm_reading_entry {
    double amplitude, phase, overall; /* SI, the user's degrees, SI */
} cm_reading_entry;

typedef struct cm_csv cm_csv; /* case/csv.h */

struct cm_reader {
    cm_session *session;
    cm_case *c;
    const cm_node *root;
    cm_errors errors;
    cm_index speeds, sensors, planes, sets, runs, bearings, pairs;
    /* (plane, speed, sensor) triples already given, with their number among the known */
    cm_index coefficients;
    cm_index records;    /* record files already named; in a record: rows whose covariance is already given */
    const cm_unit *unit; /* of the sensor at hand; NULL: any kind of vibration */
    cm_csv *csv;         /* tables read so far */
    long inherited;      /* masses that runs took over from others */
    cm_mass_entry mass;  /* entry at hand */
    cm_known_entry known; /* entry at hand */
};

/** Reports an error of the case at a place. */
void cm_wrong(cm_reader *reader, const cm_place *place, const char *format, ...) CM_PRINTF(3, 4);

/** Where the record keeps the value of this key; NULL when it is only checked. */
void *cm_slot(const cm_key *key, void *record);

/** True when the node is a map (a list), else an error that says what is needed. */
bool cm_need_map(cm_reader *reader, const cm_node *node, const char *what);
bool cm_need_list(cm_reader *reader, const cm_node *node, const char *what);

/** Reads a map by the table; keys are handled in the order of the table, not of the file. */
void cm_read_section(cm_reader *reader, const cm_section *section, const cm_node *node, void *record);

/** Readers of maps and lists of maps. */
cm_read_value cm_read_map, cm_read_list;

#endif
