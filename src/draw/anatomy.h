/* What stands around a sheet's cell (docs/how/sheet-anatomy.md). Private to this room. Everything
 * is in the sheet's frame. */
#ifndef DRAW_ANATOMY_H
#define DRAW_ANATOMY_H

#include "draw/drawing.h"
#include "draw/space.h"
#include "paper/printer.h"
#include "plan/layout.h"

typedef struct pv_anatomy {
    pv_drawing *drawing;
    const pv_plan *plan;
    const pv_sheet *sheet;
    const pv_printer *printer; /* that all is corrected for, or NULL */
    double ink;                /* mm, as pv_printer_ink */
    pv_diags *diags;
    pv_space space;
    pv_box cell;
} pv_anatomy;

/* ---- anatomy.c ---- */
extern const uint8_t pv_ink[3]; /* of all that stands around the cell: black */

/* Height of a text's box in ems, and how much of that is below the base line: brackets and bars
 * reach from -0.225 to 0.775 in the font's metrics, accents on capitals to 0.94. */
double pv_text_height(const char *text);
#define PV_TEXT_BELOW 0.225

/* Writes a text into a box of its own width and height, turned by a quarter or not. */
void pv_draw_words(pv_anatomy *a, pv_box box, bool turned, double em, bool bold, const char *text);

/* ---- marks.c ---- */
/* What inspection looks for: crosses and the ticks of scale bars, and the tags. */
bool pv_draw_strokes(pv_anatomy *a);
bool pv_draw_tags(pv_anatomy *a);
/* Short lines on the trim lines, outside of the art. */
void pv_draw_cut_marks(pv_anatomy *a);
/* The grid of cells with this one filled in, and an arrow with "this way up". */
void pv_draw_map(pv_anatomy *a);
void pv_draw_way_up(pv_anatomy *a);

/* The comb in which a card is laid, where there is one. */
void pv_draw_comb(pv_anatomy *a);

/* ---- proof.c ---- */
/* What a proof page says in words. False where memory ran out. */
bool pv_draw_proof_words(pv_anatomy *a);

/* ---- travel.c ---- */
/* Where the robot's route crosses the sheet's seams: a dart that points the way, with its word.
 * False where memory ran out. */
bool pv_draw_travel(pv_anatomy *a);

/* ---- numbers.c ---- */
/* Numbers and unit of the scale bars. */
void pv_draw_numbers(pv_anatomy *a);

/* ---- words.c ---- */
/* All that is said in words, but for the numbers of the bars. False where memory ran out. */
bool pv_draw_labels(pv_anatomy *a);

#endif
