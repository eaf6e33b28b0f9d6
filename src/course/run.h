/* The rules about the run: start mark, route, what the robot touches and how near it comes. */
#ifndef COURSE_RUN_H
#define COURSE_RUN_H

#include "course/findings.h"

/* How far a route may begin from the start mark. Assumed: what a hand on a keyboard rounds off; a
 * robot is not set down so exactly. */
#define PV_START_OFF  0.1 /* mm */
#define PV_START_TURN 0.1 /* degrees */

/* A route that stays on a line's paint for longer than so many widths (and two steps, within which
 * that is known) follows the line; else it crosses it. Assumed: a line crossed at 20 degrees is
 * crossed within 3 widths. */
#define PV_FOLLOW_WIDTHS 3.0

#define PV_SWEEPS_MAX 1000000u /* steps in which a route is followed */

/* Sets r->met, too. False with an error in diags. */
bool pv_review_run(pv_reviewing *r);

#endif
