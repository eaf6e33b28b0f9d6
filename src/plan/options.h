/* The options of a layout with nothing left open: a type of their own, so that none are laid out by
 * that weren't settled. */
#ifndef PLAN_OPTIONS_H
#define PLAN_OPTIONS_H

#include <pavior/sheets.h>

typedef struct pv_settled {
    pv_layout_options o; /* every margin is given, and wide enough for the printer */
} pv_settled;

/* False with a reason. Borrows what the options point to. */
bool pv_layout_settle(const pv_layout_options *given, pv_settled *out, pv_diags *diags);

#endif
