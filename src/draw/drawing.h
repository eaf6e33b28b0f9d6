/* From a page's scene to files.
 *
 * A drawing is one page as a list of operations: filled paths, clips and text, in mm with y up from
 * the page's lower left corner. Lines are filled outlines, not strokes, because renderers adjust
 * strokes to their pixels. drawing.c makes the list; art.c adds a mat's items within a window,
 * page.c those of a page, and subtracts the page's origin; run.c adds the robot's run, for people
 * who look at a course; strokes.c has rules, arcs, dashes and arrows for their drawings, column.c
 * has text that is broken into lines. Back ends
 * turn the list into PDF (pdf.c, in a type that pdf_type.c embeds) or SVG (svg.c), and know nothing
 * of scenes.
 *
 * A back end's duties. It refuses a drawing that has failed. A coordinate that isn't finite, or is
 * larger than its format can hold, is an error. So is a clip that never ends or never began; an
 * empty one lets nothing through. A subpath need not be closed to be filled. A path that is neither
 * filled nor clips is a mistake of whoever drew it, and pdf.c refuses it. Text is set in the
 * drawing's type and takes the width that pv_draw_ems says. svg.c refuses a picture: none of the
 * drawings that become SVG has one.
 *
 * A printer distorts. Its scale and skew are undone by one map over the finished drawing
 * (pv_drawing_map). Its ink moves every edge: gain.c makes the mat's art anew with each visible
 * edge moved the other way, and page.c draws strokes and tags thinner.
 *
 * pages.c is the public face: it loops over a plan's sheets, and is the one file here that knows a
 * plan. */
#ifndef DRAW_DRAWING_H
#define DRAW_DRAWING_H

#include "base/diag.h"
#include "base/memory.h"
#include "base/vec.h"
#include "paper/printer.h"
#include "type/type.h"

#include <stdint.h>

typedef enum pv_op_kind {
    PV_OP_MOVE,  /* starts a subpath at p[0] */
    PV_OP_LINE,  /* to p[0] */
    PV_OP_CURVE, /* cubic: p[0], p[1] controls, p[2] end */
    PV_OP_CLOSE, /* closes the subpath */
    PV_OP_FILL,  /* fills what was drawn since the last fill or clip; `even_odd`, `rgb` */
    PV_OP_CLIP,  /* meets the clip with what was drawn, until the matching PV_OP_END */
    PV_OP_END,   /* back to the clip before */
    PV_OP_TEXT,  /* `text` with its base line from p[0]; size, angle, bold, rgb */
    PV_OP_JPEG   /* a picture: its lower left corner at p[0], lower right p[1], upper left p[2] */
} pv_op_kind;

typedef struct pv_op {
    pv_op_kind kind;
    bool even_odd, bold;
    uint8_t rgb[3]; /* equal codes are printed as DeviceGray, so 0 0 0 is black ink alone */
    pv_vec p[3];
    double size, angle; /* mm of an em; radians */
    size_t text;        /* offset in the drawing's characters; index of a picture */
} pv_op;

typedef struct pv_drawing {
    double width, height; /* of the page */
    pv_box trim;          /* the finished piece */
    char *label;          /* of the page: the sheet's name */
    pv_op *ops;
    size_t n_ops, cap_ops;
    char *chars;
    size_t n_chars, cap_chars;
    pv_bytes *pictures; /* JPEG files */
    size_t n_pictures, cap_pictures;
    pv_type *type; /* that text is set in */
    bool failed;   /* memory ran out somewhere: the drawing must not be used */
} pv_drawing;

void pv_drawing_init(pv_drawing *drawing, pv_type *type, double width, double height);
void pv_drawing_clear(pv_drawing *drawing);

/* Maps all that is drawn linearly about the page's middle. Text keeps its shape, and grows as the
 * area does. */
void pv_drawing_map(pv_drawing *drawing, pv_linear map);

/* Adds all that another drawing of the same type shows, `scale` times as large, its lower left
 * corner at a place. */
void pv_draw_drawing(pv_drawing *d, const pv_drawing *from, pv_vec at, double scale);

void pv_draw_move(pv_drawing *d, pv_vec p);
void pv_draw_line(pv_drawing *d, pv_vec p);
void pv_draw_curve(pv_drawing *d, pv_vec c1, pv_vec c2, pv_vec p);
void pv_draw_close(pv_drawing *d);
void pv_draw_fill(pv_drawing *d, const uint8_t rgb[3], bool even_odd);
void pv_draw_clip(pv_drawing *d);
void pv_draw_end_clip(pv_drawing *d);
/* A text's advance in ems, by the drawing's type. Where memory runs out, the drawing has failed. */
double pv_draw_ems(pv_drawing *d, const char *utf8, bool bold);
void pv_draw_text(pv_drawing *d, pv_vec at, double size, double angle, bool bold,
                  const uint8_t rgb[3], const char *utf8);
/* A picture that fills a box; its bytes are copied. */
void pv_draw_jpeg(pv_drawing *d, pv_box box, const unsigned char *bytes, size_t size);
/* Shapes, all counter-clockwise. */
void pv_draw_box(pv_drawing *d, pv_box box);
/* A straight stroke as a filled box; added to the path, not filled yet. */
void pv_draw_bar(pv_drawing *d, pv_vec a, pv_vec b, double width);
/* An arc from where the path stands, as cubics of at most 22.5 degrees each: the largest distance
 * from the true arc is 2.7e-4 r (theta / 90 deg)^6, below 7e-8 r. */
void pv_draw_arc(pv_drawing *d, pv_vec centre, double radius, double from, double sweep);

#endif
