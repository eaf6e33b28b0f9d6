/* After the last statement: which regions the fills and the finish name, and what only the whole
 * can tell. */
#ifndef COURSE_SETTLE_H
#define COURSE_SETTLE_H

#include "course/reader.h"

void pv_settle(pv_parser *p);

#endif
