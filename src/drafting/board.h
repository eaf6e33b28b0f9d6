/* Pictures of a course for people.
 *
 * The dimension drawing (dimensions.c) is made in this order. features.c finds what a draughtsman
 * would dimension: positions along x and y, and notes on widths, radii and the rest, each once.
 * lanes.c lays the positions out at the mat's four sides. dimensions.c then finds the largest scale
 * at which mat, lanes and blocks have room, and draws the mat pale beneath. notes.c puts each note
 * where the mat is plain and nothing else stands, with a leader to what it is about. blocks.c draws
 * the title block and what stands beside it. figures.c and camera.c are the figures of the rules'
 * page.
 *
 * A board is a drawing (draw/drawing.h) that remembers where ink lies, so that no text meets text,
 * and that knows where the mat is on it. Everything is in mm of the paper, but for what is said to
 * be in the mat's frame.
 *
 * Widths of lines, heights of text, arrows and gaps are those of ISO 128-2 and ISO 129-1 for a line
 * group of 0.5 mm, from memory. */
#ifndef DRAFTING_BOARD_H
#define DRAFTING_BOARD_H

#include "course/model.h"
#include "draw/drawing.h"
#include "po/po.h"
#include "scene/scene.h"

#define PV_NARROW    0.18 /* mm: dimension, extension and leader lines, centre lines */
#define PV_WIDE      0.5  /* outlines of what is drawn */
#define PV_FRAME     0.7  /* the sheet's frame (ISO 5457) */
#define PV_LETTER    2.5  /* height of a capital in dimensions: the least of ISO 3098 */
#define PV_ARROW     2.5  /* length of an arrow head */
#define PV_OVERSHOOT 1.5  /* extension lines go on past the dimension line: 8 line widths */
#define PV_GAP       1.2  /* between what is dimensioned and its extension line */
#define PV_LIFT      0.7  /* text above and beneath its line */
#define PV_PITCH     7.6  /* between lines side by side that have text on both their sides */

typedef struct pv_board_line {
    pv_vec a, b;
    const uint8_t *late; /* its ink, where it gives way to texts and is drawn last; else NULL */
} pv_board_line;

typedef struct pv_board {
    pv_drawing d;
    const pv_course *course;
    const pv_language *language; /* NULL: English */
    pv_scene *mat;
    double scale; /* mm on paper for a mm of the mat */
    pv_vec at;    /* where the mat's lower left corner is on paper */
    /* What stands already. */
    pv_box *texts;
    size_t n_texts, cap_texts;
    pv_board_line *rules;
    size_t n_rules, cap_rules;
} pv_board;

extern const uint8_t pv_ink[3];

/* An empty board for a course; its drawing has failed where memory ran out. */
void pv_board_open(pv_board *board, const pv_course *course, double width, double height);
void pv_board_close(pv_board *board);

static inline pv_vec pv_on_paper(const pv_board *board, pv_vec mat)
{
    return pv_along(board->at, mat, board->scale);
}
pv_box pv_mat_on_paper(const pv_board *board);

/* The mat's art where the board has it, within a box of the paper: the share of each colour that is
 * left, the rest white. Its lettering stands as texts. Only while nothing else is drawn yet. */
void pv_board_mat(pv_board *board, pv_box within, double share);

/* A straight narrow line that texts keep clear of. */
void pv_board_rule(pv_board *board, pv_vec a, pv_vec b);
/* One over the mat that texts may break, in an ink that outlives the board; and drawing all of
 * those, once all texts stand. */
void pv_board_rule_late(pv_board *board, pv_vec a, pv_vec b, const uint8_t rgb[3]);
void pv_board_draw_late(pv_board *board);

typedef enum pv_align { PV_ALIGN_LEFT, PV_ALIGN_MIDDLE, PV_ALIGN_RIGHT } pv_align;

/* Text whose base line starts, has its middle or ends at a place; upright or turned to be read from
 * the right. Its box is remembered. */
typedef struct pv_lettered {
    double height; /* of a capital, mm */
    pv_align align;
    bool turned, bold;
} pv_lettered;
double pv_text_width(pv_board *board, const char *text, const pv_lettered *how);
pv_box pv_text_box(pv_board *board, pv_vec at, const char *text, const pv_lettered *how);
void pv_letter(pv_board *board, pv_vec at, const char *text, const pv_lettered *how);

/* Whether nothing that stands meets a box: no text, and no line but such as a text may break:
 * `breaks` counts them, `length` is what they lose. */
bool pv_board_free(const pv_board *board, pv_box box, size_t *breaks, double *length);
/* Whether a line from a to b would pass no text; `rules` counts the lines that it would cross. */
bool pv_board_clear(const pv_board *board, pv_vec a, pv_vec b, size_t *rules);

/* A quantity as drawings give it in two units: mm stands over the line, inches in brackets beneath
 * it. Either may be empty. */
typedef struct pv_dual {
    char over[64], under[64];
} pv_dual;

/* "914.4" and "[36.00]": mm to two decimals at most, inches to two. */
pv_dual pv_length_said(double mm);
/* mm alone, or any other number. */
typedef struct pv_number {
    char chars[32];
} pv_number;
pv_number pv_number_said(double value);

double pv_dual_width(pv_board *board, const pv_dual *said);
/* What both take where their line begins, has its middle or ends at a place; and drawing them. */
pv_box pv_dual_box(pv_board *board, pv_vec at, const pv_dual *said, pv_align align, bool turned);
void pv_letter_dual(pv_board *board, pv_vec at, const pv_dual *said, pv_align align, bool turned);

/* A dimension between two points of the paper that lie above or beside each other: the line, its
 * arrows inside or, where there is no room, outside, and the text. */
void pv_dimension(pv_board *board, pv_vec a, pv_vec b, const pv_dual *said);

#endif
