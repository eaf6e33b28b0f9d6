/* The one way to write SVG. Every element's class comes first; "" is none. Lengths are in the
 * drawing's own unit, y downwards. */
#ifndef HTML_SVG_H
#define HTML_SVG_H

#include "base/text.h"
#include "base/vec.h"

/* A coordinate: two decimals at most, as few characters as it takes; 0 where not finite. */
void pv_svg_number(pv_text *to, double value);
/* " name=\"value\"" */
void pv_svg_attribute(pv_text *to, const char *name, double value);

/* "x y width height", as in viewBox; within its template's <svg> the following stand. */
void pv_svg_view(pv_text *to, pv_box view);
/* "<svg class=... viewBox=...": attributes may follow, then ">", in the end "</svg>". */
void pv_svg_open(pv_text *to, const char *kind, pv_box view);
void pv_svg_rect(pv_text *to, const char *kind, pv_box box);
void pv_svg_circle(pv_text *to, pv_vec middle, double radius);
/* A symbol of the page in a box. */
void pv_svg_use(pv_text *to, const char *id, pv_box box);

/* "<path class=... d=\"", its points, "\"/>". */
void pv_svg_path(pv_text *to, const char *kind);
void pv_svg_point(pv_text *to, char letter, pv_vec p);
void pv_svg_stroke(pv_text *to, pv_vec a, pv_vec b); /* from here to there, within a path */
void pv_svg_path_end(pv_text *to);
void pv_svg_rule(pv_text *to, const char *kind, pv_vec a, pv_vec b); /* a whole path */

/* "<text ...>": its words follow, then "</text>". anchor: "start", "middle", "end"; size 0: that of
 * the style sheet. */
void pv_svg_text(pv_text *to, const char *kind, const char *anchor, pv_vec at, double size);

#endif
