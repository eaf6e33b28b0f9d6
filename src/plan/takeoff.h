/* What a mat will take, before anyone prints it. */
#ifndef PLAN_TAKEOFF_H
#define PLAN_TAKEOFF_H

#include "plan/layout.h"

/* Office paper, where nothing else is said. */
#define PV_PAPER_WEIGHT     80.0 /* g/m2 */
#define PV_PAPER_WEIGHT_MIN 10.0
#define PV_PAPER_WEIGHT_MAX 2000.0

/* Rules of thumb for one person with a knife and a steel ruler. Estimates. */
#define PV_MINUTES_A_SHEET   1.0 /* sorting, turning, lining up */
#define PV_MINUTES_A_CUT_M   1.5
#define PV_MINUTES_A_TAPED_M 2.0

typedef enum pv_ink_kind { PV_CYAN, PV_MAGENTA, PV_YELLOW, PV_BLACK } pv_ink_kind;

typedef struct pv_takeoff {
    size_t sheets;
    double paper; /* m2 of paper */
    double mass;  /* kg of it */
    double tape;  /* m: one strip along each seam */
    double cut;   /* m: the mat's outline and each seam, in a butt joint on both its sheets */
    double minutes;
    double *area;   /* mm2 of the mat that each of the art's colours covers, lettering left out */
    double ink[4];  /* share of the mat's area that each ink covers fully, by the plain conversion
                       of ISO 32000-1, 10.3.5, with all of what the three inks share as black */
    double printed; /* mm2 printed over mm2 of the mat: laps and bleed are printed twice */
} pv_takeoff;

/* False with a reason. To be dropped either way. */
bool pv_takeoff_make(const pv_plan *plan, double paper_weight, pv_takeoff *out, pv_diags *diags);
void pv_takeoff_drop(pv_takeoff *takeoff);

#endif
