/* On what the scale rests, in words that follow a verdict. */
#ifndef REFERENCE_BASIS_H
#define REFERENCE_BASIS_H

#include "reference/combine.h"

/* A reference with a smaller share than this in both directions isn't named (a choice). */
#define PV_BASIS_SHARE 0.1

/* Whether a reference is named. */
bool pv_basis_counts(const pv_reference_result *one);

/* "taking the flatbed to be true to 0.2 %", "by the bank card, taking it to be of standard size,
 * and by your ruler readings"; "nothing". */
void pv_basis(const pv_references *found, const pv_inspect_options *options, pv_text *out);

/* "the flatbed", "the sheet feeder", "the scanner": as what was stated calls it. */
const char *pv_scanner_noun(pv_scanner_kind kind);

#endif
