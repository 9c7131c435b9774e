/* SPDX-License-Identifier: MIT */
/**
 * @file dial.h
 * The polar face of a drawing: what stands at an angle of the user goes to
 * the place where a person finds it who stands where the case says the rotor
 * is seen from, reference mark on top.
 */
#ifndef PAGE_DIAL_H
#define PAGE_DIAL_H

#include "page/draw.h"
#include "page/values.h"

typedef struct cm_dial {
    cm_drawing *drawing;
    cm_point centre;
    double radius; /* of the face */
    double full;   /* size that reaches the rim */
    int growth;    /* +1: angles grow clockwise on paper, -1: counter-clockwise */
    double zero;   /* paper angle of the scale's own zero, degrees clockwise from the top */
} cm_dial;

/** How angles of masses and phases of readings grow on paper, +1 clockwise; a case that does not say which way the rotor
 *  turns is drawn as if it turned counter-clockwise. */
int cm_growth_of_angles(const cm_case *c);
int cm_growth_of_phases(const cm_case *c);

/** +1 when the rotor turns clockwise on paper. */
int cm_turn_on_paper(const cm_case *c);

/** Paper angle of a plane's own zero. */
double cm_zero_on_paper(const cm_case *c, int plane);

/** Paper angle of an angle of the scale. */
double cm_paper_angle(const cm_dial *dial, double degrees);

/** Where a value stands. */
cm_point cm_dial_point(const cm_dial *dial, double size, double degrees);

/** Rim and spokes, with the angles of the scale every `step` degrees. */
void cm_dial_face(const cm_dial *dial, int step);

/** Rings at round sizes, labelled. */
void cm_dial_rings(const cm_dial *dial);

/** A round step that divides 0 … most into about `parts`: 1, 2 or 5 times a power of ten. */
double cm_round_step(double most, int parts);

#endif
