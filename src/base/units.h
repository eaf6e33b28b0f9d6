/* Lengths with their units; reading them is public (pavior/text.h). */
#ifndef BASE_UNITS_H
#define BASE_UNITS_H

#include <pavior/text.h>

/* mm per unit for mm, cm, m, in, ft; 0 where the name is none of them. The inch is 25.4 mm exactly
 * (international yard and pound agreement, 1959). */
double pv_unit_mm(const char *name, size_t length);

#endif
