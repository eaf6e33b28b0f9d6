/* What a certificate states. Private to this room. */
#ifndef REPORT_CERTIFIED_H
#define REPORT_CERTIFIED_H

#include "judge/inspection.h"

/* A row of its table: the sheet's scales and skew, then the worst line's width and straightness,
 * the worst spacing, of those that were measured. */
typedef struct pv_certified {
    const char *what; /* English, to be said: "Largest error, width" */
    const pv_value *value;
} pv_certified;
#define PV_CERTIFIED_MAX 8
size_t pv_certified_rows(const pv_inspection *in, pv_certified rows[PV_CERTIFIED_MAX]);

/* "This sheet conforms", English, to be said. */
const char *pv_certified_verdict(pv_verdict verdict);

/* The options of a command that measures the same way, each with a blank before it: " --scanner
 * flatbed". A scanner's own file is called FILE. */
void pv_certified_options(pv_text *to, const pv_inspect_options *how);
/* In words what is not said by those: a scanner's own errors. */
void pv_certified_scanner(pv_text *to, const pv_scanner *scanner);

#endif
