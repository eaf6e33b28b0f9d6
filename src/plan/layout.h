/* The plan: a course laid on sheets.
 *
 * make.c makes one, in this order. lay.c finds how many sheets of the paper the mat takes, and
 * which way round; roll.c does that for a roll. division.c moves the seams between the cells to
 * where they cost least: cost.h says what a place costs, crosses.h whether it has room for
 * alignment crosses. order.c chooses which sheet lies over which, and so the order of taping. Then
 * the crosses are placed, anatomy.c puts each sheet's tags and scale bars on its page, and gauge.c
 * its gauge marks. Last, identity.c tells the plan from all others. keep.c takes an older plan's
 * seams instead, and compare.c says which sheets must then be printed again. proof.c makes the one
 * page that proves a printer.
 *
 * What comes out does not change any more. It shares its course's art and holds the mat's scene.
 * page.c gives the scene of each sheet's page: whoever draws, sights or measures reads that, not
 * the plan. write.c writes a plan as JSON, read.c reads it and trusts nothing that it reads; a plan
 * that was read draws and measures as the one that was made.
 *
 * Seams, crosses and cells are in the mat's frame; tags, bars, gauge marks and the card are in
 * their sheet's, the frame of its page (scene/scene.h has all frames). A sheet's `origin` is the
 * mat position of its page's lower left corner, so mat = sheet + origin; no sheet is placed from
 * another.
 *
 * A sheet, from its cell outwards, on each side:
 *   over    trimmed at the seam: the art goes on for PV_BLEED, then waste with the seam's label
 *   under   the art goes on for `lap_art`, then the service strip; both end up beneath the
 *           neighbour
 *   outer   the mat's own edge: the art ends, then the border, if there is one, then waste
 * Seams run straight across the whole mat. Which of a seam's sheets lies over is each seam's own,
 * as plan/order.h says; in a butt joint all sides at seams are trimmed, and count as over.
 *
 * Tags and scale bars stand in service strips, one across and one upright: along an under side, or
 * where there is none of that direction, along the bottom or the right side, in what is cut away.
 */
#ifndef PLAN_LAYOUT_H
#define PLAN_LAYOUT_H

#include "po/po.h"
#include "scene/card.h"
#include "scene/scene.h"
#include "tag/tag.h"

#include <pavior/sheets.h>

#define PV_BLEED       3.0  /* mm of art beyond the trim line; 3 mm is common practice, no source */
#define PV_LAP_ART     4.0  /* mm of art beyond the seam beneath the neighbour, at least */
#define PV_LABEL_STRIP 4.0  /* mm beyond the bleed on an over side: the seam's label */
#define PV_SERVICE     12.0 /* mm, the service strip with tags and scale bars, at most */
#define PV_SERVICE_MIN 6.0  /* mm: a tag's cell is then 0.5 mm, 5.9 px of a scan at 300 dpi */
#define PV_OVERLAP     16.0 /* mm, default: PV_LAP_ART + PV_SERVICE */
#define PV_OVERLAP_MIN 10.0 /* mm: PV_LAP_ART + PV_SERVICE_MIN */
#define PV_OVERLAP_MAX 1000.0 /* mm; ours, as the border's: far more than a hand can lay */
#define PV_BORDER_MAX  1000.0 /* mm */
#define PV_PAGE_SIDE_MAX                                                                           \
    120000.0                 /* mm: a mat of PV_COURSE_SIDE_MAX with all that stands around it */
#define PV_CROSS_ARM    2.5  /* mm from a cross's centre to the end of an arm */
#define PV_CROSS_WEIGHT 0.25 /* mm */
#define PV_CROSS_CLEAR  1.0  /* mm of plain colour around a cross's box */
#define PV_CROSS_PITCH  80.0 /* mm between neighbouring crosses of a seam, at most */
#define PV_BAR_WEIGHT   0.25 /* mm, a scale bar's ticks */
#define PV_CUT_LANE     1.5  /* mm on both sides of a trim line's extension, kept for cut marks */
/* A tag with its quiet zone is a square as wide as the service strip: 9 cells and 1.5 all round. */
#define PV_TAG_BOX_CELLS 12

typedef enum pv_side { PV_LEFT, PV_BOTTOM, PV_RIGHT, PV_TOP } pv_side;
typedef enum pv_side_kind { PV_OVER, PV_UNDER, PV_OUTER } pv_side_kind;

typedef struct pv_tag {
    unsigned id;
    pv_vec centre; /* sheet frame; the tag stands upright on the sheet */
    double cell;   /* mm */
} pv_tag;

/* Where service strips are: below and to the right of each cell; or, on a roll that has no room for
 * them beside the mat, before and after it, along y or x. */
typedef enum pv_strips { PV_STRIPS_AROUND, PV_STRIPS_ALONG_Y, PV_STRIPS_ALONG_X } pv_strips;

/* A row of ticks in a service strip, to be held against a ruler, and measured by inspect: tick i
 * (0 to count) has its centre line through at + i * step along x (or y, if `vertical`), and is
 * `tick` long at right angles to that, to the side of growing y (or x). Between a bar's ticks and
 * the next thing on the side away from the art there is room for figures, `tick` high, and at both
 * ends PV_BAR_END. Millimetres go by 10, inches by halves and end at a whole one. */
typedef struct pv_bar {
    pv_vec at; /* sheet frame */
    bool vertical, inch;
    int count;
    double step, tick; /* mm */
} pv_bar;

#define PV_SHEET_BARS_MAX 4
#define PV_BAR_END        2.5 /* mm kept free beyond a bar's first and last tick */

/* Gauge marks (plan/gauge.h): crosses of strokes PV_CROSS_WEIGHT wide. */
#define PV_GAUGE_MARKS 4
#define PV_GAUGE_NAMES "PQRS"
#define PV_GAUGE_ARM   1.5  /* mm from a mark's centre to the end of an arm */
#define PV_GAUGE_CLEAR 0.25 /* mm kept free around it */
#define PV_GAUGE_LEAST 20.0 /* mm between two marks: less is not worth measuring */

/* What a service strip keeps free in one piece for its seam's label, before any bar: the label is
 * shorter along a seam under PV_SEAM_SHORT. */
#define PV_SEAM_SHORT      110.0 /* mm */
#define PV_SEAM_ROOM       34.0  /* mm */
#define PV_SEAM_ROOM_SHORT 24.0  /* mm */

/* An alignment cross: centred on a seam, printed on both sheets. */
typedef struct pv_cross {
    pv_vec at;  /* mat frame */
    bool light; /* light on dark: printed in white, else in black */
} pv_cross;

/* Where two cells meet. */
typedef struct pv_seam {
    size_t over, under;            /* sheets; in a butt joint the one taped later is `over` */
    bool vertical;                 /* runs along y */
    double at;                     /* its x (vertical) or y, mat frame */
    double from, to;               /* its extent along the other axis */
    size_t first_cross, n_crosses; /* in the plan's list */
} pv_seam;

typedef struct pv_sheet {
    char name[12];      /* "A1": row letters (A, B, ..., Z, AA), then column number */
    size_t row, column; /* from 0; row 0 is the top */
    unsigned number;    /* its index in the plan's list */
    pv_box cell;        /* mat frame */
    pv_vec origin;
    pv_side_kind side[4];
    size_t seam[4]; /* in the plan's list, or SIZE_MAX on an outer side */
    pv_tag tag[PV_TAG_PLACES];
    pv_bar bar[PV_SHEET_BARS_MAX];
    size_t n_bars;
    pv_vec gauge[PV_GAUGE_MARKS]; /* sheet frame: P, Q, R, S */
    size_t n_gauge;               /* PV_GAUGE_MARKS or 0 */
    bool has_card;
    pv_box card; /* sheet frame: the card's nominal outline */
} pv_sheet;

/* The fingerprint as people compare it, "5K7-2XQM": seven digits to the base 32, without the
 * letters I, L, O and U. */
/* 32 letters and digits, none of which is read for another. */
#define PV_CLEAR_LETTERS "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
#define PV_KIT_CHARS     8
#define PV_KIT_BREAK     3 /* the hyphen's place */
typedef struct pv_kit_text {
    char chars[PV_KIT_CHARS + 1];
} pv_kit_text;

struct pv_plan {
    pv_art art;
    pv_scene *mat;    /* the art's scene; made once the rest is */
    char *paper;      /* name to show */
    double page[2];   /* mm, as printed: width, height */
    double margin[4]; /* left, bottom, right, top */
    double bleed;     /* mm */
    double overlap;   /* mm, lap_art + service */
    double lap_art, service;
    double border;           /* mm left blank beyond the mat's own edges, and not cut away */
    pv_strips strips;        /* of a plan in one piece; else around each cell */
    uint64_t fingerprint;    /* below PV_TAG_IDENTITIES: of all that decides what is printed */
    bool proof;              /* one page to prove a printer by (plan/proof.h), to be cut nowhere */
    pv_correction corrected; /* for the printer that the sheets are drawn for; neutral for none */
    pv_printer *printer;     /* it, or NULL for none. A plan that was read has one made from
                                `corrected`, if anything is: it draws the same, but has no name and
                                nothing that was measured and not corrected */
    pv_type *type;           /* the course's, borrowed, for who draws the plan without naming one.
                                A face is no part of a plan: one that was read has NULL, and takes
                                the face from its caller */
    const pv_language *language; /* of what people read around the mat, in waste and laps alone: it
                                    is recorded, but no part of the fingerprint */
    char *url; /* of the folder with the sheets' pages, or NULL; each sheet's QR code leads to its
                  own. In waste and laps alone, so no part of the fingerprint, as the language */
    size_t rows, columns;
    pv_joint joint;
    pv_sheet *sheets; /* in reading order */
    size_t n_sheets;
    size_t *taping; /* sheets in the order of taping: each over sheet after its under sheet */
    pv_seam *seams;
    size_t n_seams;
    pv_cross *crosses;
    size_t n_crosses;
    pv_piece *route; /* the way of the robot's pivot, mat frame; each piece starts where the one
                        before ends */
    size_t n_route;  /* 0 where the course has no route */
    /* No seams cost less than these by more than that (docs/how/seams.md); 0 where they are proved
     * best. */
    double seams_gap;
    bool kept; /* seams, and identities of sheets, are an older plan's as far as they could be */
    pv_kit_text former; /* that one's fingerprint; "" where it isn't known */
};

/* pv_plan_make without a course: there is no route. Its type is the options'. */
pv_plan *pv_plan_of_art(const pv_art *art, const pv_layout_options *options, pv_diags *diags);

pv_kit_text pv_plan_kit(const pv_plan *plan);

/* The mat area for which a sheet prints art: the cell with bleed and lap. */
pv_box pv_sheet_art_box(const pv_plan *plan, const pv_sheet *sheet);
/* That with the border: nothing else may be printed here. The cell with the border: the finished
 * piece. */
pv_box pv_sheet_kept_box(const pv_plan *plan, const pv_sheet *sheet);
pv_box pv_sheet_trim_box(const pv_plan *plan, const pv_sheet *sheet);
/* The cell in the sheet's frame. */
pv_box pv_sheet_cell(const pv_sheet *sheet);
/* What the printer reaches of the page, sheet frame. */
pv_box pv_plan_printable(const pv_plan *plan);
/* Whether there is a service strip along a side; on two opposite sides there may be one each, of
 * which the bottom's and the right one have the tags and bars. */
bool pv_sheet_is_wide(const pv_sheet *sheet, pv_side side);
/* The side with the tags and bars of a direction: bottom or top, right or left. */
pv_side pv_sheet_service_side(const pv_sheet *sheet, bool vertical);
/* mm, the largest cell that the page takes as one of so many beside or above each other: width and
 * height. */
void pv_plan_largest_cell(const pv_plan *plan, double most[2]);
/* How far a sheet needs the page past its cell on a side. */
double pv_sheet_allowance(const pv_plan *plan, const pv_sheet *sheet, pv_side side);
/* The strip along a side, outside all art and border, as long as the cell, in the sheet's frame:
 * the service strip where there is one, else the label's. The square between the two service strips
 * is a tag's. */
pv_box pv_sheet_strip(const pv_plan *plan, const pv_sheet *sheet, pv_side side);
/* A tag with its quiet zone, sheet frame. */
pv_box pv_tag_box(const pv_tag *tag);
/* A gauge mark with what is kept free around it, sheet frame. */
pv_box pv_gauge_box(pv_vec mark);

/* The card's outline with its comb, sheet frame. */
pv_box pv_sheet_card_box(const pv_sheet *sheet);

/* What inspection looks for on a sheet's page, and nothing that is there for people: its own items
 * are the STROKEs of the crosses on its seams, two each, the TICKs of its bars and of its gauge
 * marks, two each, its TAGs and its
 * CARD. It borrows from the plan. `begin` leaves it open to more. NULL where memory ran out. */
pv_scene *pv_plan_page_begin(const pv_plan *plan, const pv_sheet *sheet);
pv_scene *pv_plan_page(const pv_plan *plan, const pv_sheet *sheet);

/* The tape, the cuts and the time of a takeoff. */
void pv_plan_work(const pv_plan *plan, pv_takeoff *out);

/* Which sheets a range names (pv_pdf_options), one flag a sheet. The caller frees *chosen. */
bool pv_plan_choose(const pv_plan *plan, const char *range, bool **chosen, pv_diags *diags);

/* Reads an upper-case or lower-case sheet name; SIZE_MAX where the plan has no such sheet. */
size_t pv_plan_find_sheet(const pv_plan *plan, const char *name);

#endif
