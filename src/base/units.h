/* Lengths with their units. */
#ifndef BASE_UNITS_H
#define BASE_UNITS_H

#include <stdbool.h>
#include <stddef.h>

/* mm per unit for mm, cm, m, in, ft; 0 where the name is none of them. The inch is 25.4 mm exactly
 * (international yard and pound agreement, 1959). */
double pv_unit_mm(const char *name, size_t length);

/* A whole text such as "12mm", "1.5 in", "-3cm", in the C locale whatever the locale is. False
 * where it is anything else, has no unit or isn't finite. */
bool pv_length_parse(const char *text, double *mm);

/* A plain decimal number in the C locale from the start of text; *used characters were it. False
 * where there is none. Accepts no hexadecimal, no infinity, no NaN. */
bool pv_number_parse(const char *text, size_t length, double *value, size_t *used);

#endif
