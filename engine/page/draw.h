/* SPDX-License-Identifier: MIT */
/**
 * @file draw.h
 * A drawing: lines, shapes, arrows and words in a box, written as SVG. The
 * looks (colour, dash, weight, light and dark) belong to a class named in
 * assets/drawing.css; a shape says what it is, not what colour it has.
 *
 * Lengths are in the drawing's own units, x to the right, y downwards.
 */
#ifndef PAGE_DRAW_H
#define PAGE_DRAW_H

#include "base/text.h"

typedef struct cm_point {
    double x, y;
} cm_point;

typedef struct cm_drawing {
    cm_session *session;
    double width, height;
    const char *title;       /* what it shows, in a few words */
    const char *description; /* the same for who cannot see it, with the numbers that matter */
    bool wide;               /* needs more room than a phone is wide: may be scrolled sideways */
    cm_text body;
} cm_drawing;

typedef enum cm_anchor { CM_LEFT, CM_MIDDLE, CM_RIGHT } cm_anchor;

/** Marks that stay apart without colour. */
typedef enum cm_mark_shape {
    CM_MARK_DISC,
    CM_MARK_RING,
    CM_MARK_SQUARE,
    CM_MARK_DIAMOND,
    CM_MARK_CROSS,
    CM_MARK_TRIANGLE,
    CM_MARK_DOT
} cm_mark_shape;

/** An empty drawing; both texts are kept, not copied. */
cm_drawing *cm_drawing_new(cm_session *session, double width, double height, const char *title,
                           const char *description);

void cm_draw_line(cm_drawing *d, const char *looks, cm_point from, cm_point to);
/** A line with a head at `to`; next to nothing is drawn as a point. */
void cm_draw_arrow(cm_drawing *d, const char *looks, cm_point from, cm_point to);
void cm_draw_circle(cm_drawing *d, const char *looks, cm_point centre, double radius);
void cm_draw_box(cm_drawing *d, const char *looks, cm_point corner, double width, double height);
void cm_draw_path(cm_drawing *d, const char *looks, int count, const cm_point *points, bool closed);
/** An arc about `centre` from one paper angle to another (degrees clockwise from the top), with a head at its end. */
void cm_draw_arc(cm_drawing *d, const char *looks, cm_point centre, double radius, double from, double to,
                 bool head);
void cm_draw_mark(cm_drawing *d, const char *looks, cm_mark_shape shape, cm_point at, double size);
void cm_draw_words(cm_drawing *d, const char *looks, cm_anchor anchor, cm_point at, const char *words);
/** The same, turned by `degrees` clockwise about `at`. */
void cm_draw_turned_words(cm_drawing *d, const char *looks, cm_anchor anchor, cm_point at, double degrees,
                          const char *words);
/** A colour between paper and ink, `share` from 0 to 1, for boxes of a picture of sizes. */
void cm_draw_shade(cm_drawing *d, cm_point corner, double width, double height, double share);

/** What comes next until cm_draw_end() is one thing with a name of its own, shown when it is pointed at. */
void cm_draw_begin(cm_drawing *d, const char *name);
void cm_draw_end(cm_drawing *d);

/** Several drawings as one, `across` of them side by side, each under its title; a single one stays as it is, of none
 *  nothing is made. */
const cm_drawing *cm_drawing_join(cm_session *session, int count, const cm_drawing *const *parts, int across);

/** `radius` away from `centre` at a paper angle in degrees clockwise from the top. */
cm_point cm_point_at(cm_point centre, double radius, double degrees);

/** The drawing inside an HTML page; `number` makes its ids its own. */
void cm_drawing_inside(cm_text *out, const cm_drawing *d, int number);

/** The drawing as a file that stands by itself. */
const char *cm_drawing_file(cm_session *session, const cm_drawing *d);

#endif
