/* The guide's signs and pens. Private to this room. Sizes are in pen units: a millimetre where the
 * page is A4. All signs can be told apart in black and white. */
#ifndef GUIDE_SIGN_H
#define GUIDE_SIGN_H

#include "draw/drawing.h"

extern const uint8_t pv_guide_black[3], pv_guide_white[3], pv_guide_grey[3], pv_guide_pale[3];
extern const uint8_t pv_guide_run[3]; /* of the robot's run */

typedef struct pv_pen {
    pv_drawing *d;
    double unit; /* mm */
} pv_pen;

/* A box's outline, or one filled. */
void pv_pen_frame(const pv_pen *pen, pv_box box, double width, const uint8_t rgb[3]);
void pv_pen_fill(const pv_pen *pen, pv_box box, const uint8_t rgb[3]);
void pv_pen_bar(const pv_pen *pen, pv_vec a, pv_vec b, double width, const uint8_t rgb[3]);
void pv_pen_dashes(const pv_pen *pen, pv_vec a, pv_vec b, double width, const uint8_t rgb[3]);
/* Strokes at 45 degrees over `outer`, but not over `inner`. Rising strokes are for waste, falling
 * ones for tape. */
void pv_pen_hatch(const pv_pen *pen, pv_box outer, const pv_box *inner, bool falling);
/* Scissors at a place, opening the way of `ahead`, a unit vector. */
void pv_pen_scissors(const pv_pen *pen, pv_vec at, pv_vec ahead);
/* Two halves of a cross that meet, in a ring. */
void pv_pen_cross(const pv_pen *pen, pv_vec at);
/* The robot's way: an arrow that is centred at a place. */
void pv_pen_arrow(const pv_pen *pen, pv_vec at, pv_vec ahead, double length);
/* A strip of tape over a box: above the sheets, or beneath them. */
void pv_pen_tape(const pv_pen *pen, pv_box box, bool beneath);
/* Text in the middle of a place, on a white ground. */
void pv_pen_label(const pv_pen *pen, pv_vec at, double em, bool bold, const char *text);
/* A number in a disc that is that wide; a 1, with which all begins, in a black one. */
void pv_pen_number(const pv_pen *pen, pv_vec at, double size, size_t number);

#endif
