/* What a review found, and the parts that find it. docs/reference/course-review.md has every rule.
 */
#ifndef COURSE_REVIEW_H
#define COURSE_REVIEW_H

#include "course/model.h"
#include "course/paint.h"
#include "course/regions.h"

/* A dead end this many line widths or less from another line misses it by a hair: the paint all but
 * closes the gap, so that it looks shut and isn't. */
#define PV_HAIR_WIDTHS 1.0

/* Least difference of relative luminance between two colours side by side that a reflectance sensor
 * is asked to tell apart. Common practice, no source. */
#define PV_CONTRAST_LEAST 0.25

/* How far a route may begin from the start mark. */
#define PV_START_OFF  0.1 /* mm */
#define PV_START_TURN 0.1 /* degrees */

/* A route that stays on a line's paint for longer than so many widths (and two steps, within which
 * that is known) follows the line; else it crosses it. */
#define PV_FOLLOW_WIDTHS 3.0

#define PV_FINDINGS_MAX 500      /* more are only counted */
#define PV_SWEEPS_MAX   1000000u /* steps in which a route is followed */

typedef struct pv_finding {
    bool problem;     /* else a note */
    const char *code; /* static: "miss", "contrast", ... */
    char *message;    /* one sentence, no full stop */
    char *hint;       /* or NULL */
    int source_line;  /* or 0 */
    bool placed;      /* `at` is where on the mat */
    pv_vec at;
} pv_finding;

typedef struct pv_review_line {
    char *id;
    double length, width;
    size_t colour, segments, arcs;
    bool closed;
    int source_line;
} pv_review_line;

typedef struct pv_review_colour {
    char *name;
    uint8_t rgb[3];
    double luminance, area; /* mm2 */
} pv_review_colour;

typedef struct pv_line_met {
    size_t line;
    pv_vec at;    /* the first place */
    double s;     /* mm along the route */
    bool follows; /* the route stays on the line's paint for long */
} pv_line_met;

typedef struct pv_nearness {
    bool known;
    double distance; /* mm; 0: touches; below 0: beyond the mat's edge */
    pv_vec at;       /* the place on the paint, or on the robot's outline for the edge */
    double s;        /* mm along the route, within a step */
    size_t line;     /* the paint's */
} pv_nearness;

/* Where a route or search has nothing to say, known is false. */
typedef struct pv_standing {
    bool known, fits;
    double margin; /* mm to the nearest paint or region edge where the robot stands */
    pv_vec at;     /* of the pivot */
    double heading;
} pv_standing;

struct pv_review {
    char *name, *edition, *file;
    pv_vec size;
    pv_review_line *lines;
    size_t n_lines;
    pv_review_colour *colours;
    size_t n_colours;
    size_t n_arcs, n_segments, n_fills, n_regions, n_texts, n_marks, n_dead_ends;
    double total_length;
    pv_finding *findings;
    size_t n_findings, cap_findings;
    size_t n_problems, n_notes; /* also those past the limit */
    pv_robot robot;
    bool has_start, has_finish, has_route;
    double route_length;
    pv_nearness paint, edge;
    pv_line_met *crossings;
    size_t n_crossings, cap_crossings;
    struct {
        bool known;
        double sticks_out; /* mm, 0 where the robot covers all of it */
    } mark;
    pv_standing finish;
};

/* What the parts work on. */
typedef struct pv_reviewing {
    const pv_course *course;
    pv_review *review;
    pv_paint paint;
    pv_regions *regions;
    size_t finish_region; /* in regions, once the finish is looked at */
    pv_diags *diags;
} pv_reviewing;

/* False where memory ran out (said). `at` and `hint` may be NULL. */
bool pv_review_add(pv_reviewing *r, bool problem, const char *code, int source_line,
                   const pv_vec *at, const char *hint, const char *format, ...)
    __attribute__((format(printf, 7, 8)));

/* The parts; each false with an error in diags. */
bool pv_review_ends(pv_reviewing *r);     /* misses, open regions */
bool pv_review_outside(pv_reviewing *r);  /* lines, lettering, marks off the mat */
bool pv_review_run(pv_reviewing *r);      /* start, route, clearance */
bool pv_review_finish(pv_reviewing *r);   /* the finish region against the robot */
bool pv_review_contrast(pv_reviewing *r); /* colours side by side; after the run */

/* Two colours that stand side by side, however often. */
typedef struct pv_colour_pair {
    size_t a, b; /* a < b */
    bool across; /* the two sides of a line, else a line or mark and its side */
} pv_colour_pair;

/* All of an art's, as the review's rule of contrast looks for them. The caller frees *pairs. False
 * with a finding. */
bool pv_contrast_pairs(const pv_course *course, pv_paint *paint, pv_colour_pair **pairs, size_t *n,
                       pv_diags *diags);

/* The robot's outline where its pivot stands at `at`, made smaller by `less` on each side. */
void pv_footprint(const pv_robot *robot, pv_vec at, double heading, double less, pv_vec corners[4]);

#endif
