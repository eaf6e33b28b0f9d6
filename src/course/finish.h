/* The rules about the finish: whether the robot can come to stand in its region. */
#ifndef COURSE_FINISH_H
#define COURSE_FINISH_H

#include "course/findings.h"

/* False with an error in diags. */
bool pv_review_finish(pv_reviewing *r);

#endif
