/* What a review holds, and the one table of all that it can find. */
#ifndef COURSE_FINDINGS_H
#define COURSE_FINDINGS_H

#include "course/model.h"
#include "course/regions.h"
#include "scene/scene.h"

#include <pavior/review.h>

/* Least difference of relative luminance between two colours side by side that a reflectance sensor
 * is asked to tell apart. Common practice, no source. */
#define PV_CONTRAST_LEAST 0.25

/* A row of the table in findings.c. To add a finding: a row here and there, and the call. */
typedef enum pv_rule {
    PV_RULE_MISS,
    PV_RULE_OPEN_FILL,
    PV_RULE_OPEN_FINISH,
    PV_RULE_LINE_OUTSIDE,
    PV_RULE_TEXT_OVER_EDGE,
    PV_RULE_TEXT_OUTSIDE,
    PV_RULE_MARK_OUTSIDE,
    PV_RULE_TOUCH,
    PV_RULE_TOUCH_CROSSED,
    PV_RULE_TOUCH_START,
    PV_RULE_LEAVES,
    PV_RULE_MARK_STICKS_OUT,
    PV_RULE_ROUTE_AWAY,
    PV_RULE_ROUTE_TURNED,
    PV_RULE_ROUTE_END,
    PV_RULE_STANDS_OUTSIDE,
    PV_RULE_NO_PLACE,
    PV_RULE_CONTRAST,
    PV_RULE_CONTRAST_OFF_ROUTE,
    PV_RULE_CONTRAST_MARK,
    PV_RULE_CONTRAST_ACROSS,
    PV_RULE_NO_START,
    PV_RULE_NO_ROBOT,
    PV_RULE_NO_ROUTE,
    PV_RULE_NO_FINISH,
    PV_RULE_COUNT
} pv_rule;

#define PV_RULE_MEASURES 3
#define PV_RULE_THINGS   3

typedef struct pv_record {
    pv_finding finding; /* its lists point into this record once the review is finished */
    pv_measure measures[PV_RULE_MEASURES];
    pv_thing things[PV_RULE_THINGS];
} pv_record;

/* All its texts are its own, also those that its public parts hand out as const. */
struct pv_review {
    pv_review_facts facts;
    pv_review_line *lines;
    pv_review_colour *colours;
    size_t n_colours;
    pv_line_met *crossings;
    size_t n_crossings, cap_crossings;
    pv_record *records;
    size_t n_records, cap_records;
};

/* What the parts of a review work on. */
typedef struct pv_reviewing {
    const pv_course *course;
    pv_review *review;
    pv_scene *mat;
    pv_regions *regions;
    bool *met; /* one a line: the route meets it */
    pv_diags *diags;
} pv_reviewing;

/* Adds what a row says, with its things and measures in the row's order; `at` may be NULL. False
 * where memory ran out (said). */
bool pv_found_add(pv_reviewing *r, pv_rule row, pv_source source, const pv_vec *at,
                  const char *const things[], const double measures[]);
/* To be called once, after the last is added. */
void pv_found_finish(pv_review *review);

#endif
