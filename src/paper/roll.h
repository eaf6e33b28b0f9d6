/* Rolls for wide format. */
#ifndef PAPER_ROLL_H
#define PAPER_ROLL_H

#include <stdbool.h>
#include <stddef.h>

#define PV_ROLL_WIDTH_MIN 100.0  /* mm */
#define PV_ROLL_WIDTH_MAX 5080.0 /* mm: 14,400 pt, so that only a page's length needs more */

/* What plotters leave blank along the roll's edges, mm: common practice, no source (5 mm is from
 * memory; look yours up). At the ends some leave more: 18 mm is the most that was seen in a manual,
 * and there it costs only paper. */
#define PV_ROLL_MARGIN     5.0
#define PV_ROLL_MARGIN_END 18.0

/* A width that is sold. 610, 914 mm and 42 in were seen in manuals; the others are from memory. */
typedef struct pv_roll {
    const char *name; /* "24 in" */
    double width;     /* mm, exact */
} pv_roll;

size_t pv_roll_count(void);
const pv_roll *pv_roll_at(size_t index); /* narrowest first; NULL past the end */

/* The narrowest that is at least so wide; NULL where there is none. */
const pv_roll *pv_roll_of(double width);

/* "24 in roll" where that is the width, else "610 mm roll". */
#define PV_ROLL_NAME 48
void pv_roll_name(double width, char text[PV_ROLL_NAME]);
/* mm that a page (mm) takes along the roll of that name; 0 where it is no roll's. */
double pv_roll_along(const char *name, const double page[2]);

#endif
