/* The taping guide: what a volunteer does with knife, rule and tape, sheet by sheet.
 *
 * steps.c makes the steps from a plan, one for each sheet in the order of taping, as plain data.
 * Nobody else decides what is cut and what lies where: say.c says a step in words, picture.c draws
 * it, overview.c draws the whole mat. pages.c sets all that on pages, which set.c puts before the
 * sheets in their PDF; data.c gives it as JSON for the page of a kit
 * (embedded/guide_steps.html). */
#ifndef GUIDE_STEPS_H
#define GUIDE_STEPS_H

#include "plan/crossings.h"
#include "plan/layout.h"

/* What is done at one side of a step's sheet. */
typedef struct pv_guide_side {
    bool cut;         /* along the marks; else the side stays as it is, and ends up beneath */
    size_t neighbour; /* sheet; SIZE_MAX on an outer side */
    bool joins;       /* the neighbour lies already: this seam is closed in this step */
    bool on_top;      /* of a side that joins: this sheet's edge lies over the neighbour's; else
                         they meet edge to edge */
    const pv_cross *crosses; /* the seam's, mat frame; the plan's */
    size_t n_crosses;
    const pv_crossing *crossings; /* of the robot's route, of a side that joins */
    size_t n_crossings;
    size_t down, up; /* how often it steps down and up there; 0 where edges meet edge to edge */
} pv_guide_side;

typedef struct pv_guide_step {
    size_t number; /* from 1 */
    size_t sheet;
    pv_guide_side side[4]; /* by pv_side */
} pv_guide_step;

typedef struct pv_guide {
    const pv_plan *plan;  /* borrowed */
    pv_guide_step *steps; /* in the order of taping */
    size_t n;
    size_t *turn; /* by sheet: its step's index */
    pv_crossings crossings;
} pv_guide;

/* NULL where memory ran out (said). The caller frees it. */
pv_guide *pv_guide_make(const pv_plan *plan, pv_diags *diags);
void pv_guide_free(pv_guide *guide); /* NULL is fine */

/* Whether a plan wants a guide: a proof and a mat in one piece have nothing to tape, and more
 * sheets than PV_GUIDE_MOST nobody tapes by a guide. Ours. */
#define PV_GUIDE_MOST 5000
bool pv_guide_wanted(const pv_plan *plan);

/* Up to so many sheets each has a step of its own on the pages. Of more, sheets that follow each
 * other and are treated alike share one. Chosen: 40 pages of A4. */
#define PV_GUIDE_EACH 160
/* Of more such groups than that the pages tell none: the sheets say themselves what to do. Ours. */
#define PV_GUIDE_GROUPS_MOST 600
size_t pv_guide_groups(const pv_guide *guide);
/* The last step's index that is told together with this one. */
size_t pv_guide_group(const pv_guide *guide, size_t index);

#endif
