/* Quantities: numbers, lengths, angles and points, with their arithmetic and functions. */
#ifndef COURSE_EXPRESSION_H
#define COURSE_EXPRESSION_H

#include "course/reader.h"

bool pv_amount_read(pv_parser *p, pv_amount *out);

/* With the kind asked for; false silently where it is unknown. */
bool pv_number_read(pv_parser *p, double *out);
bool pv_length_read(pv_parser *p, double *out);
bool pv_angle_read(pv_parser *p, double *out);
bool pv_point_read(pv_parser *p, pv_vec *out);
/* A length of at least `least`, at most PV_COURSE_SIDE_MAX; `what` names it: "a width". */
bool pv_size_read(pv_parser *p, const char *what, double least, double *out);
/* False where a point lies too far out, said of tokens first .. last. */
bool pv_point_in_reach(pv_parser *p, pv_vec at, uint32_t first, uint32_t last);

const char *pv_amount_kind_name(pv_amount_kind kind); /* "a length" */
/* A number for people: without what rounding left of a nearby shorter one; whatever the locale is.
 */
#define PV_SAID_NUMBER 32
const char *pv_say_number(double value, char out[PV_SAID_NUMBER]);

#endif
