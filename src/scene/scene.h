/* The scene: what a mat, or one page, shows.
 *
 * A course ends in its art, a plan in sheets. What is seen at a place, though, whoever draws,
 * sights, measures or looks for plain ground asks in the same way, of a scene. It is a list of
 * items in the order of painting, each with its kind, colour, box, shape and whose it is, under one
 * index by place. It is made once and does not change.
 *
 *   the mat's scene    fills, lines (one item for each solid of their paint), marks, text
 *   a page's scene     borrows the mat's, and adds what that page alone has, painted later: strokes
 *                      of alignment crosses, ticks of scale bars, tags, the place of a card; and
 * for print the words and shapes that page/ puts around the cell
 *
 * Frames, all over the project:
 *
 *   mat       mm, origin at the mat's lower left corner, y up. The course, the plan and every scene
 *             are in it.
 *   page      mm, origin at the page's lower left corner as printed, y up. A page is a view of the
 *             mat: mat = page + scene->origin, and no sheet is placed from another. Only drawing
 *             and the pose subtract the origin.
 *   image     pixels, origin at the image's upper left corner, y down. The pose leads from the
 *             page to it.
 *   printer   the page as the printer distorts it: scale and skew about its middle
 *             (paper/printer.h). Only corrected drawings are in it.
 *
 * Files: art.h is what is printed, as plain geometry: lines of pieces (piece.h), areas of rings,
 * lettering. outline.h cuts a line's paint into solids. sides.h finds an area's sides, grid.h
 * boxes, by place; boxes.h makes boxes that hug what slants. scene.c builds scenes, finds items and
 * asks at points; plain.c and clear.c ask about colour in boxes and beside lines; raster.h asks at
 * very many points at once. card.h has the comb of a card's place.
 *
 * Questions are asked millions of times. At a point they need no memory; in a box they use what the
 * asker keeps in a pv_look from one question to the next. Their time grows with what stands near,
 * not with the mat. */
#ifndef SCENE_SCENE_H
#define SCENE_SCENE_H

#include "scene/boxes.h"
#include "scene/grid.h"
#include "scene/outline.h"
#include "scene/sides.h"

typedef enum pv_item_kind {
    PV_ITEM_FILL,
    PV_ITEM_LINE, /* one solid of a line's paint */
    PV_ITEM_MARK,
    PV_ITEM_TEXT,
    PV_ITEM_STROKE, /* an arm to both sides of a cross's middle */
    PV_ITEM_TICK,   /* of a scale bar */
    PV_ITEM_TAG,
    PV_ITEM_CARD,
    PV_ITEM_SHAPE, /* for people, like words: those of the same number are one path */
    PV_ITEM_WORDS
} pv_item_kind;

/* Colours of what only a page has; others are the art's. */
#define PV_COLOUR_BLACK (SIZE_MAX - 1)
#define PV_COLOUR_WHITE SIZE_MAX

#define PV_SHAPE_MAX 8

typedef struct pv_item {
    pv_item_kind kind;
    size_t of; /* whose: the art's fill, line, mark or lettering; the plan's cross; the sheet's bar
                  or tag */
    size_t colour;
    pv_box box;
    union {
        pv_solid solid;  /* LINE; of TEXT its box, which may slant */
        struct {         /* STROKE and TICK */
            pv_vec a, b; /* the centre line */
            double width;
        } bar;
        struct { /* TAG; `box` holds its quiet zone, too */
            pv_vec centre;
            unsigned id;
            double cell; /* mm */
        } tag;
        pv_box card; /* CARD: its outline; `box` holds the comb about it, too */
        struct {     /* SHAPE */
            pv_vec corner[PV_SHAPE_MAX];
            size_t n;
        } shape;
        struct {              /* WORDS */
            pv_vec at;        /* on the base line */
            double em, angle; /* mm; radians */
            bool bold;
            size_t text; /* where it starts in the scene's characters */
        } words;
    } u;
} pv_item;

typedef struct pv_support pv_support;

typedef struct pv_scene pv_scene;
struct pv_scene {
    const pv_art *art;
    const pv_scene *mat; /* of a page; NULL: this is the mat's */
    pv_vec origin, size; /* the page's lower left corner, and its size */
    pv_box page, window; /* the page, and where art prints on it; of the mat's scene, the mat */
    pv_box cell;         /* what of it is seen in the finished mat; of the mat's scene, the mat */
    pv_box trim;         /* of a page: what is left of it once it is cut */
    const char *name;    /* of a page: its sheet's */
    size_t code;         /* of a page: the number of the SHAPEs that are its QR code, or SIZE_MAX */
    pv_item *items;      /* its own, in the order of painting */
    size_t n_items, cap_items;
    char *chars; /* of its own words, each text with its end */
    size_t n_chars, cap_chars;
    /* For scene/ only. */
    pv_sides *areas; /* the art's fills, then its marks */
    size_t n_areas;
    pv_support *supports; /* see plain.c; indexed as if they followed the items */
    size_t n_supports, cap_supports;
    pv_boxes boxes;
    pv_grid grid;
};

/* The mat's; it borrows from the art. NULL where memory ran out. */
pv_scene *pv_scene_of(const pv_art *art);
/* A page's: begun, given its items, then closed to more. It borrows from the mat's. NULL, or false,
 * where memory ran out. */
pv_scene *pv_scene_page(const pv_scene *mat, pv_box page, pv_box window);
bool pv_scene_add(pv_scene *page, const pv_item *item);
/* Keeps a text; *at is where it starts in `chars`. */
bool pv_scene_text(pv_scene *page, const char *text, size_t *at);
bool pv_scene_seal(pv_scene *page);
void pv_scene_free(pv_scene *scene);

/* What an asker keeps between questions; begins zeroed. `failed` is set where memory ran out, stays
 * set, and makes what was answered worthless. */
typedef struct pv_look {
    const pv_item **items; /* found, in the order of painting */
    size_t n, cap;
    pv_found found; /* for scene/ only */
    bool failed;
} pv_look;

void pv_look_drop(pv_look *look);

/* ---- questions ---- */

/* What stands at a point of the mat; lettering, and what only pages have, left out. */
typedef struct pv_spot {
    size_t colour;
    long line; /* index of the topmost line there, or -1 */
    bool mark; /* a mark covers it */
    bool off;  /* the mat does not reach there: this is what would be cut off */
} pv_spot;

pv_spot pv_scene_at(const pv_scene *scene, pv_vec p);

/* Whether a fill or mark of the art covers a point, hidden or not. */
bool pv_scene_covers(const pv_scene *mat, pv_item_kind kind, size_t of, pv_vec p);

/* All items whose box meets a box, the mat's first; text with all that may print of it. False where
 * memory ran out. Of slanting and round things only those are found that come near, not all whose
 * boxes do. */
bool pv_scene_find(const pv_scene *scene, pv_box box, pv_look *look);

/* False where no paint of a line is in a box. */
bool pv_line_meets(const pv_line *line, pv_box box);

/* All that may print of a lettering lies in this. */
pv_box pv_text_reach(const pv_lettering *lettering);

/* Without memory: visits a mat's items that pv_scene_find finds, some several times, where they are
 * painted later first as far as they stand near each other. */
typedef bool pv_item_visit(void *context, const pv_item *item);
void pv_scene_visit(const pv_scene *mat, pv_box box, pv_item_visit *visit, void *context);

/* The rings of a mat's fill or mark whose box meets a box. */
bool pv_scene_rings(const pv_scene *mat, const pv_item *item, pv_box box, pv_ring_visit *visit,
                    void *context);

/* Whether nothing but one colour is seen within a box: it lies on the mat, no lettering's box and
 * nothing of a page's own meets it, and no edge between two colours passes through it. An edge that
 * is hidden beneath later paint, or that has the same colour on both sides, is none. Never true
 * where an edge is seen; may be false for a box that an edge misses by less than 1/100 of the box's
 * side. */
bool pv_scene_plain(const pv_scene *scene, pv_box box, size_t *colour, pv_look *look);

/* A place across a line, and how it is looked at. */
typedef struct pv_stand {
    size_t line;
    pv_vec at, heading; /* on its centre line, and unit, along it */
    double bend;        /* 1 / radius, positive where the centre lies to the left; 0: straight */
    const double *rows; /* mm along the line from `at`: where points across it are asked about */
    size_t n_rows;
    double skirt;            /* mm left out on both sides of an edge */
    double inside, outside;  /* mm from an edge to the last point into the line, and off it */
    int n_inside, n_outside; /* points from the skirt to there, two or more */
    bool marks_blur;         /* marks beside the line are not clear */
} pv_stand;

/* Whether the line itself shows there from both edges inwards, uncovered, and one colour beside it
 * on either side: beside[0] to the right, beside[1] to the left. Lettering, what only pages have
 * and contrast are the asker's to care for. */
bool pv_scene_clear(const pv_scene *scene, const pv_stand *stand, size_t beside[2]);

#endif
