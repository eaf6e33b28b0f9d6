/* The art: what is printed of a course, resolved to plain geometry. No names of the language are
 * left, fills are outlines, every colour is a number. A plan shares its course's, so that whoever
 * has the plan needs no course.
 *
 * Painted in this order, later over earlier: ground, fills, lines, marks, lettering. */
#ifndef SCENE_ART_H
#define SCENE_ART_H

#include "base/diag.h"
#include "base/vec.h"
#include "scene/piece.h"

#include <stdatomic.h>
#include <stdint.h>

/* Where something stands in the course's text; both from 1, columns in characters. All 0 where it
 * has no place, and in a plan that was read. */
typedef struct pv_source {
    int line, column;
} pv_source;

typedef struct pv_colour {
    char *name;
    uint8_t rgb[3]; /* sRGB codes (IEC 61966-2-1) */
} pv_colour;

/* How the two ends of an open line are finished. */
typedef enum pv_ends {
    PV_ENDS_FLAT,   /* the paint ends where the centre line ends */
    PV_ENDS_SQUARE, /* half a width further */
    PV_ENDS_ROUND   /* a half disc further */
} pv_ends;

/* One continuous painted line. Its pieces follow each other end to start; corners are mitred (up
 * to PV_MITRE_LIMIT half widths from the corner, bevelled past it); paint is symmetric about the
 * pieces. */
typedef struct pv_line {
    char *id; /* unique in the course */
    pv_piece *pieces;
    size_t n_pieces;
    bool closed; /* the last piece ends where the first starts */
    double width;
    size_t colour;
    pv_ends ends;
    pv_source source;
} pv_line;

#define PV_MITRE_LIMIT 4.0

typedef struct pv_ring {
    pv_vec *points; /* the last is joined to the first, not repeated */
    size_t n;
} pv_ring;

/* An area painted in one colour: even-odd over its rings. Arcs are flattened to within
 * PV_FLATNESS. */
typedef struct pv_area {
    char *id;
    pv_ring *rings;
    size_t n_rings;
    size_t colour;
} pv_area;

#define PV_FLATNESS 0.001 /* mm, largest distance of a flattened arc from the arc */

typedef enum pv_anchor { PV_ANCHOR_LEFT, PV_ANCHOR_CENTRE, PV_ANCHOR_RIGHT } pv_anchor;

/* One line of lettering. */
typedef struct pv_lettering {
    char *text;    /* UTF-8 */
    pv_vec at;     /* on the base line */
    double height; /* of a capital letter, mm */
    double angle;  /* of the base line, radians counter-clockwise */
    pv_anchor anchor;
    size_t colour;
    pv_source source;
    pv_box frame; /* of all that it prints, and of its advance, in its own frame: base line along x,
                     anchor at the origin */
    pv_ring *rings; /* outlines of its letters in that frame: non-zero winding, flattened to within
                       PV_LETTER_FLATNESS; none of letters lower than PV_OUTLINED */
    size_t n_rings, cap_rings;
} pv_lettering;

#define PV_LETTER_FLATNESS 0.05 /* mm: far below what a square of 0.5 mm tells */
/* mm, height of a capital. The strokes of lower ones are about 1.4 mm wide, and narrower than what
 * is looked at without an edge near (measure/surface.h). */
#define PV_OUTLINED 10.0
/* Corners of one lettering's outlines. A letter has 4 to 60, a Chinese one 200; with more they are
 * left out. */
#define PV_OUTLINE_MAX 40000u

/* Sets the frame and the outlines by the typeface that it will be printed in. False where memory
 * ran out; pv_lettering_clear frees all that a lettering holds either way. */
struct pv_type;
bool pv_lettering_set(pv_lettering *lettering, const struct pv_type *type);
void pv_lettering_clear(pv_lettering *lettering);
size_t pv_lettering_corners(const pv_lettering *lettering);
void pv_lettering_drop_outline(pv_lettering *lettering);

/* The least tolerance that counts as one, in each's own unit. */
#define PV_TOLERANCE_LEAST 1e-9

/* Bounds of a tolerance of marks: less contrast is noise, less than a millimetre no sensor's spot.
 */
#define PV_MARK_CONTRAST_MIN 0.10
#define PV_SPOT_MIN          1.0
#define PV_SPOT_MAX          50.0

/* How far a value may be off, to either side. Each has a default (course/parse.c), so that every
 * course has them all. */
typedef struct pv_tolerances {
    double scale;    /* relative, of the scale along either axis: 0.003 is 0.3 % */
    double width;    /* mm, of a line's width */
    double spacing;  /* mm, between neighbouring centre lines */
    double skew;     /* mrad, of the right angle */
    double straight; /* mm, of a centre line */
    double contrast; /* of paper's light, over a sensor's spot: past it a mark counts */
    double spot;     /* mm, side of the square that a sensor sees at once */
} pv_tolerances;

typedef struct pv_art {
    char *name, *edition;
    bool inches; /* written in inches or feet: reports show lengths in inches */
    pv_vec size; /* of the mat, mm */
    size_t ground;
    pv_colour *colours;
    size_t n_colours, cap_colours;
    pv_line *lines;
    size_t n_lines, cap_lines;
    pv_area *fills;
    size_t n_fills, cap_fills;
    pv_area *marks; /* the start mark, and whatever else is a painted shape */
    size_t n_marks, cap_marks;
    pv_lettering *letterings;
    size_t n_letterings, cap_letterings;
    pv_tolerances tolerances;
    atomic_size_t *users; /* how many hold all this; NULL: one, and it can't be shared */
} pv_art;

/* An empty art, into *art, that can be shared. False where memory ran out. */
bool pv_art_open(pv_art *art);
/* *to becomes another holder of what an opened art holds, which must not change from then on. */
void pv_art_share(pv_art *to, const pv_art *from);
/* Empties the art, and frees what it holds (not the struct itself) where nobody shares it. */
void pv_art_clear(pv_art *art);
/* A deep copy into *to, which is overwritten. False, with *to emptied, where memory ran out. */
bool pv_area_copy(pv_area *to, const pv_area *from);
void pv_area_clear(pv_area *area);

bool pv_area_covers(const pv_area *area, pv_vec p); /* even-odd; open or shut on its edge */
pv_box pv_line_box(const pv_line *line);            /* of the paint */
pv_box pv_area_box(const pv_area *area);

pv_box pv_lettering_box(const pv_lettering *lettering); /* of its frame, on the mat */

/* One character of a lettering as it is printed: a box about its ink, which may slant. */
typedef struct pv_printed_letter {
    unsigned face, glyph; /* of the type */
    pv_vec corner[4];     /* counter-clockwise, mat frame */
} pv_printed_letter;

/* Calls `visit` with each that prints anything, until it gives false. False where that was so, or
 * memory ran out. */
typedef bool pv_printed_letter_visit(void *context, const pv_printed_letter *letter);
bool pv_lettering_each(const pv_lettering *lettering, const struct pv_type *type,
                       pv_printed_letter_visit *visit, void *context);

/* Relative luminance 0 to 1 (Y of IEC 61966-2-1) and linear light of a colour. */
double pv_colour_luminance(const pv_colour *colour);
void pv_colour_linear(const pv_colour *colour, double rgb[3]);

/* Where an edge between two colours goes when ink spreads: 1 where it moves from `own` into `side`
 * by all of the spread (own is the darker one), -1 where the other way, between where the two
 * differ in hue so that not all of red, green and blue agree: each share of light moves by its own
 * ink, and the edge by their mean, weighed with the squares of the differences. 0 for equal
 * colours. */
double pv_colour_spread(const pv_colour *own, const pv_colour *side);
/* What spreading ink does to the centre of a line of colour `own`, per length of the spread: by how
 * much it moves to the left, and how much of that either way is not certain because edges differ in
 * hue. Both 0 for a line darker, or lighter, than both its sides in all of red, green and blue. */
typedef struct pv_lean {
    double left;  /* -1 to 1 */
    double doubt; /* 0 to 1 */
} pv_lean;
pv_lean pv_colour_lean(const pv_colour *own, const pv_colour *left, const pv_colour *right);

#endif
