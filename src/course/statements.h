/* The statements that a course is made of, but for repetitions. */
#ifndef COURSE_STATEMENTS_H
#define COURSE_STATEMENTS_H

#include "course/reader.h"

typedef struct pv_statement {
    bool (*read)(pv_parser *p); /* carries it out, its word being read already */
    bool once;                  /* it may stand once only */
    bool on_mat;                /* it lies on the mat, whose size must be stated above */
} pv_statement;

/* NULL for words that begin none, and for `repeat` and `end`. */
const pv_statement *pv_statement_of(pv_word word);

bool pv_colour_add(pv_parser *p, const char *name, size_t length, const uint8_t rgb[3]);

#endif
