/* Quoted texts, with plain numbers put in between braces. */
#ifndef COURSE_QUOTED_H
#define COURSE_QUOTED_H

#include "course/reader.h"

/* Characters that can be set only, 1 to PV_COURSE_TEXT_MAX of them. The caller frees *out. */
bool pv_quoted_read(pv_parser *p, const char *what, char **out);

#endif
