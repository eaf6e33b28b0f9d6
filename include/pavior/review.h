/* pavior/review.h - the review of a course: is it sound, and does the robot fit?
 *
 * docs/reference/course-review.md has every rule. All that is handed out here as data is read-only,
 * belongs to the review and lives as long as it does. Lengths are mm; places are mm from the mat's
 * lower left corner. */
#ifndef PAVIOR_REVIEW_H
#define PAVIOR_REVIEW_H

#include <pavior/course.h>

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct pv_review pv_review;

/* NULL where memory ran out, a limit is passed or the geometry library refused. The review keeps
 * nothing of the course. The caller frees it. */
PV_API pv_review *pv_review_make(const pv_course *course, pv_diags *diags);
PV_API void pv_review_free(pv_review *review); /* NULL is fine */
/* True where there is no problem; notes don't count. */
PV_API bool pv_review_sound(const pv_review *review);
/* For people and for machines. The caller frees them with pv_free; NULL where memory ran out. */
PV_API char *pv_review_text(const pv_review *review);
PV_API char *pv_review_json(const pv_review *review);

/* ---- findings ---- */

/* What a finding says of one quantity, and of one thing in the course. */
typedef struct pv_measure {
    const char *name; /* "gap" */
    const char *unit; /* "mm", "deg", or "" for plain numbers */
    double value;
} pv_measure;

typedef struct pv_thing {
    const char *role; /* "line", "colour" */
    const char *name; /* a line's id, a colour's name */
} pv_thing;

typedef struct pv_finding {
    bool problem;        /* the course is not sound; else a note, worth knowing */
    const char *rule;    /* which rule found it: "miss", "contrast" */
    const char *message; /* one sentence, no full stop */
    const char *hint;    /* what to do about it, or NULL */
    int line, column;    /* in the course's text, from 1; 0 where it is about no single place */
    bool placed;         /* it has a place on the mat: */
    double x, y;
    const pv_measure *measures;
    size_t n_measures;
    const pv_thing *things;
    size_t n_things;
} pv_finding;

/* Only the first PV_FINDINGS_MAX are kept, of which the index counts; pv_review_facts counts all.
 */
#define PV_FINDINGS_MAX 500
PV_API size_t pv_review_findings(const pv_review *review);
PV_API const pv_finding *pv_review_finding(const pv_review *review, size_t index);

/* ---- what the course holds ---- */

/* How near the robot comes to something on its route. */
typedef struct pv_clearance {
    bool known;       /* else the rest means nothing */
    double distance;  /* 0: touches; below 0: so far beyond the mat's edge */
    double x, y;      /* where: on the paint, or the footprint's corner for the mat's edge */
    double along;     /* the route, within a step */
    const char *line; /* the paint's; NULL for the mat's edge */
} pv_clearance;

/* How the robot stands in the finish region: where its route ends, or where a place was found. */
typedef struct pv_standing {
    bool known, fits;
    double margin;  /* to the nearest paint or region edge */
    double x, y;    /* of the pivot */
    double heading; /* radians */
} pv_standing;

typedef struct pv_review_facts {
    const char *name, *edition;
    const char *file; /* as it was named in pv_course_parse, or NULL */
    double width, height;
    size_t problems, notes;              /* all of them */
    size_t lines, straight, arcs;        /* straight and arc pieces of all lines */
    size_t fills, regions, texts, marks; /* regions: what centre lines and the mat's edge enclose */
    size_t dead_ends;                    /* line ends that touch nothing */
    double length;                       /* of all centre lines */
    bool has_start, has_finish, has_route; /* stated in the course */
    bool has_robot;
    double robot_length, robot_width, robot_pivot; /* pivot: from its rear end */
    double route_length;
    pv_clearance paint, edge; /* the least, over the whole route */
    bool mark_known;          /* there is a start mark, and a robot to stand on it */
    double mark_sticks_out;   /* 0 where the robot covers all of it */
    pv_standing finish;
} pv_review_facts;

PV_API const pv_review_facts *pv_review_facts_of(const pv_review *review);

typedef struct pv_review_line {
    const char *id, *colour;
    double length, width;
    size_t straight, arcs;
    bool closed;
    int line, column; /* in the course's text */
} pv_review_line;

typedef struct pv_review_colour {
    const char *name;
    uint8_t rgb[3];
    double luminance; /* Y of IEC 61966-2-1, 0 to 1 */
    double area;      /* mm2 as one sees it */
} pv_review_colour;

/* A line that the robot's pivot crosses or follows. */
typedef struct pv_line_met {
    const char *line;
    bool follows;
    double along; /* the route */
    double x, y;
} pv_line_met;

/* NULL past the end. facts.lines has the count of lines. */
PV_API const pv_review_line *pv_review_line_at(const pv_review *review, size_t index);
PV_API size_t pv_review_colours(const pv_review *review);
PV_API const pv_review_colour *pv_review_colour_at(const pv_review *review, size_t index);
PV_API size_t pv_review_crossings(const pv_review *review);
PV_API const pv_line_met *pv_review_crossing_at(const pv_review *review, size_t index);

#ifdef __cplusplus
}
#endif
#endif
