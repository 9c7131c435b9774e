/* SPDX-License-Identifier: MIT */
/* Shapes as SVG. Numbers carry two decimals; every text goes through page/markup.c. */
#include "page/draw.h"

#include "page/assets.h"
#include "page/markup.h"

#include <math.h>

static const double DEGREE = 0.017453292519943295; /* pi/180 */
static const double HEAD = 7;                      /* length of an arrow's head */

cm_drawing *cm_drawing_new(cm_session *session, double width, double height, const char *title,
                           const char *description)
{
    cm_drawing *d = CM_NEW(session, 1, cm_drawing);
    *d = (cm_drawing){.session = session,
                      .width = width,
                      .height = height,
                      .title = title,
                      .description = description,
                      .body = {.session = session}};
    cm_text_add(&d->body, "");
    return d;
}

static void attribute(cm_drawing *d, const char *name, double value)
{
    cm_text_print(&d->body, " %s=\"", name);
    cm_markup_add_number(&d->body, isfinite(value) ? value : 0);
    cm_text_add(&d->body, "\"");
}

static void begin(cm_drawing *d, const char *element, const char *looks)
{
    cm_text_print(&d->body, "<%s class=\"%s\"", element, looks);
}

static void end(cm_drawing *d)
{
    cm_text_add(&d->body, "/>\n");
}

static void add_pair(cm_drawing *d, cm_point p)
{
    cm_markup_add_number(&d->body, p.x);
    cm_text_add(&d->body, " ");
    cm_markup_add_number(&d->body, p.y);
}

void cm_draw_line(cm_drawing *d, const char *looks, cm_point from, cm_point to)
{
    begin(d, "line", looks);
    attribute(d, "x1", from.x);
    attribute(d, "y1", from.y);
    attribute(d, "x2", to.x);
    attribute(d, "y2", to.y);
    end(d);
}

/* A head at `tip` that points along (x, y), a vector of length 1. */
static void draw_head(cm_drawing *d, const char *looks, cm_point tip, double x, double y)
{
    cm_point left = {tip.x - HEAD * x + HEAD / 2 * y, tip.y - HEAD * y - HEAD / 2 * x};
    cm_point right = {tip.x - HEAD * x - HEAD / 2 * y, tip.y - HEAD * y + HEAD / 2 * x};
    cm_draw_path(d, looks, 3, (cm_point[]){left, tip, right}, false);
}

void cm_draw_arrow(cm_drawing *d, const char *looks, cm_point from, cm_point to)
{
    double length = hypot(to.x - from.x, to.y - from.y);
    if (length < 1) {
        cm_draw_mark(d, looks, CM_MARK_DOT, to, 2);
        return;
    }
    cm_draw_line(d, looks, from, to);
    draw_head(d, looks, to, (to.x - from.x) / length, (to.y - from.y) / length);
}

void cm_draw_circle(cm_drawing *d, const char *looks, cm_point centre, double radius)
{
    begin(d, "circle", looks);
    attribute(d, "cx", centre.x);
    attribute(d, "cy", centre.y);
    attribute(d, "r", radius);
    end(d);
}

void cm_draw_box(cm_drawing *d, const char *looks, cm_point corner, double width, double height)
{
    begin(d, "rect", looks);
    attribute(d, "x", corner.x);
    attribute(d, "y", corner.y);
    attribute(d, "width", fmax(width, 0));
    attribute(d, "height", fmax(height, 0));
    end(d);
}

void cm_draw_path(cm_drawing *d, const char *looks, int count, const cm_point *points, bool closed)
{
    begin(d, "path", looks);
    cm_text_add(&d->body, " d=\"");
    for (int i = 0; i < count; i++) {
        cm_text_add(&d->body, i ? " L" : "M");
        add_pair(d, points[i]);
    }
    cm_text_add(&d->body, closed ? " Z\"" : "\"");
    end(d);
}

cm_point cm_point_at(cm_point centre, double radius, double degrees)
{
    return (cm_point){centre.x + radius * sin(degrees * DEGREE), centre.y - radius * cos(degrees * DEGREE)};
}

void cm_draw_arc(cm_drawing *d, const char *looks, cm_point centre, double radius, double from, double to,
                 bool head)
{
    cm_point start = cm_point_at(centre, radius, from), stop = cm_point_at(centre, radius, to);
    begin(d, "path", looks);
    cm_text_add(&d->body, " d=\"M");
    add_pair(d, start);
    cm_text_add(&d->body, " A");
    add_pair(d, (cm_point){radius, radius});
    cm_text_print(&d->body, " 0 %d %d ", fabs(to - from) > 180, to > from);
    add_pair(d, stop);
    cm_text_add(&d->body, "\"");
    end(d);
    double turn = to > from ? 1 : -1;
    if (head)
        draw_head(d, looks, stop, turn * cos(to * DEGREE), turn * sin(to * DEGREE));
}

void cm_draw_mark(cm_drawing *d, const char *looks, cm_mark_shape shape, cm_point at, double size)
{
    double s = size, x = at.x, y = at.y;
    switch (shape) {
    case CM_MARK_DISC: /* what fills it is a matter of its looks */
    case CM_MARK_RING:
        cm_draw_circle(d, looks, at, s);
        break;
    case CM_MARK_DOT:
        cm_draw_circle(d, looks, at, s / 2);
        break;
    case CM_MARK_SQUARE:
        cm_draw_box(d, looks, (cm_point){x - s, y - s}, 2 * s, 2 * s);
        break;
    case CM_MARK_DIAMOND:
        cm_draw_path(d, looks, 4,
                     (cm_point[]){{x, y - 1.3 * s}, {x + 1.3 * s, y}, {x, y + 1.3 * s}, {x - 1.3 * s, y}},
                     true);
        break;
    case CM_MARK_TRIANGLE:
        cm_draw_path(d, looks, 3, (cm_point[]){{x - s, y - s}, {x + s, y - s}, {x, y + s}}, true);
        break;
    case CM_MARK_CROSS:
        cm_draw_path(d, looks, 2, (cm_point[]){{x - s, y - s}, {x + s, y + s}}, false);
        cm_draw_path(d, looks, 2, (cm_point[]){{x - s, y + s}, {x + s, y - s}}, false);
        break;
    }
}

static void open_words(cm_drawing *d, const char *looks, cm_anchor anchor, cm_point at)
{
    static const char *const names[] = {[CM_LEFT] = "start", [CM_MIDDLE] = "middle", [CM_RIGHT] = "end"};
    begin(d, "text", looks);
    attribute(d, "x", at.x);
    attribute(d, "y", at.y);
    cm_text_print(&d->body, " text-anchor=\"%s\"", names[anchor]);
}

static void close_words(cm_drawing *d, const char *words)
{
    cm_text_add(&d->body, ">");
    cm_markup_add(&d->body, words);
    cm_text_add(&d->body, "</text>\n");
}

void cm_draw_words(cm_drawing *d, const char *looks, cm_anchor anchor, cm_point at, const char *words)
{
    open_words(d, looks, anchor, at);
    close_words(d, words);
}

void cm_draw_turned_words(cm_drawing *d, const char *looks, cm_anchor anchor, cm_point at, double degrees,
                          const char *words)
{
    open_words(d, looks, anchor, at);
    cm_text_add(&d->body, " transform=\"rotate(");
    cm_markup_add_number(&d->body, degrees);
    cm_text_add(&d->body, " ");
    add_pair(d, at);
    cm_text_add(&d->body, ")\"");
    close_words(d, words);
}

void cm_draw_shade(cm_drawing *d, cm_point corner, double width, double height, double share)
{
    begin(d, "rect", "shade");
    attribute(d, "x", corner.x);
    attribute(d, "y", corner.y);
    attribute(d, "width", width);
    attribute(d, "height", height);
    attribute(d, "fill-opacity", fmin(fmax(share, 0), 1));
    end(d);
}

void cm_draw_begin(cm_drawing *d, const char *name)
{
    cm_text_add(&d->body, "<g><title>");
    cm_markup_add(&d->body, name);
    cm_text_add(&d->body, "</title>\n");
}

void cm_draw_end(cm_drawing *d)
{
    cm_text_add(&d->body, "</g>\n");
}

static void add_part(cm_drawing *d, const cm_drawing *part, cm_point corner)
{
    cm_draw_words(d, "strong", CM_LEFT, (cm_point){corner.x + 6, corner.y + 14}, part->title);
    cm_text_add(&d->body, "<g transform=\"translate(");
    add_pair(d, (cm_point){corner.x, corner.y + 22});
    cm_text_add(&d->body, ")\">\n");
    cm_text_add(&d->body, part->body.bytes);
    cm_text_add(&d->body, "</g>\n");
}

const cm_drawing *cm_drawing_join(cm_session *session, int count, const cm_drawing *const *parts, int across)
{
    double width = 0, height = 0;
    if (count <= 1)
        return count ? parts[0] : NULL;
    for (int i = 0; i < count; i++) {
        width = fmax(width, parts[i]->width);
        height = fmax(height, parts[i]->height + 30);
    }
    int columns = count < across ? count : across, lines = (count + columns - 1) / columns;
    const char *title = parts[0]->title, *words = parts[0]->description;
    for (int i = 1; i < count; i++) {
        title = cm_format(session, "%s; %s", title, parts[i]->title);
        words = cm_format(session, "%s %s", words, parts[i]->description);
    }
    cm_drawing *d = cm_drawing_new(session, width * columns, height * lines, title, words);
    for (int i = 0; i < count; i++) {
        int line = i / columns, column = i % columns;
        add_part(d, parts[i], (cm_point){width * column, height * line});
    }
    return d;
}

static void open_svg(cm_text *out, const cm_drawing *d, const char *more)
{
    cm_text_print(out, "<svg %s viewBox=\"0 0 ", more);
    cm_markup_add_number(out, d->width);
    cm_text_add(out, " ");
    cm_markup_add_number(out, d->height);
    cm_text_add(out, "\" role=\"img\"");
}

static void name_svg(cm_text *out, const cm_drawing *d, int number)
{
    cm_text_print(out, " aria-labelledby=\"t%d d%d\">\n<title id=\"t%d\">", number, number, number);
    cm_markup_add(out, d->title);
    cm_text_print(out, "</title>\n<desc id=\"d%d\">", number);
    cm_markup_add(out, d->description);
    cm_text_add(out, "</desc>\n");
}

void cm_drawing_inside(cm_text *out, const cm_drawing *d, int number)
{
    open_svg(out, d, d->wide ? "class=\"drawing wide\"" : "class=\"drawing\"");
    name_svg(out, d, number);
    cm_text_add(out, d->body.bytes);
    cm_text_add(out, "</svg>\n");
}

const char *cm_drawing_file(cm_session *session, const cm_drawing *d)
{
    cm_text out = {.session = session};
    cm_text_add(&out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    open_svg(&out, d, "xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing alone\"");
    cm_text_add(&out, " width=\"");
    cm_markup_add_number(&out, 2 * d->width);
    cm_text_add(&out, "\" height=\"");
    cm_markup_add_number(&out, 2 * d->height);
    cm_text_add(&out, "\"");
    name_svg(&out, d, 1);
    cm_text_add(&out, "<style>\n");
    cm_text_add_bytes(&out, (const char *)CM_DRAWING_CSS.bytes, CM_DRAWING_CSS.length);
    cm_text_add(&out, "</style>\n<rect class=\"paper\" width=\"100%\" height=\"100%\"/>\n");
    cm_text_add(&out, d->body.bytes);
    cm_text_add(&out, "</svg>\n");
    return out.bytes;
}
