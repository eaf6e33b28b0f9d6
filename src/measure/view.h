/* What should be where on a page, what is there, and how light bare paper would be there: all that
 * judging shapes and areas stands on. */
#ifndef MEASURE_VIEW_H
#define MEASURE_VIEW_H

#include "measure/station.h"

/* ---- what stands where ---- */

/* A label is a colour of the art, or (from n_colours on) a line of it, or one of these. */
#define PV_LABEL_BLOCKED UINT32_MAX       /* lettering, crosses, off the page: ask nothing here */
#define PV_LABEL_WASTE   (UINT32_MAX - 1) /* the page outside all art: paper, tags and words */

#define PV_LABEL_CELL 0.25       /* mm, larger on sheets that would have too many */
#define PV_LABELS_MAX 12000000u  /* cells */
#define PV_LABEL_WORK 600000000u /* cells painted, overlaps counted: past that nothing is known */

/* The page as the plan has it, mat frame, its lowest row first. */
typedef struct pv_labels {
    const pv_art *art;
    pv_vec lo;
    double cell;
    size_t nx, ny;
    uint32_t *at;
    bool overrun;   /* more than PV_LABEL_WORK: blocked all over */
    uint8_t *edged; /* of PV_LABEL_LETTERED and so on; PV_LABEL_EDGED where a thin line or the
                       border of an area passes: it may slip between the cells' middles, which is
                       where labels are asked for */
} pv_labels;

#define PV_LABEL_LETTERED 1 /* alike: blocked by lettering alone */
#define PV_LABEL_EDGED    2
#define PV_LABEL_TOOTH    4   /* alike: by a black tooth about a card's place, */
#define PV_LABEL_BY_TOOTH 8   /* and within PV_CLUTTER_CLEAR of one */
#define PV_LABEL_THIN     2.0 /* cells: lines narrower than that are marked so */

/* False where memory ran out. Too much overlap gives a page that is blocked all over. */
bool pv_labels_make(pv_labels *labels, const pv_shown *shown);
void pv_labels_clear(pv_labels *labels);
uint32_t pv_label_at(const pv_labels *labels, pv_vec mat);
/* The one label of all cells within `half` of a place along x and y, if no edge passes there; else
 * PV_LABEL_BLOCKED. */
uint32_t pv_label_around(const pv_labels *labels, pv_vec mat, double half);
/* The art's colour of a label; SIZE_MAX for waste and blocked. */
size_t pv_label_colour(const pv_art *art, uint32_t label);

/* ---- what is seen ---- */

#define PV_CELL_SIDE  1.0     /* mm: squares over which light is averaged */
#define PV_CELL_CLEAR 1.1     /* mm to each side of a square's middle that must be of one label */
#define PV_CELLS_MAX  600000u /* on a sheet; past that they stand farther apart */

typedef struct pv_cell {
    uint32_t label; /* PV_LABEL_BLOCKED where the square isn't plain, or not in the image */
    float light[3]; /* linear light, mean over the square */
} pv_cell;

typedef struct pv_cells {
    pv_vec lo; /* middle of the first, mat frame */
    double pitch;
    size_t nx, ny;
    int channels;
    pv_cell *at;
} pv_cells;

/* False where memory ran out. */
bool pv_cells_make(pv_cells *cells, const pv_frame *frame, const pv_plane *plane,
                   const pv_labels *labels);
void pv_cells_clear(pv_cells *cells);

#define PV_WHITE_PITCH 20.0 /* mm between its nodes, or more */
#define PV_WHITE_NODES 16   /* along a side, at most */

/* The light that bare paper shows, or would show, at each place: uneven light is in it. Bilinear
 * between nodes. */
typedef struct pv_white {
    bool known; /* false: nowhere was bare paper seen */
    pv_vec lo;
    double step[2];
    size_t nx, ny;
    int channels;
    double *at; /* nx ny channels */
} pv_white;

/* From the paper that the sheet shows bare, and carried across areas of one colour by how that
 * colour changes: a colour counts as the same reflectance wherever it stands. soft: light may
 * change over short ways (a photograph). False where memory ran out. */
bool pv_white_make(pv_white *white, const pv_cells *cells, const pv_art *art, bool soft);
void pv_white_clear(pv_white *white);
/* Three values also for gray. */
void pv_white_at(const pv_white *white, pv_vec mat, double light[3]);

/* All that the parts below need. */
typedef struct pv_view {
    const pv_shown *shown;
    const pv_frame *frame;
    const pv_plane *plane;
    const pv_art *art;
    double px; /* per nominal mm */
    bool hues; /* the picture has hues at all: not a gray scan, though stored in three channels */
    pv_labels labels;
    pv_cells cells;
    pv_white white;
} pv_view;

/* False where memory ran out; close it either way. px: per nominal mm. */
bool pv_view_open(pv_view *view, const pv_shown *shown, const pv_frame *frame,
                  const pv_plane *plane, double px);
void pv_view_close(pv_view *view);

/* A colour of the art in the picture's channels: linear light, relative to paper; of a gray picture
 * its luminance. Three values. */
void pv_view_nominal(const pv_view *view, size_t colour, double light[3]);
/* Luminance (Y of IEC 61966-2-1) of light in the picture's channels. */
double pv_view_luminance(const pv_view *view, const double light[3]);
/* Root mean square of the difference over the picture's channels. */
double pv_view_apart(const pv_view *view, const double a[3], const double b[3]);
/* The course asks for hue and it is gone. */
bool pv_view_gray(const pv_view *view, const double printed[3], const double nominal[3]);

#endif
