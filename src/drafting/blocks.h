/* What stands beside the mat: title block (fields of ISO 7200), notes and tolerances, the robot,
 * the colours. All have one size, so that they stand above each other or side by side. */
#ifndef DRAFTING_BLOCKS_H
#define DRAFTING_BLOCKS_H

#include "drafting/board.h"

#include <pavior/drawing.h>

#define PV_BLOCK_WIDTH  84.0 /* mm */
#define PV_BLOCK_HEIGHT 46.0
#define PV_BLOCKS       4

typedef struct pv_sheet_facts {
    const char *identity, *paper; /* identity may be NULL */
    char scale[24];               /* "1:5" */
    size_t left_out;              /* positions */
} pv_sheet_facts;

/* The blocks from the title block on, in `place`, which has that many. */
void pv_blocks_draw(pv_board *board, const pv_sheet_facts *facts, const pv_box *place, size_t n);

/* Text that is made smaller where it is wider than `width`. */
void pv_letter_within(pv_board *board, pv_vec at, const char *text, pv_lettered how, double width);

/* The robot's footprint with its dimensions, in a box; `said` gets the scale, in 24 characters. */
void pv_robot_draw(pv_board *board, pv_box box, char *said);

#endif
